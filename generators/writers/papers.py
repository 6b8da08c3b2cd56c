"""papers.pdf: the printable set for the bench; every drawing in papers/ also as SVG and DXF."""

from __future__ import annotations

from pathlib import Path

from ..drawing.dxf import dxf
from ..drawing.pdf import pdf
from ..drawing.svg import svg
from ..papers import papers
from ..solids.product import Product
from . import Writer


def write(product: Product, folder: Path) -> None:
    """Write the files."""
    sheets = papers(product)
    (folder / "papers.pdf").write_bytes(pdf(sheets, product.project.name))
    drawings = folder / "papers"
    drawings.mkdir()
    for sheet in sheets:
        for placed in sheet.drawings:
            name = placed.drawing.name
            (drawings / f"{name}.svg").write_text(svg(placed.drawing), encoding="utf-8")
            (drawings / f"{name}.dxf").write_text(dxf(placed.drawing), encoding="utf-8")


WRITER = Writer(
    "papers",
    "papers.pdf, papers/NAME.svg, papers/NAME.dxf",
    "the printable set for the bench; every drawing by itself",
    write,
)
