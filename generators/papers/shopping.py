"""The shopping list: wood by the board, sheets, screws, and whatever else is bought."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from ...models.piece.project import Project
from ...models.wood.tables import sheet_of
from ...models.words.lengths import Unit, nearest_length
from ..cutting.material import Material, materials, sheets_to_buy
from ..cutting.wood_list import rows as wood_rows
from ..drawing.fonts import wrapped, wrapped_rows
from ..drawing.marks import Mark, Sheet, Table, Text
from ..solids.product import Product
from ..telling.hardware_list import rows as hardware_rows
from . import Pages
from .frame import pages_of, room_of
from .paper import Paper

_HEIGHT = 2.3
_ROWS = 44

Line = tuple[str, str, str]


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """As many sheets as the list takes."""
    room, unit, cutting = room_of(paper), product.project.unit, product.project.cutting
    found = list(_sheets(product.project))
    found += [line for one in materials(product.project) for line in _wood(one, unit)]
    for wood in wood_rows(product.project):
        if not wood.sheet:
            found.append(("", wood.title, f"together {wood.amount(cutting.waste)}, waste added"))
    for row in hardware_rows(product.project):
        found.append((str(row.to_buy), row.item, row.detail))
    widths = (0.12 * room.wide, 0.46 * room.wide, 0.42 * room.wide)
    told = list(wrapped_rows(found, widths, _HEIGHT))
    for page in pages_of(told, _ROWS):
        table = Table(
            (room.x, room.y + room.high), widths, ("buy", "what", "which"), tuple(page), _HEIGHT
        )
        note = (
            "Wood to buy is what the cutting plans take. Where boards come in other widths, ask "
            f"by volume: {round(100 * cutting.waste)} % are added for waste."
        )
        marks: list[Mark] = [table]
        below = room.y + room.high - table.depth - 5.0
        for number, line in enumerate(wrapped(note, room.wide, _HEIGHT)):
            marks.append(Text((room.x, below - 4.0 * number), line, _HEIGHT))
        yield Sheet("Shopping list", paper.width, paper.height, tuple(marks))


def _sheets(project: Project) -> Iterator[Line]:
    for stock, count, plan in sheets_to_buy(project):
        long, wide = (nearest_length(side, project.unit) for side in sheet_of(stock))
        yield str(count), stock.title, f"sheet {wide} x {long}, {plan}"


def _wood(one: Material, unit: Unit) -> Iterator[Line]:
    thick = nearest_length(one.stock.thickness, unit)
    for strip in one.strips:
        for length, count in sorted(Counter(b.length for b in strip.plan.boards).items()):
            wide = nearest_length(strip.width, unit)
            said = f"board {wide} wide, {nearest_length(length, unit)} long"
            yield str(count), f"{one.stock.title}, {thick} thick", said
    for board in one.left_out:
        yield (
            "1",
            f"{one.stock.title}: {board.name}",
            "larger than what is sold: ask for it",
        )


PAGES = Pages("Shopping list", 10, make)
