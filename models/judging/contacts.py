"""Whether the faces of joints lie on each other and boards hang together, by convex pieces."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from ..maths.geometry import dot, vec
from ..piece.board import Board
from ..piece.contact import NO_AREA, TOUCHING, Surface, hanging_together, shared_area, surface
from ..piece.convex import Convex, shape
from ..piece.project import Bore, Joint, Project
from .measures import Opening, Parted

# A panel in its groove and a loose part are held, not pressed together.
_NOT_PRESSED = ("housed", "loose")
Pieces = Mapping[str, Sequence[Convex]]


def pressed(project: Project) -> Iterator[Joint]:
    """The joints whose faces have to lie on each other."""
    return (j for j in project.joints if j.bores or j.kind not in _NOT_PRESSED)


def openings(project: Project, standing: Pieces) -> Iterator[Opening]:
    """Yield the joints whose faces do not touch.

    Args:
        project: placed.
        standing: the boards' convex pieces where they stand, by name.
    """
    named = project.board_named
    for joint in pressed(project):
        ends = (joint.first, joint.first_face), (joint.second, joint.second_face)
        first, second = (surface(named[name], side, standing[name]) for name, side in ends)
        off = _off(first, second)
        # What the pilots take out of the faces presses on nothing.
        taken = NO_AREA + sum(mouth(named[bore.board], bore) for bore in joint.bores)
        if off <= TOUCHING and shared_area(first, second, taken) > taken:
            continue
        where = vec(first.corners.mean(axis=0)) if first.parts else None
        if min(first.area, second.area) <= NO_AREA:
            yield Opening(joint, "gone", math.inf, where)
        else:
            yield Opening(joint, "turned" if off > TOUCHING else "aside", off, where)


def parted(project: Project, standing: Pieces) -> Iterator[Parted]:
    """Yield the boards that fall apart when they are cut; bores are left to the solids."""
    known: dict[object, bool] = {}
    for board in project.boards:
        parts = standing[board.name]
        if len(parts) > 1:
            like = shape(board)
            if like not in known:
                known[like] = len(hanging_together(parts)) > 1
            if known[like]:
                corners = [part.corners for part in hanging_together(parts)[-1]]
                yield Parted(board, "cuts", vec(np.concatenate(corners).mean(axis=0)))


def mouth(board: Board, bore: Bore) -> float:
    """Area (mm2) that a pilot takes out of its joint face."""
    normal = board.outward(bore.joint_face).normal
    radius = bore.pilot_radius
    return math.pi * radius**2 / abs(dot(normal, bore.back)) + 2 * radius * bore.slot


def _off(first: Surface, second: Surface) -> float:
    """How far the corners of either face lie from the other's plane (mm); inf where one is gone."""
    if not first.parts or not second.parts or dot(first.plane.normal, second.plane.normal) >= 0:
        return math.inf
    return max(
        float(abs(one.corners @ np.array(other.plane.normal) - other.plane.offset).max())
        for one, other in ((first, second), (second, first))
    )
