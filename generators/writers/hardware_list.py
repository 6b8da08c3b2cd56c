"""hardware.csv: what is bought besides solid wood."""

from __future__ import annotations

from collections.abc import Iterator

from ...models.piece.project import Project
from ...models.wood.tables import sheet_of
from ...models.words.lengths import format_length
from ..cutting.material import sheets_to_buy
from ..telling.hardware_list import COLUMNS, FILE, Row
from ..telling.hardware_list import rows as fixings
from . import listing


def rows(project: Project) -> Iterator[Row]:
    """Screws and all that goes with them, then sheet goods by the sheet."""
    yield from fixings(project)
    for stock, count, plan in sheets_to_buy(project):
        size = " x ".join(format_length(side, project.unit) for side in sheet_of(stock))
        pieces = dict.fromkeys(board.piece for board in project.boards if board.stock == stock)
        yield Row("sheet", stock.title, f"{size}, {plan}", count, count, "; ".join(pieces))


WRITER = listing("hardware list", FILE, "screws, sheets and what else is bought", COLUMNS, rows)
