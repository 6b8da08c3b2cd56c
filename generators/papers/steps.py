"""The order of assembly in pictures: what is there already is faint, what is new is dark."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..drawing.fonts import wrapped
from ..drawing.marks import Drawing, Leader, Mark, Pen, Polyline, Sheet
from ..drawing.plain import ARROW
from ..solids.hidden import CORNER, seen
from ..solids.product import Product
from ..telling.steps import Stage, stages
from . import Pages
from .frame import Room, centred, fitting, grid, lines, pages_of, room_of
from .paper import Paper

if TYPE_CHECKING:
    from ..drawing.marks import Point

_COLUMNS, _ROWS = 2, 3
_TEXT = 21.0  # mm of paper for the words under a picture


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """Six lines of the order a sheet, numbered as everywhere."""
    for page in pages_of(stages(product.project), _COLUMNS * _ROWS):
        marks: list[Mark] = []
        placed = []
        for stage, room in zip(page, grid(room_of(paper), _COLUMNS, _ROWS), strict=False):
            picture = Room(room.x, room.y + _TEXT, room.wide, room.high - _TEXT)
            drawing = fitting(_picture(product, stage), picture.wide, picture.high)
            placed.append(centred(drawing, picture))
            said = wrapped(f"{stage.number}. {stage.text}", room.wide, 2.2)
            marks += lines((room.x, room.y + _TEXT - 1.0), said, 2.2)
        yield Sheet("Order of assembly", paper.width, paper.height, tuple(marks), tuple(placed))


def _picture(product: Product, stage: Stage) -> Drawing:
    new = {name for step in stage.steps for name in step.boards}
    there = {name for step in stage.steps for name in step.onto}
    solids = {n: product.solids.board_solid(n) for n in sorted(new | there)}
    views = seen(solids, CORNER)
    marks: list[Mark] = []
    for name, view in views.items():
        pen: Pen = "outline" if name in new else "faint"
        marks += [Polyline(path, pen) for path in view.outline]
    ends = [p for name in stage.steps[0].boards for path in views[name].outline for p in path]
    way = stage.steps[0].way
    if ends and way is not None and stage.again is None:
        marks += _arrow(ends, CORNER.at(way))
    return Drawing(f"step {stage.number}", tuple(marks))


def _arrow(ends: list[Point], way: Point) -> Iterator[Mark]:
    """Which way the new board comes: an arrow that ends at its middle."""
    size = math.hypot(*way)
    if size < 0.05:  # straight away from the eye: nothing to see
        return
    xs, ys = [p[0] for p in ends], [p[1] for p in ends]
    x, y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    long = 0.35 * max(max(xs) - min(xs), max(ys) - min(ys))
    tail = (x - way[0] / size * long, y - way[1] / size * long)
    yield Leader(((x, y), tail), "", ARROW)


PAGES = Pages("Order of assembly", 40, make)
