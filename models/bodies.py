"""What a bore takes up in the boards: counterbore, pilot and screw, as rods."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from .board import Board
from .clearance import Rods
from .geometry import Vec
from .project import Bore

Body = Literal["counterbore", "pilot", "screw"]
BODIES: tuple[Body, ...] = ("counterbore", "pilot", "screw")

Stretch = tuple[float, float, float]
"""Where a rod starts and ends along the axis from the exit, and its radius (mm)."""


def rods_of(bore: Bore, board: Board, *, as_mate: bool = False) -> dict[Body, Stretch]:
    """The rods of a bore in a board, by body.

    In the bored board: the counterbore, the pilot, and the screw where it is thicker. In the mate:
    the screw, and the pilot where it goes on.
    """
    if as_mate:
        rods: dict[Body, Stretch] = {"screw": (-bore.engagement, bore.shoulder, bore.screw.radius)}
        if bore.pilot_into_mate > 0:
            rods["pilot"] = (-bore.pilot_into_mate, bore.shoulder, bore.drill.pilot_radius)
        return rods
    mouth = -4.0 * max(bore.drill.pilot_radius, bore.screw.radius)
    return {
        "counterbore": (bore.shoulder, bore.run_out(board), bore.drill.counterbore_radius),
        "pilot": (mouth, bore.shoulder, bore.drill.pilot_radius),
        "screw": (mouth, bore.shoulder, bore.screw.radius),
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


def presences(bores: Iterable[Bore], boards: Mapping[str, Board]) -> list[Presence]:
    """Every body of the bores, in the bored board and in the mate."""
    rows: list[Presence] = []
    for bore in bores:
        board, mate = boards[bore.board], boards[bore.mate]
        own = rods_of(bore, board)
        there = rods_of(bore, board, as_mate=True)
        point = mate.pose.local_point(board.pose.point(bore.exit))
        axis = mate.pose.local_direction(board.pose.direction(bore.back))
        for body in BODIES:
            if body in own:
                rows.append(Presence(bore, body, board, bore.exit, bore.back, *own[body]))
            if body in there:
                rows.append(Presence(bore, body, mate, point, axis, *there[body]))
    return rows


def rods_from(rows: Sequence[Presence]) -> Rods:
    """The rods of at least one row, each in its own board's frame."""
    return Rods(
        np.array([r.point for r in rows]),
        np.array([r.axis for r in rows]),
        np.array([r.low for r in rows]),
        np.array([r.high for r in rows]),
        np.array([r.radius for r in rows]),
    )
