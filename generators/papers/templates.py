"""Templates at full size: pockets swung or at a mitre, curves, tapers; to be laid on the board.

What is larger than a sheet is printed in tiles that overlap, with crosses to lay one over the next.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely.geometry import Point as Spot
from shapely.geometry import Polygon, box

from ...models.piece.board import FRONT, TOP
from ...models.piece.bored import bores_in
from ...models.piece.lie import Lying, Point, Region
from ...models.piece.markout import mark_out
from ...models.piece.pairs import like_boards
from ...models.piece.project import Bore, Project
from ...models.words.lengths import Unit
from ..drawing.fonts import width_of, wrapped
from ..drawing.marks import Drawing, Line, Mark, Pen, Placed, Polyline, Sheet, Text, text_box
from ..solids.product import Product
from . import Pages
from .faces import curved, pocket
from .frame import Room, lines, room_of
from .paper import Paper

_AROUND = 12.0  # mm of board that is shown about a pocket and its corner
_OVERLAP = 15.0  # mm that two tiles share
_BAR = 12.0  # mm of paper for the bar to check the printer by
_GAP = 8.0
_CROSS = 4.0
_NAME = 60.0  # mm of paper that a template's name has at least
_SMALL = 2.1
_SLANT = 0.05  # mm off square from which on a line is one that no fence is set to


@dataclass(frozen=True)
class Template:
    """Part of a face at full size.

    Attributes:
        drawing: also with its name.
        low: the corner of the part shown (mm).
        wide: mm.
        high: mm.
        says: printed under it; "" its name.
    """

    drawing: Drawing
    low: Point
    wide: float
    high: float
    says: str = ""


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
            said = wrapped(tile.says or tile.drawing.name, max(tile.wide, _NAME), 2.1)
            wide, high = max(tile.wide, _NAME), tile.high + 1.5 + 3.6 * len(said)
            if x > room.x and x + wide > room.x + room.wide:
                x, y, row = room.x, y - row - _GAP, 0.0
            if placed and y - high < room.y:
                yield _sheet(product, paper, marks, placed)
                marks, placed = [], []
                x, y, row = room.x, room.y + room.high, 0.0
            placed.append(Placed(tile.drawing, (x - tile.low[0], y - tile.high - tile.low[1])))
            marks += lines((x, y - tile.high - 1.0), said, 2.1)
            x, row = x + wide + _GAP, max(row, high)
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
    points = [*mouth, corner, lying.at(bore.exit)[:2]]
    low, high = _window(points)
    marks = [*pocket(lying, bore, 1.0, 96), *_about(lying, low, high, "outline")]
    face = lying.board.face(lying.side).name
    name = f"{bore.name}, {face} of the {lying.board.role}"
    says = f"{name}: lay it to the {mark.end.name} and the {mark.edge.name}; drill at the cross"
    made = Drawing(name, tuple(marks))
    return Template(made, low, high[0] - low[0], high[1] - low[1], says)


def _about(lying: Lying, low: Point, high: Point, pen: Pen) -> Iterator[Mark]:
    """The board's outline as far as it is shown, and the names of its sides outside of it."""
    corners = lying.outline
    for start, end in zip(corners, (*corners[1:], corners[0]), strict=True):
        for a, b in _within([start, end], low, high):
            yield Line(a, b, pen)
            says = _side(lying, start, end)
            if says and math.dist(a, b) > width_of(says, _SMALL) + 4.0:
                angle = math.atan2(b[1] - a[1], b[0] - a[0])
                out = (math.sin(angle), -math.cos(angle))  # corners go counter-clockwise
                at = [(p + q) / 2 + 3.0 * o for p, q, o in zip(a, b, out, strict=True)]
                turn = (math.degrees(angle) + 90.0 - 1e-6) % 180.0 - 90.0 + 1e-6
                yield Text((at[0], at[1]), says, _SMALL, "middle", "middle", turn)


def _side(lying: Lying, start: Point, end: Point) -> str:
    """What the side is called that a line of the outline belongs to."""
    for side in lying.beside:
        face = lying.board.face(side)
        plane = lying.plane(face.plane)
        if all(abs(plane.gap((x, y, 0.0))) < 1e-6 for x, y in (start, end)):
            return face.name
    return ""


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
    marks = [*_about(lying, low, high, "faint"), Polyline(outline, "outline", True)]
    name = f"{lying.board.name} {region.work.called}"
    shape = (high[0] - low[0], high[1] - low[1], Polygon(outline).area)
    says = f"{name}, on the {lying.board.face(lying.side).name}"
    made = Template(Drawing(name, tuple(marks)), low, shape[0], shape[1], says)
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
                elif isinstance(mark, Text) and _clear(mark, low, top, crosses):
                    marks.append(mark)
            for x, y in crosses:
                if low[0] <= x <= top[0] and low[1] <= y <= top[1]:
                    marks.append(Line((x - _CROSS, y), (x + _CROSS, y), "thin"))
                    marks.append(Line((x, y - _CROSS), (x, y + _CROSS), "thin"))
            tile = f", tile {i + 1} across {j + 1} up"
            made = Drawing(one.drawing.name + tile, tuple(marks))
            yield Template(made, low, wide, high, one.says + tile)


def _clear(text: Text, low: Point, high: Point, crosses: Sequence[Point]) -> bool:
    """Whether all of a text lies within a box and none of it on a cross."""
    shape = Polygon(text_box(text))
    inside = box(*low, *high).contains(shape)
    return inside and all(shape.distance(Spot(cross)) > 1.5 * _CROSS for cross in crosses)


PAGES = Pages("Templates", 35, make)
