"""wood.csv: how much wood to buy, by stock and in all."""

from __future__ import annotations

from ..cutting.wood_list import COLUMNS, FILE, rows
from . import listing

WRITER = listing("wood list", FILE, "how much wood to ask for", COLUMNS, rows)
