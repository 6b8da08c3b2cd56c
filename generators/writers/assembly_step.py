"""The whole project as one STEP assembly, with its screws."""

from __future__ import annotations

from pathlib import Path

from ...models.piece.groups import Key
from ..drawing.colours import SCREW, stock_colour
from ..solids.product import Product
from ..solids.step import Part, Placed, write_assembly
from . import Writer


def write(product: Product, folder: Path) -> None:
    """Write one product per distinct board and screw, each board and screw an occurrence."""
    project, solids = product.project, product.solids
    parts: dict[Key, Part] = {}
    placed = []
    for board in project.boards:
        key = solids.key_of[board.name]
        if key not in parts:
            parts[key] = Part(board.name, solids.shapes[key], stock_colour(board.stock))
        placed.append(Placed(board.name, key, board.pose))
    for bore in project.bores:
        parts.setdefault(bore.screw, Part(bore.screw.title, solids.screws[bore.screw], SCREW))
        placed.append(Placed(f"{bore.name} screw", bore.screw, solids.screw_pose(bore.name)))
    write_assembly(folder / "assembly.step", project.name, parts, placed)


WRITER = Writer(
    "assembly-step",
    "assembly.step",
    "all boards and screws in place, named and coloured",
    write,
    group="solids",
)
