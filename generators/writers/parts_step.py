"""One STEP file per distinct board, in the board's own frame."""

from __future__ import annotations

from pathlib import Path

from ...models.piece.groups import groups
from ..drawing.colours import stock_colour
from ..solids.product import Product
from ..solids.step import Part, write_part
from . import Writer


def write(product: Product, folder: Path) -> None:
    """Write a file for each group of like boards, named after the first of them."""
    parts = folder / "parts"
    parts.mkdir(exist_ok=True)
    for board, *_ in groups(product.project):
        solid = product.solids.own_solid(board.name)
        part = Part(board.name, solid, stock_colour(board.stock))
        write_part(parts / f"{board.name}.step", part)


WRITER = Writer(
    "parts-step", "parts/NAME.step", "each distinct board as an exact solid", write, group="solids"
)
