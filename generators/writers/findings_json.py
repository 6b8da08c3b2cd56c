"""findings.json: what was checked, what was found, and where each pocket goes, for programs."""

from __future__ import annotations

from pathlib import Path

from ..solids.product import Product
from ..telling.document import document, to_json
from . import Writer

FILE = "findings.json"


def write(product: Product, folder: Path) -> None:
    """Write the file."""
    text = to_json(document(product.project, product.findings, product.stopped, product.causes))
    (folder / FILE).write_text(text, encoding="utf-8", newline="\n")


WRITER = Writer("findings", FILE, "verdict, findings and placements as JSON", write)
