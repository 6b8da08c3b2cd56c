"""aids/: drill guides, spacers, braces, plugs as STEP and STL, and a page that says what for."""

from __future__ import annotations

from pathlib import Path

from ..aids import aids
from ..drawing.colours import SCREW
from ..solids.meshing import mesh_of
from ..solids.product import Product
from ..solids.step import Part, write_part
from ..telling.cautions import CAUTIONS
from . import Writer
from .parts_stl import stl_bytes

FILE = "what they are for.txt"


def write(product: Product, folder: Path) -> None:
    """Write the files."""
    home = folder / "aids"
    home.mkdir()
    said = []
    for aid in aids(product.project):
        write_part(home / f"{aid.name}.step", Part(aid.name, aid.solid, SCREW))
        (home / f"{aid.name}.stl").write_bytes(stl_bytes(mesh_of(aid.solid)))
        said.append(f"{aid.name}\n    {aid.about}")
    text = "\n\n".join([*said, "Before you begin", *CAUTIONS])
    (home / FILE).write_text(text + "\n", encoding="utf-8")


WRITER = Writer(
    "aids",
    "aids/NAME.step, aids/NAME.stl, aids/what they are for.txt",
    "drill guides, spacers, braces and plugs to print",
    write,
)
