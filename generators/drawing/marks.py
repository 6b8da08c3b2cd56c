"""What a drawing is made of, as data: its primitives, a drawing in real mm, a sheet of paper.

Points of a drawing are real millimetres, x to the right and y up. Whatever belongs to the paper
(text heights, the distance of a dimension from what it measures, the spacing of hatches) is in
millimetres of paper and is the same at every scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Literal

from .fonts import DESCENT, width_of

Point = tuple[float, float]
Pen = Literal["outline", "thin", "hidden", "centre", "mark", "faint"]
"""Outlines; thin lines and dimensions; hidden edges; centre lines; pencil marks; what recedes."""

WIDTHS: dict[Pen, float] = {
    "outline": 0.35, "thin": 0.13, "hidden": 0.18, "centre": 0.13, "mark": 0.25, "faint": 0.1,
}  # fmt: skip
"""Widths of the pens, mm of paper: 0.13, 0.18, 0.25, 0.35 are of ISO 128-2, from memory."""
DASHES: dict[Pen, tuple[float, ...]] = {"hidden": (2.0, 1.0), "centre": (6.0, 1.0, 0.5, 1.0)}
"""Dashes and gaps, mm of paper."""
GREYS: dict[Pen, float] = {"faint": 0.55}
"""How light a pen is, 0 black to 1 white."""


@dataclass(frozen=True)
class Line:
    """A straight line."""

    start: Point
    end: Point
    pen: Pen = "thin"


@dataclass(frozen=True)
class Polyline:
    """Straight lines from point to point; `fill` tints what a closed one holds, 0 black to 1."""

    points: tuple[Point, ...]
    pen: Pen | None = "outline"
    closed: bool = False
    fill: float | None = None


@dataclass(frozen=True)
class Arc:
    """Part of a circle, counter-clockwise from `start` to `end` degrees."""

    centre: Point
    radius: float
    start: float = 0.0
    end: float = 360.0
    pen: Pen = "outline"


@dataclass(frozen=True)
class Ellipse:
    """Part of an ellipse; `major` leads from the centre to the end of its longer axis.

    `start` and `end` are its parameters in degrees, counted from the major axis.
    """

    centre: Point
    major: Point
    ratio: float
    start: float = 0.0
    end: float = 360.0
    pen: Pen = "outline"


@dataclass(frozen=True)
class Text:
    """One line of text; `height` is that of its capitals, mm of paper.

    Attributes:
        at: the point that it is set at.
        says: the text.
        height: mm of paper.
        along: which part of its length stands at the point.
        rise: which part of its height.
        turn: counter-clockwise, degrees.
        bold: whether it is heavier.
    """

    at: Point
    says: str
    height: float = 2.5
    along: Literal["left", "middle", "right"] = "left"
    rise: Literal["base", "middle", "top"] = "base"
    turn: float = 0.0
    bold: bool = False


@dataclass(frozen=True)
class Dimension:
    """The distance of two points, with the words that are printed for it.

    Attributes:
        start: first point.
        end: second point.
        away: of the dimension line from the start, to the left as one looks along it, mm of paper.
        says: the words.
        turn: direction that is measured, degrees; None: from point to point.
    """

    start: Point
    end: Point
    away: float
    says: str
    turn: float | None = None
    height: float = 2.5


@dataclass(frozen=True)
class Running:
    """A running dimension: a place counted from a reference, its number beside the drawing.

    Attributes:
        zero: what is counted from.
        at: the place, on the border of the drawing.
        out: unit vector from there to the number, along x or y; what is counted runs across it.
        aside: how far the number has given way to its neighbours, along x or y, mm of paper.
        says: the words.
        height: mm of paper.
    """

    zero: Point
    at: Point
    out: Point
    aside: float
    says: str
    height: float = 2.1


@dataclass(frozen=True)
class Hatch:
    """Parallel lines within a closed outline; `gap` mm of paper."""

    points: tuple[Point, ...]
    turn: float = 45.0
    gap: float = 1.2
    pen: Pen = "thin"


@dataclass(frozen=True)
class Leader:
    """A line from an arrow at its first point to words at its last one."""

    points: tuple[Point, ...]
    says: str
    height: float = 2.5


@dataclass(frozen=True)
class Table:
    """Rows of text under a heading; `at` is its top left corner, `widths` in mm of paper.

    `right` holds the numbers of the columns that are set to the right.
    """

    at: Point
    widths: tuple[float, ...]
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    height: float = 2.2
    right: frozenset[int] = frozenset()

    @property
    def pitch(self) -> float:
        """Height of a row, mm of paper."""
        return self.height * 2.0

    @property
    def depth(self) -> float:
        """Height of the whole table, mm of paper."""
        return self.pitch * (len(self.rows) + 1)


@dataclass(frozen=True)
class Picture:
    """A picture, PNG; `at` is its lower left corner."""

    at: Point
    width: float
    height: float
    png: bytes = field(repr=False)


Mark = (
    Line | Polyline | Arc | Ellipse | Text | Dimension | Running | Hatch | Leader | Table | Picture
)


@dataclass(frozen=True)
class Drawing:
    """Marks in real millimetres, and the scale at which they are put on paper.

    Attributes:
        name: also that of its files; unique among the drawings of a set.
        marks: in real mm.
        scale: mm of paper per real mm.
    """

    name: str
    marks: tuple[Mark, ...]
    scale: float = 1.0

    def on_paper(self, origin: Point) -> Iterator[Mark]:
        """The marks in mm of paper, the drawing's own origin at `origin`."""
        for mark in self.marks:
            yield scaled(mark, self.scale, origin)


