"""Front, top and side of every piece, with its overall sizes and the heights of its boards."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from ...models.maths.geometry import Array, Vec, vec
from ...models.piece.board import Board
from ...models.piece.project import Project
from ...models.words.lengths import Unit, format_length
from ..drawing.marks import Dimension, Drawing, Mark, Polyline, Sheet, Text
from ..solids.hidden import FRONT, RIGHT, TOP, Look, seen
from ..solids.solids import blank_corners
from ..writers import Product
from . import Pages, Paper
from .frame import Room, centred, fitting, grid, room_of, said_scale

_APART = 5.5  # mm of paper between two key sizes
_ROW = 7.0  # mm of paper from one row of dimensions to the next


def placed_corners(board: Board) -> Array:
    """Corners of a board's blank where it stands, (n, 3) mm."""
    corners: Array = blank_corners(board) @ board.pose.matrix.T + np.array(board.pose.origin)
    return corners


def extents(project: Project) -> Mapping[str, tuple[Vec, Vec]]:
    """Per piece the least and greatest coordinates of its boards (mm)."""
    found: dict[str, list[Array]] = {}
    for board in project.boards:
        found.setdefault(board.piece, []).append(placed_corners(board))
    joined = {piece: np.concatenate(some) for piece, some in found.items()}
    return {p: (vec(some.min(axis=0)), vec(some.max(axis=0))) for p, some in joined.items()}


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """A sheet a piece; copies of a piece are alike, the first is drawn."""
    project = product.project
    for piece in dict.fromkeys(board.piece for board in project.boards):
        boards = [board for board in project.boards if board.piece == piece]
        front, side, top, _ = grid(room_of(paper), 2, 2, 10.0)
        drawn = [
            _view(product, boards, look, name)
            for look, name in ((FRONT, "front"), (RIGHT, "right side"), (TOP, "top"))
        ]
        scale = min(
            fitting(d, room.wide, room.high - 8.0).scale
            for d, room in zip(drawn, (front, side, top), strict=True)
        )
        yield _sheet(product, paper, piece, boards, scale, (front, side, top))


def _sheet(
    product: Product,
    paper: Paper,
    piece: str,
    boards: Sequence[Board],
    scale: float,
    rooms: Sequence[Room],
) -> Sheet:
    marks: list[Mark] = []
    placed = []
    looks = ((FRONT, "front"), (RIGHT, "right side"), (TOP, "top"))
    for (look, name), room in zip(looks, rooms, strict=True):
        drawing = _view(product, boards, look, name, scale)
        placed.append(centred(drawing, Room(room.x, room.y + 6.0, room.wide, room.high - 6.0)))
        says = f"{name}, {said_scale(scale)}"
        marks.append(Text((room.x + room.wide / 2, room.y + 1.0), says, 2.5, "middle"))
    return Sheet(f"{piece}: views", paper.width, paper.height, tuple(marks), tuple(placed))


def _view(
    product: Product, boards: Sequence[Board], look: Look, name: str, scale: float = 0.1
) -> Drawing:
    unit = product.project.unit
    solids = {board.name: product.solids.board_solid(board.name) for board in boards}
    marks: list[Mark] = [
        Polyline(path, "thin") for one in seen(solids, look).values() for path in one.outline
    ]
    flat = np.concatenate([[look.at(vec(p)) for p in placed_corners(b)] for b in boards])
    (x0, y0), (x1, y1) = flat.min(axis=0).tolist(), flat.max(axis=0).tolist()
    marks.append(Dimension((x0, y0), (x1, y0), -_ROW, format_length(x1 - x0, unit)))
    marks.append(Dimension((x0, y0), (x0, y1), 2 * _ROW, format_length(y1 - y0, unit)))
    spans = [[look.at(vec(p))[1] for p in placed_corners(board)] for board in boards]
    marks += _chain(x0, y0, y1, spans, unit, scale)
    return Drawing(f"{boards[0].piece} {name}", tuple(marks), scale)


def _chain(
    x: float, low: float, high: float, spans: Sequence[Sequence[float]], unit: Unit, scale: float
) -> Iterator[Mark]:
    """A chain of heights: where boards begin and end, no two closer than can be read."""
    ends = sorted({round(end, 3) for span in spans for end in (min(span), max(span))})
    kept = [low]
    for end in ends:
        if (end - kept[-1]) * scale >= _APART and (high - end) * scale >= _APART:
            kept.append(end)
    kept.append(high)
    if len(kept) > 2:
        for a, b in zip(kept, kept[1:], strict=False):
            yield Dimension((x, a), (x, b), _ROW, format_length(b - a, unit))


PAGES = Pages("Views", 50, make)
