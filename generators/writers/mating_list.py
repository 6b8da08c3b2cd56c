"""mating-lines.csv: where each board comes to another."""

from __future__ import annotations

from ..telling.mating_list import COLUMNS, FILE, rows
from . import listing

WRITER = listing(
    "mating lines", FILE, "the lines to draw where one board comes to another", COLUMNS, rows
)
