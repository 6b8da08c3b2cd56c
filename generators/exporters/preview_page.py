"""`preview.html`: the piece in 3D with its findings and boards, one file, no network."""

from __future__ import annotations

from pathlib import Path

from ..preview.assemble import product_scene
from ..preview.page_file import page
from . import Exporter, Product

FILE = "preview.html"


def _write(product: Product, folder: Path) -> None:
    (folder / FILE).write_bytes(page(product_scene(product)).encode("utf-8"))


EXPORTER = Exporter(
    name="preview page",
    files=FILE,
    about="the piece in 3D with findings, boards and marking-out distances; opens anywhere",
    write=_write,
)
