"""Templates at full size: pockets swung or at a mitre, curves, tapers; to be laid on the board.

What is larger than a sheet is printed in tiles that overlap, with crosses to lay one over the next.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely.geometry import Polygon

from ...models.piece.board import FRONT, TOP
from ...models.piece.bored import bores_in
from ...models.piece.lie import Lying, Point, Region
from ...models.piece.markout import mark_out
from ...models.piece.pairs import like_boards
from ...models.piece.project import Bore, Project
from ...models.words.lengths import Unit
from ..drawing.marks import Drawing, Line, Mark, Placed, Polyline, Sheet, Text
from ..solids.product import Product
from . import Pages
from .faces import curved
from .frame import Room, room_of
from .paper import Paper

_AROUND = 12.0  # mm of board that is shown about a pocket and its corner
_OVERLAP = 15.0  # mm that two tiles share
_BAR = 12.0  # mm of paper for the bar to check the printer by
_GAP = 8.0
_CROSS = 4.0
_SLANT = 0.05  # mm off square from which on a line is one that no fence is set to


@dataclass(frozen=True)
class Template:
    """Part of a face at full size: its drawing, the corner of the part shown, and its size (mm)."""

    drawing: Drawing
    low: Point
    wide: float
    high: float


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """As many templates to a sheet as fit side by side."""
    room = room_of(paper)
    room = Room(room.x, room.y + _BAR, room.wide, room.high - _BAR)
    waiting = list(templates(product.project))
    marks: list[Mark] = []
    placed: list[Placed] = []
    x, y, row = room.x, room.y + room.high, 0.0
    for one in waiting:
        tiles = list(_tiles(one, room))
        for tile in tiles:
            if x > room.x and x + tile.wide > room.x + room.wide:
                x, y, row = room.x, y - row - _GAP, 0.0
            if placed and y - tile.high - 5.0 < room.y:
                yield _sheet(product, paper, marks, placed)
                marks, placed = [], []
                x, y, row = room.x, room.y + room.high, 0.0
            placed.append(Placed(tile.drawing, (x - tile.low[0], y - tile.high - tile.low[1])))
            marks.append(Text((x, y - tile.high - 3.5), tile.drawing.name, 2.1))
            x, row = x + tile.wide + _GAP, max(row, tile.high + 5.0)
    if placed:
        yield _sheet(product, paper, marks, placed)


def _sheet(
    product: Product, paper: Paper, marks: Sequence[Mark], placed: Sequence[Placed]
) -> Sheet:
    room = room_of(paper)
    made = (*marks, *check_bar((room.x, room.y + 4.0), product.project.unit))
    return Sheet("Templates, full size", paper.width, paper.height, made, tuple(placed))


def check_bar(at: Point, unit: Unit) -> Iterator[Mark]:
    """A bar of known length, and what it is for."""
    long, says = (101.6, "4 in") if unit == "inch" else (100.0, "100 mm")
    x, y = at
    yield Line((x, y), (x + long, y), "outline")
    for end in (x, x + long):
        yield Line((end, y - 1.5), (end, y + 1.5), "outline")
    words = f"{says}: print at full size, and measure this bar first"
    yield Text((x + long + 4.0, y - 1.0), words, 2.1)


def templates(project: Project) -> Iterator[Template]:
    """One for each pocket that is swung or stands at a mitre, each curve and each slant.

    Boards alike have theirs once, and so have curves and slants that only lie elsewhere.
    """
    shapes: set[tuple[float, ...]] = set()
    for boards in like_boards(project):
        for side in (TOP, FRONT):
            lying = Lying(boards[0], side)
            for region in _shaped(lying):
                one, shape = shaped(lying, region)
                if shape not in shapes:
                    shapes.add(shape)
                    yield one
        board = boards[0]
        for bore in bores_in(project, board):
            mark = mark_out(board, bore)
            if abs(bore.swing) > 1e-6 or mark.mitre > 1e-6:
                yield template(Lying(board, bore.pocket_face), bore)


def template(lying: Lying, bore: Bore) -> Template:
    """A pocket with the corner of the board that it is measured from."""
    mark = mark_out(lying.board, bore)
    mouth = lying.mouth(bore, 96)
    corner = lying.at(mark.corner)[:2]
    exit_ = lying.at(bore.exit)[:2]
    points = [*mouth, corner, exit_]
    low, high = _window(points)
    back = lying.way(bore.back)
    reach = bore.run_out(lying.board) + 6.0
    end = (exit_[0] + reach * back[0], exit_[1] + reach * back[1])
    axis = _within([exit_, end], low, high)
    outline = _within([*lying.outline, lying.outline[0]], low, high)
    face = lying.board.face(lying.side).name
    marks: list[Mark] = [Polyline(tuple(mouth), "outline", True)]
    marks += [Line(a, b, "outline") for a, b in outline]
    marks += [Line(a, b, "centre") for a, b in axis]
    name = f"{bore.name}, {face} of the {lying.board.role}"
    return Template(Drawing(name, tuple(marks)), low, high[0] - low[0], high[1] - low[1])


def _shaped(lying: Lying) -> Iterator[Region]:
    """What is sawn out through a board, seen from a face, along a curve or a slanting line."""
    for region, _ in lying.regions():
        if isinstance(region, Region) and region.through and region.upright:
            outline = curved(lying, region)
            sides = zip(outline, (*outline[1:], outline[0]), strict=True)
            if any(min(abs(b[0] - a[0]), abs(b[1] - a[1])) > _SLANT for a, b in sides):
                yield region


def shaped(lying: Lying, region: Region) -> tuple[Template, tuple[float, ...]]:
    """A curve or a slant with the board about it, and what tells it from those of other shapes."""
    outline = curved(lying, region)
    low, high = _window(outline)
    marks: list[Mark] = [
        Line(a, b, "faint") for a, b in _within([*lying.outline, lying.outline[0]], low, high)
    ]
    marks.append(Polyline(outline, "outline", True))
    name = f"{lying.board.name} {region.work.called}"
    shape = (high[0] - low[0], high[1] - low[1], Polygon(outline).area)
    made = Template(Drawing(name, tuple(marks)), low, shape[0], shape[1])
    return made, tuple(round(size, 2) for size in shape)


def _window(points: Sequence[Point]) -> tuple[Point, Point]:
    """The corners of what is shown about some points."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    low = (min(xs) - _AROUND, min(ys) - _AROUND)
    return low, (max(xs) + _AROUND, max(ys) + _AROUND)


