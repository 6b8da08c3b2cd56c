"""What every sheet has: heading, number, what fails; and room shared out among drawings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, TypeVar

from ..drawing.fonts import fitted
from ..drawing.marks import Drawing, Line, Mark, Placed, Point, Sheet, Text
from ..drawing.plain import extent
from .paper import Paper

if TYPE_CHECKING:
    from ..solids.product import Product

T = TypeVar("T")
HEAD, FOOT = 14.0, 8.0  # mm that heading and footing take inside the margins
SCALES = (1.0, 0.5, 0.25, 0.2, 0.125, 0.1, 1 / 16, 0.05, 1 / 32, 0.025, 0.02, 0.01)
"""Scales that a rule reads: full size, 1:2, 1:4, 1:5, 1:8, 1:10, ..."""
UNMEASURED = tuple(sorted((*(n / 20 for n in range(20, 4, -1)), *SCALES), reverse=True))
"""Scales of what is told in numbers alone."""


@dataclass(frozen=True)
class Room:
    """A rectangle of a sheet: lower left corner and size, mm."""

    x: float
    y: float
    wide: float
    high: float


def room_of(paper: Paper) -> Room:
    """What heading and footing leave of a sheet."""
    m = paper.margin
    return Room(m, m + FOOT, paper.wide, paper.height - 2 * m - HEAD - FOOT)


def framed(product: Product, paper: Paper, sheet: Sheet, number: int, count: int) -> Iterator[Mark]:
    """Heading and footing of a sheet."""
    m, top, right = paper.margin, paper.height - paper.margin, paper.width - paper.margin
    name = fitted(product.project.name, paper.wide * 0.45, 2.5)
    yield Text(
        (m, top - 4.5), fitted(sheet.title, paper.wide * 0.52, 4.0, bold=True), 4.0, bold=True
    )
    yield Text((right, top - 4.5), name, 2.5, "right")
    yield Line((m, top - 8.0), (right, top - 8.0), "outline")
    yield Line((m, m + 5.0), (right, m + 5.0), "faint")
    yield Text((right, m), f"sheet {number} of {count}", 2.2, "right")
    fails = sum(finding.severity == "fails" for finding in product.findings)
    rounded = "Inches to the nearest 1/32. " * (product.project.unit == "inch")
    says = (
        f"DO NOT BUILD: {fails} finding{'s' * (fails > 1)} {'fail' if fails > 1 else 'fails'}; "
        "see the first sheet"
        if fails
        else f"{rounded}Check sizes on the wood before you cut. Eye protection; clamp the work."
    )
    yield Text((m, m), says, 2.2, bold=bool(fails))


def fitting(
    drawing: Drawing, wide: float, high: float, scales: Sequence[float] = SCALES
) -> Drawing:
    """The drawing at the largest scale, of a rule where no others are given, at which it fits.

    Its words keep their size. `wide` and `high` are mm of paper.
    """
    for scale in scales:
        tried = replace(drawing, scale=scale)
        (x0, y0), (x1, y1) = extent(tried)
        if x1 - x0 <= wide and y1 - y0 <= high:
            return tried
    return tried


def filling(picture: Drawing, wide: float, high: float) -> Drawing:
    """A picture without words, as large as the room allows (mm of paper); nobody measures it."""
    (x0, y0), (x1, y1) = extent(replace(picture, scale=1.0))
    return replace(picture, scale=min(wide / max(x1 - x0, 1.0), high / max(y1 - y0, 1.0)))


def centred(drawing: Drawing, room: Room) -> Placed:
    """The drawing in the middle of a room."""
    (x0, y0), (x1, y1) = extent(drawing)
    return Placed(
        drawing,
        (room.x + (room.wide - x0 - x1) / 2, room.y + (room.high - y0 - y1) / 2),
    )


def said_scale(scale: float) -> str:
    """`full size`, `1 : 4`."""
    return "full size" if scale == 1 else f"1 : {round(1 / scale)}"


def grid(room: Room, columns: int, rows: int, gap: float = 6.0) -> list[Room]:
    """A room shared out, row by row from the top left."""
    wide = (room.wide - gap * (columns - 1)) / columns
    high = (room.high - gap * (rows - 1)) / rows
    return [
        Room(room.x + c * (wide + gap), room.y + room.high - (r + 1) * high - r * gap, wide, high)
        for r in range(rows)
        for c in range(columns)
    ]


def lines(at: Point, says: Iterable[str], height: float = 2.5) -> Iterator[Text]:
    """Lines of text downward from a point, the first with its top there."""
    for number, line in enumerate(says):
        yield Text((at[0], at[1] - height - number * height * 1.7), line, height)


def pages_of(items: Sequence[T], each: int) -> Iterator[Sequence[T]]:
    """The items, so many to a page."""
    for start in range(0, len(items), each):
        yield items[start : start + each]
