"""hardware.csv: what is bought besides wood."""

from __future__ import annotations

from pathlib import Path

from ..solids.product import Product
from ..telling.csvfile import write_csv
from ..telling.hardware_list import COLUMNS, FILE, rows
from . import Writer


def write(product: Product, folder: Path) -> None:
    """Write the file."""
    write_csv(folder / FILE, COLUMNS, rows(product.project))


WRITER = Writer("hardware list", FILE, "screws and what else is bought", write, COLUMNS)