def _within(points: Sequence[Point], low: Point, high: Point) -> list[tuple[Point, Point]]:
    """Those parts of a line from point to point that lie in a box (Liang and Barsky)."""
    kept = []
    for a, b in zip(points, points[1:], strict=False):
        start, end = 0.0, 1.0
        for axis in (0, 1):
            way = b[axis] - a[axis]
            for sign, bound in ((-1.0, low[axis]), (1.0, high[axis])):
                lean, room = sign * way, sign * (bound - a[axis])
                if abs(lean) < 1e-12:
                    end = end if room >= 0 else -1.0
                elif lean > 0:
                    end = min(end, room / lean)
                else:
                    start = max(start, room / lean)
        if start < end:
            ends = [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for t in (start, end)]
            kept.append((ends[0], ends[1]))
    return kept


def _tiles(one: Template, room: Room) -> Iterator[Template]:
    """The template itself where it fits, else in tiles with crosses where they overlap."""
    across = max(1, math.ceil((one.wide - _OVERLAP) / (room.wide - _OVERLAP)))
    up = max(1, math.ceil((one.high - _OVERLAP) / (room.high - 6.0 - _OVERLAP)))
    if across == up == 1:
        yield one
        return
    wide = (one.wide + _OVERLAP * (across - 1)) / across
    high = (one.high + _OVERLAP * (up - 1)) / up
    crosses = [
        (one.low[0] + (wide - _OVERLAP) * i + _OVERLAP / 2,
         one.low[1] + (high - _OVERLAP) * j + _OVERLAP / 2)
        for i in range(across + 1) for j in range(up + 1)
    ]  # fmt: skip
    for i in range(across):
        for j in range(up):
            low = (one.low[0] + (wide - _OVERLAP) * i, one.low[1] + (high - _OVERLAP) * j)
            top = (low[0] + wide, low[1] + high)
            marks: list[Mark] = []
            for mark in one.drawing.marks:
                if isinstance(mark, Line):
                    marks += [
                        Line(a, b, mark.pen) for a, b in _within([mark.start, mark.end], low, top)
                    ]
                elif isinstance(mark, Polyline):
                    ring = [*mark.points, mark.points[0]] if mark.closed else [*mark.points]
                    marks += [Line(a, b, "outline") for a, b in _within(ring, low, top)]
            for x, y in crosses:
                if low[0] <= x <= top[0] and low[1] <= y <= top[1]:
                    marks.append(Line((x - _CROSS, y), (x + _CROSS, y), "thin"))
                    marks.append(Line((x, y - _CROSS), (x, y + _CROSS), "thin"))
            name = f"{one.drawing.name}, tile {i + 1} across {j + 1} up"
            yield Template(Drawing(name, tuple(marks)), low, wide, high)


PAGES = Pages("Templates", 35, make)
