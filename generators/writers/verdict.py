"""verdict.txt: what fails and what to watch, where each pocket goes, the order of assembly."""

from __future__ import annotations

from pathlib import Path

from ..solids.product import Product
from ..telling.printed import VERDICT, WAYS, Told, full, opening, plain
from . import Writer


def write(product: Product, folder: Path) -> None:
    """Write the file."""
    told = Told(product.project, product.findings, product.causes, WAYS, product.stopped)
    text = plain([*opening(told.project, told.findings), *full(told)])
    (folder / VERDICT).write_text(text, encoding="utf-8", newline="\n")


WRITER = Writer("verdict", VERDICT, "verdict, pockets and order of assembly to read", write)
