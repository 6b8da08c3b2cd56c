"""A story stick: a lath with a notch at every distance that a piece's pockets are marked out by."""

from __future__ import annotations

from collections.abc import Iterator

from ...models.piece.bored import bores_in
from ...models.piece.markout import mark_out
from ...models.piece.project import Project
from ...models.words.lengths import format_length
from ..solids.kernel import cq
from ..solids.solids import one_solid
from . import Aid, Aids

# Common practice, no source.
_WIDE, _THICK, _BEYOND = 25.0, 6.0, 25.0  # mm
_NOTCH = 3.0  # mm deep, and half as wide again at the edge
_SAME = 0.05  # mm


def make(project: Project) -> Iterator[Aid]:
    """One for each piece with pockets."""
    for piece in dict.fromkeys(board.piece for board in project.boards):
        places = sorted(
            {
                round(distance, 3)
                for board in project.boards
                if board.piece == piece
                for bore in bores_in(project, board)
                for mark in [mark_out(board, bore)]
                for distance in (mark.run, mark.square)
            }
        )
        apart = [p for i, p in enumerate(places) if i == 0 or p - places[i - 1] > _SAME]
        if not apart:
            continue
        told = ", ".join(format_length(place, project.unit) for place in apart)
        about = (
            f"Its notches stand, from the square end with the corner cut off, at {told}: hold it "
            f"against the board's end or edge and mark every pocket of {piece} without a tape. "
            "It may as well be sawn from a lath."
        )
        yield Aid(f"story stick {piece}", stick(apart), about, (("places", tuple(apart)),))


def stick(places: list[float]) -> cq.Shape:
    """A lath along x with V-shaped notches in its front edge at those places (mm)."""
    lath: cq.Shape = cq.Solid.makeBox(places[-1] + _BEYOND, _WIDE, _THICK)
    # The corner that is cut off tells the end that the places are counted from.
    corner = _prism([(0.0, _WIDE), (6.0, _WIDE), (0.0, _WIDE - 6.0)])
    notches = [
        _prism([(p, _NOTCH), (p + 0.75 * _NOTCH, -0.01), (p - 0.75 * _NOTCH, -0.01)])
        for p in places
    ]
    return one_solid(lath.cut(corner, *notches), "story stick")


def _prism(points: list[tuple[float, float]]) -> cq.Solid:
    wire = cq.Wire.makePolygon([cq.Vector(x, y, -1.0) for x, y in points], close=True)
    return cq.Solid.extrudeLinear(wire, [], cq.Vector(0.0, 0.0, _THICK + 2.0))


AIDS = Aids(make)
