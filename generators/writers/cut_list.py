"""cut-list.csv: the boards as a maker writes them down, like ones in one row."""

from __future__ import annotations

from pathlib import Path

from ..solids.product import Product
from ..telling.csvfile import write_csv
from ..telling.cut_list import COLUMNS, FILE, rows
from . import Writer


def write(product: Product, folder: Path) -> None:
    """Write the file."""
    write_csv(folder / FILE, COLUMNS, rows(product.project))


WRITER = Writer("cut list", FILE, "boards to cut, like ones together", write, COLUMNS)
