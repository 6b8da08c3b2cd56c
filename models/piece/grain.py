"""How a screw lies to the grain of the board that it enters."""

from __future__ import annotations

import math
from typing import Literal

from ..maths.geometry import Vec
from .board import BOTTOM, TOP, Board
from .project import Bore

Grain = Literal[
    "side grain", "slanting grain", "end grain", "the face of a sheet", "a sheet's edge"
]

# Common practice, no source: what still counts as along and across. The books know only the two.
_END, _SIDE = 30.0, 60.0
DENSE = 0.60
"""Specific gravity at 12 % from which a hardwood splits easily: common practice, no source."""


def in_mate(bore: Bore, board: Board, mate: Board) -> tuple[Vec, Vec, Vec]:
    """Where the screw enters the mate, its tip, and the axis's direction, in the mate's frame."""
    turn = mate.pose.local_point
    axis = mate.pose.local_direction(board.pose.direction(bore.back))
    return turn(board.pose.point(bore.exit)), turn(board.pose.point(bore.tip)), axis


def grain_angle(bore: Bore, board: Board, mate: Board) -> float:
    """Angle between the screw and the mate's grain, degrees."""
    axis = in_mate(bore, board, mate)[2]
    return math.degrees(math.acos(min(1.0, abs(axis[0]))))


def grain(bore: Bore, board: Board, mate: Board) -> Grain:
    """What the screw's thread is in."""
    if mate.stock.kind == "sheet":
        return "the face of a sheet" if bore.mate_face in (TOP, BOTTOM) else "a sheet's edge"
    angle = grain_angle(bore, board, mate)
    if angle <= _END:
        return "end grain"
    return "side grain" if angle >= _SIDE else "slanting grain"
