"""Front, top and side of every piece, with its overall sizes and the heights of its boards."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from ...models.maths.geometry import Array, Vec, vec
from ...models.piece.board import Board
from ...models.piece.project import Project
from ...models.words.lengths import Unit, nearest_length
from ..drawing.marks import Dimension, Drawing, Mark, Polyline, Sheet, Text
from ..solids.hidden import FRONT, RIGHT, TOP, Look, Path, seen
from ..solids.product import Product
from ..solids.solids import blank_corners
from . import Pages
from .frame import Room, centred, fitting, grid, room_of, said_scale
from .ordinates import row
from .paper import Paper

_APART = 3.0  # mm of paper between two heights
_ROW = 7.0  # mm of paper from the view to its width


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


_LOOKS = ((FRONT, "front"), (RIGHT, "right side"), (TOP, "top"))


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """A sheet a piece."""
    project = product.project
    rooms = grid(room_of(paper), 2, 2, 10.0)[:3]
    for piece in dict.fromkeys(board.piece for board in project.boards):
        boards = [board for board in project.boards if board.piece == piece]
        solids = {board.name: product.solids.board_solid(board.name) for board in boards}
        paths = [
            [path for one in seen(solids, look).values() for path in one.outline]
            for look, _ in _LOOKS
        ]
        scale = min(
            fitting(_view(boards, look, some, project.unit), room.wide, room.high - 8.0).scale
            for (look, _), some, room in zip(_LOOKS, paths, rooms, strict=True)
        )
        marks: list[Mark] = []
        placed = []
        for (look, name), some, room in zip(_LOOKS, paths, rooms, strict=True):
            drawing = replace(
                _view(boards, look, some, project.unit, scale), name=f"{piece} {name}"
            )
            placed.append(centred(drawing, Room(room.x, room.y + 6.0, room.wide, room.high - 6.0)))
            says = f"{name}, {said_scale(scale)}"
            marks.append(Text((room.x + room.wide / 2, room.y + 1.0), says, 2.5, "middle"))
        yield Sheet(f"{piece}: views", paper.width, paper.height, tuple(marks), tuple(placed))


def _view(
    boards: Sequence[Board], look: Look, paths: Sequence[Path], unit: Unit, scale: float = 0.1
) -> Drawing:
    """A view with its width, and the heights where boards begin and end, from its lower side."""
    marks: list[Mark] = [Polyline(path, "thin") for path in paths]
    flat = np.array([look.at(vec(p)) for board in boards for p in placed_corners(board)])
    (x0, y0), x1 = flat.min(axis=0).tolist(), float(flat[:, 0].max())
    marks.append(Dimension((x0, y0), (x1, y0), -_ROW, nearest_length(x1 - x0, unit)))
    heights = [[look.at(vec(p))[1] for p in placed_corners(board)] for board in boards]
    ends = sorted({round(e, 3) for span in heights for e in (min(span), max(span))})
    told = [(end, nearest_length(end - y0, unit)) for end in _kept(ends, scale)]
    marks += row(told, x0, -1, True, scale)
    return Drawing("", tuple(marks), scale)


def _kept(ends: Sequence[float], scale: float) -> list[float]:
    """Where boards begin and end, as many as can be read: the ends of the whole first of all."""
    kept = [ends[0]]
    for end in ends[1:-1]:
        if (end - kept[-1]) * scale >= _APART and (ends[-1] - end) * scale >= _APART:
            kept.append(end)
    return [*kept, ends[-1]]


PAGES = Pages("Views", 50, make)
