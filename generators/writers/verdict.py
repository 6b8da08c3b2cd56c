"""verdict.txt: what fails and what to watch, where each pocket goes, the order of assembly."""

from __future__ import annotations

from pathlib import Path

from ..solids.product import Product
from ..telling.printed import VERDICT, full, opening, plain
from . import Writer


def write(product: Product, folder: Path) -> None:
    """Write the file."""
    text = plain([*opening(product.project, product.findings), *full(product.words)])
    (folder / VERDICT).write_text(text, encoding="utf-8", newline="\n")


WRITER = Writer("verdict", VERDICT, "verdict, pockets and order of assembly to read", write)
