"""order.csv: the order of assembly."""

from __future__ import annotations

from ..telling.order_list import COLUMNS, FILE, rows
from . import listing

WRITER = listing("order", FILE, "the order of assembly, step by step", COLUMNS, rows)
