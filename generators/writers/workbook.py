"""lists.xlsx: the lists as sheets of a workbook; headings.txt: what stands under their headings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..solids.product import Product
from ..solids.step import time_stamp
from ..telling.csvfile import Cell, Column, headings
from . import Writer, writers

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook

FIRST = "headings"
# What a maker reaches for first; lists that are not named here follow by name.
_ORDER = ("cut list", "wood list", "pockets", "hardware list", "order", "mating lines")
_WIDEST = 60  # characters of a column


def write(product: Product, folder: Path) -> None:
    """Write the files: every list as one sheet, numbers as numbers, text as text."""
    from xlsxwriter.workbook import Workbook

    lists = sorted((w for w in writers() if w.rows), key=_rank)
    (folder / "headings.txt").write_text(_headings(lists), encoding="utf-8")
    # Text is never taken for a formula, a number or an address; dates are fixed.
    options = {f"strings_to_{kind}": False for kind in ("formulas", "numbers", "urls")}
    book = Workbook(str(folder / "lists.xlsx"), {**options, "in_memory": True})
    book.set_properties(
        {"title": product.project.name, "created": datetime.fromisoformat(time_stamp())}
    )
    bold = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    _sheet(book, bold, FIRST, _ABOUT, [(w, c) for w in lists for c in w.columns])
    for writer in lists:
        assert writer.rows is not None
        _sheet(book, bold, writer.name, writer.columns, writer.rows(product.project))
    book.close()


def _rank(writer: Writer) -> tuple[int, str]:
    known = writer.name in _ORDER
    return (_ORDER.index(writer.name) if known else len(_ORDER), writer.name)


_ABOUT: tuple[Column[tuple[Writer, Column[Any]]], ...] = (
    Column("sheet", "", lambda row: row[0].name),
    Column("file", "", lambda row: row[0].files),
    Column("heading", "", lambda row: row[1].name),
    Column("what stands under it", "", lambda row: row[1].about),
)


def _sheet(
    book: Workbook, bold: Format, name: str, columns: Sequence[Column[Any]], rows: Iterable[Any]
) -> None:
    """One sheet: its headings stay in sight, its columns are as wide as what they hold."""
    sheet = book.add_worksheet(name)
    sheet.freeze_panes(1, 1)
    cells = [[column.cell(row) for column in columns] for row in rows]
    for c, column in enumerate(columns):
        sheet.write_string(0, c, column.name, bold)
        number = book.add_format({"num_format": _number(column.decimals)})
        widest = len(column.name)
        for r, line in enumerate(cells, start=1):
            widest = max(widest, len(str(line[c])))
            _write(sheet, r, c, line[c], number)
        sheet.set_column(c, c, min(widest + 2, _WIDEST))
    sheet.autofilter(0, 0, max(1, len(cells)), len(columns) - 1)


def _write(sheet: Any, row: int, column: int, cell: Cell, number: Format) -> None:
    if isinstance(cell, float):
        sheet.write_number(row, column, cell + 0.0, number)
    elif isinstance(cell, int):
        sheet.write_number(row, column, cell)
    elif cell:
        sheet.write_string(row, column, cell)


def _number(decimals: int) -> str:
    return f"0.{'0' * decimals}" if decimals else "0"


def _headings(lists: Iterable[Writer]) -> str:
    """What stands under every heading of every list, as text."""
    lines = []
    for writer in lists:
        lines += [writer.files, "", *headings(writer.columns), ""]
    lines += [
        "Lists are in UTF-8 with a mark in front by which a spreadsheet knows it, with commas",
        "between cells and a point before decimals. A spreadsheet that writes a comma before",
        "decimals is better given lists.xlsx, where numbers are numbers in every language.",
        "Text that a spreadsheet would take for a formula has an apostrophe in front.",
    ]
    return "\n".join([*lines, ""])


WRITER = Writer(
    "workbook",
    "lists.xlsx, headings.txt",
    "the lists as sheets of a workbook, and what stands under their headings",
    write,
    group="lists",
)
