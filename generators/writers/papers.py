"""papers.pdf: the printable set for the bench; every drawing in papers/ also as SVG and DXF."""

from __future__ import annotations

from pathlib import Path

from ..drawing.dxf import dxf
from ..drawing.pdf import pdf
from ..drawing.svg import svg
from ..papers import papers
from ..solids.product import Product
from . import Writer

_LONGEST = 200  # bytes; file systems take 255, and there is an ending


def write(product: Product, folder: Path) -> None:
    """Write the files."""
    sheets = papers(product)
    (folder / "papers.pdf").write_bytes(pdf(sheets, product.project.name))
    drawings = folder / "papers"
    drawings.mkdir()
    drawn = [placed.drawing for sheet in sheets for placed in sheet.drawings]
    for number, drawing in enumerate(drawn, start=1):
        name = _file_name(drawing.name, number)
        (drawings / f"{name}.svg").write_text(svg(drawing), encoding="utf-8")
        (drawings / f"{name}.dxf").write_text(dxf(drawing), encoding="utf-8")


def _file_name(name: str, number: int) -> str:
    """A drawing's name; one that is too long for a file system is cut, and numbered."""
    data = name.encode("utf-8")
    if len(data) <= _LONGEST:
        return name
    return f"{data[:_LONGEST].decode('utf-8', 'ignore')}, {number}"


WRITER = Writer(
    "papers",
    "papers.pdf, papers/NAME.svg, papers/NAME.dxf",
    "the printable set for the bench; every drawing by itself",
    write,
)
