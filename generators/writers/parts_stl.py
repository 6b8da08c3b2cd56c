"""One binary STL file per distinct board, in the board's own frame, in millimetres."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from ...models.piece.groups import groups
from ..solids.meshing import Mesh
from ..solids.product import Product
from . import Writer

_FACET = np.dtype(
    [("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")]
)  # 50 bytes, without padding
_HEADER = b"slantbore; unit: millimetre".ljust(80)  # must not begin with "solid"


def stl_bytes(mesh: Mesh) -> bytes:
    """A mesh as a binary STL file: 80 bytes, the number of facets, 50 bytes per facet."""
    corners = mesh.points[mesh.triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normals, axis=1, keepdims=True)
    facets = np.zeros(len(corners), dtype=_FACET)
    facets["normal"] = normals / np.where(size > 0, size, 1.0)
    facets["corners"] = corners
    return _HEADER + len(facets).to_bytes(4, "little") + facets.tobytes()


def write(product: Product, folder: Path) -> None:
    """Write a file for each group of like boards, named after the first of them."""
    parts = folder / "parts"
    parts.mkdir(exist_ok=True)
    for board, *_ in groups(product.project):
        mesh = product.solids.mesh(product.solids.own_solid(board.name))
        (parts / f"{board.name}.stl").write_bytes(stl_bytes(mesh))


WRITER = Writer(
    "parts-stl",
    "parts/NAME.stl",
    "each distinct board as a watertight mesh, in mm",
    write,
    group="solids",
)
