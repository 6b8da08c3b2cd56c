"""The whole project as one binary glTF 2.0 file: metres, +Y up, one mesh per distinct part."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import trimesh
from trimesh.visual import TextureVisuals
from trimesh.visual.material import PBRMaterial

from ...models.maths.geometry import Array, Pose
from ...models.piece.groups import Key
from ..drawing.colours import SCREW, Colour, stock_colour
from ..solids.kernel import cq
from ..solids.meshing import Mesh
from ..solids.product import Product
from . import Writer

_METRES = 0.001
# The project's z is up; glTF's y is.
_UPRIGHT = np.array([[1.0, 0, 0, 0], [0, 0, 1, 0], [0, -1, 0, 0], [0, 0, 0, 1]])


def write(product: Product, folder: Path) -> None:
    """Write a node per board and screw; like ones share a mesh.

    No board is named with a colon, so no mesh of a screw takes the place of a board's.
    """
    project, solids = product.project, product.solids
    scene = trimesh.Scene()
    placed: list[tuple[str, Key, Pose]] = []
    named: dict[Key, str] = {}

    def add(key: Key, name: str, solid: cq.Shape, colour: Colour, metal: float) -> None:
        if key not in named:
            named[key] = name
            scene.geometry[name] = _mesh(name, solids.mesh(solid), colour, metal)

    for board in project.boards:
        key = solids.key_of[board.name]
        add(key, board.name, solids.shapes[key], stock_colour(board.stock), 0.0)
        placed.append((board.name, key, board.pose))
    for bore in project.bores:
        add(bore.screw, f"screw: {bore.screw.title}", solids.screws[bore.screw], SCREW, 0.9)
        placed.append((f"{bore.name} screw", bore.screw, solids.screw_pose(bore.name)))
    for name, key, pose in placed:
        scene.graph.update(  # type: ignore[no-untyped-call]
            frame_to=name, frame_from=scene.graph.base_frame, matrix=_matrix(pose),
            geometry=named[key],
        )  # fmt: skip
    data = scene.export(file_type="glb", include_normals=True)  # type: ignore[no-untyped-call]
    (folder / "assembly.glb").write_bytes(data)


def _mesh(name: str, mesh: Mesh, colour: Colour, metal: float) -> trimesh.Trimesh:
    material = PBRMaterial(  # type: ignore[no-untyped-call]
        name=name,
        baseColorFactor=[*(_linear(c) for c in colour), 1.0],
        metallicFactor=metal,
        roughnessFactor=0.35 if metal else 0.8,
    )
    return trimesh.Trimesh(
        mesh.points * _METRES, mesh.triangles, vertex_normals=mesh.normals, process=False,
        visual=TextureVisuals(material=material),  # type: ignore[no-untyped-call]
    )  # fmt: skip


def _linear(value: float) -> float:
    """One channel of sRGB made linear, as glTF's factors are (IEC 61966-2-1)."""
    return value / 12.92 if value <= 0.04045 else float(((value + 0.055) / 1.055) ** 2.4)


def _matrix(pose: Pose) -> Array:
    matrix = np.eye(4)
    matrix[:3, :3] = pose.matrix
    matrix[:3, 3] = np.array(pose.origin) * _METRES
    placed: Array = _UPRIGHT @ matrix
    return placed


# Named so that it comes after the STEP assembly: the memory that one took serves the meshes again.
WRITER = Writer(
    "glb-assembly", "assembly.glb", "the whole piece for any glTF 2.0 viewer", write, group="solids"
)
