"""What a bore takes up in the boards: counterbore, pilot and screw, as rods."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..maths.clearance import Rods
from ..maths.geometry import Vec, along, lean
from .board import Board, Hole
from .project import Bore, Screw

_ON_FACE = 1e-6  # mm

Body = Literal["counterbore", "pilot", "screw"]
BODIES: tuple[Body, ...] = ("counterbore", "pilot", "screw")

Tool = Literal["bit", "body"]
Stretch = tuple[float, float, float]
"""Where a rod starts and ends along the axis from the exit, and its radius (mm)."""


def rods_of(bore: Bore, board: Board, *, as_mate: bool = False) -> dict[Body, Stretch]:
    """The rods of a bore in a board, by body.

    In the bored board: the counterbore, the pilot, and the screw where it is thicker. In the mate:
    the screw, and the pilot where it goes on. The stretch of a slotted pilot is that of its middle;
    it reaches the same way from all of `bore.pilot_shifts`.
    """
    if as_mate:
        rods: dict[Body, Stretch] = {"screw": (-bore.engagement, bore.shoulder, bore.screw.radius)}
        if bore.pilot_into_mate > 0:
            rods["pilot"] = (-bore.pilot_into_mate, bore.shoulder, bore.drill.pilot_radius)
        return rods
    # The ends of a slot meet the joint face earlier or later than its middle.
    mouth = -4.0 * max(bore.pilot_radius, bore.screw.radius) - bore.slot / 2
    return {
        "counterbore": (bore.shoulder, bore.run_out(board), bore.drill.counterbore_radius),
        "pilot": (mouth, bore.shoulder, bore.pilot_radius),
        "screw": (mouth, bore.shoulder, bore.screw.radius),
    }


def screw_rods(screw: Screw, shoulder: float) -> tuple[Stretch, Stretch]:
    """The bodies of a screw, shank with its tip and head: what the solids build."""
    return (
        (shoulder - screw.length, shoulder, screw.radius),
        (shoulder, shoulder + screw.head_height, screw.head_radius),
    )


def driver_rods(bore: Bore, board: Board) -> dict[Tool, Stretch]:
    """What bit and body sweep while the screw of a bore in a board is driven.

    The screw starts with its tip at the joint, so the driver comes in by the screw's engagement.
    """
    drill, travel = bore.drill, bore.engagement
    chuck = bore.head + bore.bit(board)
    return {
        "bit": (bore.head, chuck + travel, drill.bit_radius),
        "body": (chuck, chuck + drill.driver_length + travel, drill.driver_radius),
    }


@dataclass(frozen=True)
class Presence:
    """One body of a bore in one board, in that board's frame (mm)."""

    bore: Bore
    body: Body
    board: Board
    point: Vec
    axis: Vec
    low: float
    high: float
    radius: float


def sheath(bore: Bore, stretch: Stretch) -> Stretch:
    """The rod about the axis that encloses a pilot with its slot: for distances, not for walls."""
    low, high, radius = stretch
    return low, high, radius + bore.slot / 2


def presences(
    bores: Iterable[Bore], boards: Mapping[str, Board], *, sheathed: bool = False
) -> list[Presence]:
    """Every body of the bores, in the bored board and in the mate.

    A slotted pilot is the convex hull of the rods at both ends of its slot, so its wall to a plane
    is the lesser of theirs: it comes as two rows. What can pass between the two (a cut, another
    bore) is to be held against the one rod that encloses them.

    Args:
        bores: of a project.
        boards: by name.
        sheathed: one enclosing row for a slotted pilot instead of two.
    """
    rows: list[Presence] = []
    for bore in bores:
        board, mate = boards[bore.board], boards[bore.mate]
        own = rods_of(bore, board)
        there = rods_of(bore, board, as_mate=True)
        point = mate.pose.local_point(board.pose.point(bore.exit))
        axis = mate.pose.local_direction(board.pose.direction(bore.back))
        for body in BODIES:
            if body in own and body == "pilot" and sheathed:
                rod = sheath(bore, own[body])
                rows.append(Presence(bore, body, board, bore.exit, bore.back, *rod))
            elif body in own:
                shifts = bore.pilot_shifts if body == "pilot" else ((0.0, 0.0, 0.0),)
                for shift in shifts:
                    start = along(bore.exit, shift, 1.0)
                    rows.append(Presence(bore, body, board, start, bore.back, *own[body]))
            if body in there:
                rows.append(Presence(bore, body, mate, point, axis, *there[body]))
    return rows


def hole_rods(board: Board) -> Rods | None:
    """Rods about the round holes of a board that are not pocket bores, in its own frame."""
    holes = board.holes
    if not holes:
        return None
    return Rods(
        np.array([hole.mouth for hole in holes]),
        np.array([hole.inward for hole in holes]),
        np.array([-overhang(board, hole) for hole in holes]),
        np.array([max(hole.depth, *(d for _, d in hole.narrower), 0.0) for hole in holes]),
        np.array([hole.radius + math.hypot(*hole.slot) for hole in holes]),
    )


def overhang(board: Board, hole: Hole) -> float:
    """How far before its mouth's centre a slanting hole begins to cut wood (mm)."""
    on = [face.plane for face in board.faces if abs(face.plane.gap(hole.mouth)) < _ON_FACE]
    leans = (lean(hole.inward, plane.normal) for plane in on)
    return (hole.radius + math.hypot(*hole.slot)) * max(leans, default=0.0)


def rods_from(rows: Sequence[Presence]) -> Rods:
    """The rods of at least one row, each in its own board's frame."""
    return Rods(
        np.array([r.point for r in rows]),
        np.array([r.axis for r in rows]),
        np.array([r.low for r in rows]),
        np.array([r.high for r in rows]),
        np.array([r.radius for r in rows]),
    )
