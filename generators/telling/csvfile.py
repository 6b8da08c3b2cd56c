"""Lists as CSV files (RFC 4180, LF): columns that say what they hold, and their rows.

They are in UTF-8 with the mark in front by which a spreadsheet knows it.
"""

from __future__ import annotations

import csv
import textwrap
import unicodedata
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

R = TypeVar("R")
Cell = str | int | float

_FORMULA = ("=", "+", "-", "@", "\u2212")  # the last one is the minus sign
_WIDTH = 96  # characters of a line of text
_CONTROL = ("\t", "\r", "\n")


@dataclass(frozen=True)
class Column(Generic[R]):
    """One column of a list.

    Attributes:
        name: its heading, with the unit at the end (`_mm`, `_deg`) where it has one.
        about: what it holds, for a reader.
        cell: the value for one row.
        decimals: of a float.
    """

    name: str
    about: str
    cell: Callable[[R], Cell]
    decimals: int = 2


def headings(columns: Iterable[Column[R]]) -> list[str]:
    """What stands under each heading, as lines of text."""
    return [
        line
        for column in columns
        for line in textwrap.wrap(
            f"{column.name}: {' '.join(column.about.split())}",
            _WIDTH, initial_indent="    ", subsequent_indent="        ",
        )
    ]  # fmt: skip


def write_csv(path: Path, columns: Sequence[Column[R]], rows: Iterable[R]) -> None:
    """Write a list.

    Text that a spreadsheet would take for a formula (a name such as `=1+1`) gets an apostrophe in
    front, which a spreadsheet shows as plain text; numbers are never touched.

    Raises:
        OSError: the file cannot be written.
    """
    with path.open("w", encoding="utf-8-sig", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow([column.name for column in columns])
        for row in rows:
            writer.writerow([_text(column.cell(row), column.decimals) for column in columns])


def _text(cell: Cell, decimals: int) -> str:
    if isinstance(cell, float):
        text = f"{cell:.{decimals}f}"
        return text.removeprefix("-") if float(text) == 0 else text
    return f"'{cell}" if isinstance(cell, str) and _is_formula(cell) else str(cell)


def _is_formula(text: str) -> bool:
    """Whether a spreadsheet might reckon with a text: blanks and the width of signs aside."""
    start = unicodedata.normalize("NFKC", text.lstrip()[:1])[:1]
    return text[:1] in _CONTROL or start in _FORMULA
