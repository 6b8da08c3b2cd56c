"""Front, top and side of every piece: its overall sizes, and where its boards begin and end."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from ...models.maths.geometry import Array, Vec, vec
from ...models.piece.board import Board
from ...models.piece.groups import like_pieces
from ...models.piece.project import Project
from ...models.words.lengths import Unit, nearest_length
from ..drawing.marks import Dimension, Drawing, Mark, Placed, Polyline, Sheet, Text
from ..drawing.plain import extent
from ..solids.hidden import FRONT, RIGHT, TOP, Look, seen
from ..solids.product import Product
from ..solids.solids import blank_corners
from . import Pages
from .frame import SCALES, Room, room_of, said_scale
from .ordinates import row
from .paper import Paper

_APART = 3.0  # mm of paper between two places
_ROW = 7.0  # mm of paper from the view to its width
_BETWEEN, _CAPTION = 8.0, 6.0  # mm of paper between views; under each for its name
_LOOKS = ((FRONT, "front"), (RIGHT, "right side"), (TOP, "top"))


def extents(project: Project) -> Mapping[str, tuple[Vec, Vec]]:
    """Per piece the least and greatest coordinates of its boards in its own frame (mm)."""
    found: dict[str, list[Vec]] = {}
    for board in project.boards:
        stand = project.stand(board.piece)
        corners = (stand.local_point(vec(p)) for p in placed_corners(board))
        found.setdefault(board.piece, []).extend(corners)
    joined = {piece: np.array(some) for piece, some in found.items()}
    return {p: (vec(some.min(axis=0)), vec(some.max(axis=0))) for p, some in joined.items()}


def together(pieces: Sequence[str]) -> str:
    """Like pieces in few words: `mirror`, `mirror 1 and 19 like it`."""
    return pieces[0] + (f" and {len(pieces) - 1} like it" if len(pieces) > 1 else "")


def placed_corners(board: Board) -> Array:
    """Corners of a board's blank where it stands, (n, 3) mm."""
    corners: Array = blank_corners(board) @ board.pose.matrix.T + np.array(board.pose.origin)
    return corners


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """A sheet a piece, like ones once: the front, the right side beside it, the top over it."""
    project, room = product.project, room_of(paper)
    for pieces in like_pieces(project):
        piece = pieces[0]
        boards = [board for board in project.boards if board.piece == piece]
        solids = {board.name: product.solids.board_solid(board.name) for board in boards}
        looks = [look.on(project.stand(piece)) for look, _ in _LOOKS]
        for scale in SCALES:
            views = [
                replace(
                    _view(boards, look, project.unit, scale, widths=name != "right side"),
                    name=f"{piece} {name}",
                )
                for look, (_, name) in zip(looks, _LOOKS, strict=True)
            ]
            placed = _placed(views, room)
            if placed:
                break
        marks: list[Mark] = []
        for number, (one, look) in enumerate(zip(placed, looks, strict=True)):
            (x0, y0), (x1, _) = extent(one.drawing)
            at = (one.origin[0] + (x0 + x1) / 2, one.origin[1] + y0 - _CAPTION + 2.0)
            marks.append(Text(at, f"{_LOOKS[number][1]}, {said_scale(scale)}", 2.5, "middle"))
            # The lines themselves reach no further than the boards that the sizes are taken from.
            lines = [path for some in seen(solids, look).values() for path in some.outline]
            whole = (*(Polyline(path, "thin") for path in lines), *one.drawing.marks)
            placed[number] = replace(one, drawing=replace(one.drawing, marks=whole))
        yield Sheet(
            f"{together(pieces)}: views", paper.width, paper.height, tuple(marks), tuple(placed)
        )


def _placed(views: Sequence[Drawing], room: Room) -> list[Placed]:
    """The views where each lies in line with the front; none where they do not fit at their scale.

    At the last scale they are placed all the same.
    """
    front, side, top = views
    boxes = [extent(view) for view in views]
    (fx0, fy0), (fx1, fy1) = boxes[0]
    (sx0, sy0), (sx1, sy1) = boxes[1]
    (tx0, ty0), (tx1, ty1) = boxes[2]
    left, right, low, high = min(fx0, tx0), max(fx1, tx1), min(fy0, sy0), max(fy1, sy1)
    wide = right - left + _BETWEEN + sx1 - sx0
    tall = high - low + ty1 - ty0 + 2 * _CAPTION + _BETWEEN
    if (wide > room.wide or tall > room.high) and front.scale > SCALES[-1]:
        return []
    x = room.x + (room.wide - wide) / 2 - left
    y = room.y + (room.high - tall) / 2 + _CAPTION - low
    return [
        Placed(front, (x, y)),
        Placed(side, (x + right + _BETWEEN - sx0, y)),
        Placed(top, (x, y + high + _BETWEEN + _CAPTION - ty0)),
    ]


def _view(
    boards: Sequence[Board], look: Look, unit: Unit, scale: float, *, widths: bool
) -> Drawing:
    """The sizes of a view: its width, where boards begin and end from its left and lower side."""
    marks: list[Mark] = []
    spans = [np.array([look.at(vec(p)) for p in placed_corners(board)]) for board in boards]
    (x0, y0), (x1, y1) = (np.concatenate(spans).min(axis=0), np.concatenate(spans).max(axis=0))
    marks.append(
        Dimension(
            (float(x0), float(y0)), (float(x1), float(y0)), -_ROW, nearest_length(x1 - x0, unit)
        )
    )
    for axis, start, base, side in ((1, y0, x0, -1), (0, x0, y1, 1))[: 2 if widths else 1]:
        ends = sorted(
            {round(float(e), 3) for s in spans for e in (s[:, axis].min(), s[:, axis].max())}
        )
        told = [(end, nearest_length(end - start, unit)) for end in _kept(ends, scale)]
        marks += row(told, float(base), side, axis == 1, scale, float(start))
    return Drawing("", tuple(marks), scale)


def _kept(ends: Sequence[float], scale: float) -> list[float]:
    """Where boards begin and end, as many as can be read: the ends of the whole first of all."""
    kept = [ends[0]]
    for end in ends[1:-1]:
        if (end - kept[-1]) * scale >= _APART and (ends[-1] - end) * scale >= _APART:
            kept.append(end)
    return [*kept, ends[-1]]


PAGES = Pages("Views", 50, make)
