"""cut-list.csv: the boards as a maker writes them down, like ones in one row."""

from __future__ import annotations

from ..telling.cut_list import COLUMNS, FILE, rows
from . import listing

WRITER = listing("cut list", FILE, "boards to cut, like ones together", COLUMNS, rows)