@dataclass(frozen=True)
class Placed:
    """A drawing on a sheet; its own origin lies at `origin`, mm of paper."""

    drawing: Drawing
    origin: Point


@dataclass(frozen=True)
class Sheet:
    """A sheet of paper; (0, 0) is its lower left corner, y goes up.

    Attributes:
        title: printed by whoever lays the sheet out, and the name in a table of contents.
        width: mm.
        height: mm.
        marks: the sheet's own, mm of paper.
        drawings: laid on it.
    """

    title: str
    width: float
    height: float
    marks: tuple[Mark, ...] = ()
    drawings: tuple[Placed, ...] = ()

    def on_paper(self) -> Iterator[Mark]:
        """All marks in mm of paper."""
        for placed in self.drawings:
            yield from placed.drawing.on_paper(placed.origin)
        yield from self.marks


def scaled(mark: Mark, scale: float, origin: Point) -> Mark:
    """A mark at a scale, moved; what belongs to the paper keeps its size."""

    def at(p: Point) -> Point:
        return (origin[0] + scale * p[0], origin[1] + scale * p[1])

    match mark:
        case Line() | Dimension():
            return replace(mark, start=at(mark.start), end=at(mark.end))
        case Running():
            return replace(mark, zero=at(mark.zero), at=at(mark.at))
        case Polyline() | Hatch() | Leader():
            return replace(mark, points=tuple(at(p) for p in mark.points))
        case Arc():
            return replace(mark, centre=at(mark.centre), radius=scale * mark.radius)
        case Ellipse():
            x, y = mark.major
            return replace(mark, centre=at(mark.centre), major=(scale * x, scale * y))
        case Picture():
            width, height = scale * mark.width, scale * mark.height
            return replace(mark, at=at(mark.at), width=width, height=height)
        case Text() | Table():
            return replace(mark, at=at(mark.at))


def text_start(text: Text) -> Point:
    """Where the base line of a text on paper begins (mm)."""
    size = width_of(text.says, text.height, bold=text.bold)
    x = {"left": 0.0, "middle": -size / 2, "right": -size}[text.along]
    y = {"base": 0.0, "middle": -text.height / 2, "top": -text.height}[text.rise]
    return _turned(text, text.at, x, y)


def text_box(text: Text) -> tuple[Point, Point, Point, Point]:
    """The four corners of a text on paper (mm), counter-clockwise from its lower left one."""
    start, size = text_start(text), width_of(text.says, text.height, bold=text.bold)
    low = -DESCENT * text.height if any(c in "gjpqy,;()[]" for c in text.says) else 0.0
    corners = ((0.0, low), (size, low), (size, text.height), (0.0, text.height))
    a, b, c, d = (_turned(text, start, x, y) for x, y in corners)
    return a, b, c, d


def _turned(text: Text, about: Point, x: float, y: float) -> Point:
    c, s = math.cos(math.radians(text.turn)), math.sin(math.radians(text.turn))
    return (about[0] + c * x - s * y, about[1] + s * x + c * y)
