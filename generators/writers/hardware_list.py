"""hardware.csv: what is bought besides wood."""

from __future__ import annotations

from ..telling.hardware_list import COLUMNS, FILE, rows
from . import listing

WRITER = listing("hardware list", FILE, "screws and what else is bought", COLUMNS, rows)
