"""What a maker does with two distances and their words: from faces by name to one point."""

from __future__ import annotations

import re

from slantbore.models.maths.geometry import Plane, Vec, along, cross, dot, unit
from slantbore.models.piece.board import Board

ROUNDED = 25.4 / 64 + 1e-6
"""How far a length in inches may be off as printed, mm."""


def minus(v: Vec) -> Vec:
    return (-v[0], -v[1], -v[2])


def meet(a: Plane, b: Plane, c: Plane) -> Vec:
    """Cramer's rule for three planes."""
    bc, ca, ab = cross(b.normal, c.normal), cross(c.normal, a.normal), cross(a.normal, b.normal)
    size = dot(a.normal, bc)
    x, y, z = ((a.offset * bc[i] + b.offset * ca[i] + c.offset * ab[i]) / size for i in range(3))
    return (x, y, z)


def inward(board: Board, face: str, joint: str) -> Vec:
    """Square to the line of the joint on a face, into the board."""
    up, out = (plane_of(board, name).normal for name in (face, joint))
    return unit(minus(cross(cross(up, out), up)))


def plane_of(board: Board, name: str) -> Plane:
    (plane,) = (face.plane for face in board.faces if face.name == name)
    return plane


def marked(board: Board, face: str, run: tuple[float, str], square: tuple[float, str]) -> Vec:
    """The point on a face by the words alone.

    `from the front edge` and `from the left end` are plain distances, from lines square to each
    other; `along the outside edge, from its corner with the left end` and then `from the outside
    edge, square to it` follow the edge.
    """
    found = re.fullmatch(r"from the (.+?)(, square to it)?", square[1])
    assert found, square
    slanted = re.fullmatch(r"along the (.+), from its corner with the (.+)", run[1])
    plain = re.fullmatch(r"from the (.+)", run[1])
    assert bool(slanted) == bool(found[2]) and (slanted or plain), (run, square)
    assert slanted is None or slanted[1] == found[1]
    other = slanted[2] if slanted else plain[1] if plain else ""
    pocket, line, start = (plane_of(board, name) for name in (face, found[1], other))
    way = unit(cross(pocket.normal, line.normal))
    if dot(way, start.normal) > 0:
        way = minus(way)
    if not slanted:
        assert abs(dot(inward(board, face, found[1]), inward(board, face, other))) < 1e-6
    corner = meet(pocket, line, start)
    return along(along(corner, way, run[0]), inward(board, face, found[1]), square[0])
