"""`preview.html`: the piece in 3D with its findings and boards, one file, no network."""

from __future__ import annotations

from pathlib import Path

from ..page.assemble import built_scene
from ..page.page_file import page
from ..page.three_source import ThreeSourceError
from ..solids.product import Product
from . import NotWritten, Writer

FILE = "preview.html"


def _write(product: Product, folder: Path) -> None:
    scene = built_scene(product.words, product.solids)
    try:
        text = page(scene)
    except ThreeSourceError as error:
        raise NotWritten(f"{FILE} was not written: {error}") from None
    (folder / FILE).write_bytes(text.encode("utf-8"))


WRITER = Writer(
    name="page",
    files=FILE,
    about="the piece in 3D with findings, boards and marking-out distances; opens anywhere",
    write=_write,
)
