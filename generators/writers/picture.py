"""Four views of the piece on one sheet, drawn without a display: front, back, through, apart."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from ctypes.util import find_library
from dataclasses import replace
from pathlib import Path
from typing import Any, TypedDict

import numpy as np

from ...models.maths.geometry import Array, Pose, Vec, along
from ...models.piece.board import Board
from ...models.piece.groups import Key
from ..drawing.colours import SCREW, Colour, stock_colour
from ..drawing.wood import PLAIN, grain, seed
from ..page.apart import fully_apart, travel
from ..page.mesh import sides
from ..solids.faces import faces_of
from ..solids.kernel import cq
from ..solids.product import Product
from ..solids.solids import blank_corners
from . import NotWritten, Writer

_SECONDS = 120
# A piece this much flatter than its next extent is looked at square to its flat side.
_FLAT = 0.25


class Look(TypedDict):
    """How a part is drawn."""

    colour: Colour
    metal: bool
    grain: float
    seed: tuple[float, float, float]


def write(product: Product, folder: Path) -> None:
    """Write preview.png.

    Raises:
        NotWritten: the machine cannot draw.
    """
    environment = dict(os.environ)
    trouble = _choose_driver(environment)
    if not trouble:
        with tempfile.TemporaryDirectory() as scratch:
            scene, picture = Path(scratch, "scene.npz"), Path(scratch, "picture.png")
            np.savez(scene, **scene_arrays(product))
            trouble = _draw(scene, picture, environment)
            if not trouble:  # it could not write to a path that is not UTF-8
                shutil.copyfile(picture, folder / "preview.png")
    if trouble:
        raise NotWritten(f"preview.png was not drawn: {trouble}")


def _choose_driver(environment: dict[str, str]) -> str:
    """Set the kind of window that draws offscreen; what is missing, or "" when all is there."""
    if not sys.platform.startswith("linux"):
        return ""
    if find_library("EGL"):
        environment["VTK_DEFAULT_OPENGL_WINDOW"] = "vtkEGLRenderWindow"
    elif find_library("OSMesa"):
        environment["VTK_DEFAULT_OPENGL_WINDOW"] = "vtkOSOpenGLRenderWindow"
    elif not environment.get("DISPLAY"):
        return (
            "the system libraries libEGL.so.1 and libOSMesa are missing; on Debian or Ubuntu: "
            "sudo apt-get install libegl1 libegl-mesa0 libgl1-mesa-dri"
        )
    return ""


def _draw(scene: Path, picture: Path, environment: dict[str, str]) -> str:
    # -P: a folder of the user's that happens to be called slantbore must not be imported.
    command = [
        sys.executable,
        "-P",
        "-m",
        "slantbore.generators.drawing.render",
        str(scene),
        str(picture),
    ]
    try:
        done = subprocess.run(
            command, env=environment, capture_output=True, text=True, errors="replace",
            timeout=_SECONDS, check=False,
        )  # fmt: skip
    except (OSError, subprocess.TimeoutExpired) as error:
        return str(error)
    if done.returncode == 0 and picture.is_file():
        return ""
    last = done.stderr.strip().splitlines()[-1:] or ["no OpenGL driver"]
    return f"the drawing process ended with status {done.returncode}: {last[0]}"


def scene_arrays(product: Product) -> dict[str, Any]:
    """What the drawing process needs: meshes of distinct shapes, placements and views."""
    project, solids = product.project, product.solids
    arrays: dict[str, Any] = {}
    numbers: dict[Key, str] = {}
    parts: list[dict[str, Any]] = []
    away = fully_apart(project)

    def add(key: Key, solid: cq.Shape, board: Board, look: Look, pose: Pose, move: Vec) -> None:
        if key not in numbers:
            numbers[key] = str(len(numbers))
            mesh = solids.mesh(solid)
            for kind in ("points", "triangles", "normals", "edges"):
                arrays[f"{kind}-{numbers[key]}"] = getattr(mesh, kind)
            bored = [not look["metal"] and side == "" for side in sides(mesh, board)]
            arrays[f"bored-{numbers[key]}"] = np.array(bored)
        parts.append(
            {
                "shape": numbers[key],
                **look,
                "matrix": _matrix(pose),
                "apart": _matrix(replace(pose, origin=along(pose.origin, move, 1.0))),
            }
        )

    for board in project.boards:
        key = solids.key_of[board.name]
        look: Look = {
            "colour": stock_colour(board.stock), "metal": False, "grain": grain(board),
            "seed": seed(board),
        }  # fmt: skip
        add(key, solids.shapes[key], board, look, board.pose, away[board.name])
    for bore in project.bores:
        board, screw = project.board_named[bore.board], solids.screws[bore.screw]
        out = along(away[board.name], board.pose.direction(bore.back), travel(project, bore))
        look = {"colour": SCREW, "metal": True, "grain": PLAIN, "seed": (0.0, 0.0, 0.0)}
        add(bore.screw, screw, board, look, solids.screw_pose(bore.name), out)
    about = {"parts": parts, "views": views(product)}
    arrays["about"] = np.frombuffer(json.dumps(about).encode(), dtype=np.uint8)
    return arrays


def _matrix(pose: Pose) -> list[list[float]]:
    matrix = np.eye(4)
    matrix[:3, :3], matrix[:3, 3] = pose.matrix, pose.origin
    rows: list[list[float]] = matrix.tolist()
    return rows


def views(product: Product) -> list[dict[str, Any]]:
    """Front, back, see-through and apart: a flat piece square to its flat side, others cornerwise.

    A flat piece comes apart as seen from the back, where its pockets are.

    The front of a flat piece is the side with more of its faces that show; otherwise it is
    towards -y, as the pieces stand.
    """
    project = product.project
    corners = np.concatenate(
        [blank_corners(b) @ b.pose.matrix.T + np.array(b.pose.origin) for b in project.boards]
    )
    extent = corners.max(axis=0) - corners.min(axis=0)
    thin = int(np.argmin(extent))
    flat = extent[thin] < _FLAT * np.sort(extent)[1]
    axis: Array = np.eye(3)[thin if flat else 1]
    up: Array = np.eye(3)[1 if flat and thin == 2 else 2]
    front = axis if flat and _shown(product, axis) > 0 else -axis
    found = []
    for title, outward, glass, apart in (
        ("front", front, False, False),
        ("back", -front, False, False),
        ("see through", front, True, False),
        ("taken apart", -front if flat else front, False, True),
    ):
        right = np.cross(up, outward)
        sideways, upward = (0.16, 0.24) if flat else (0.62, 0.52)
        eye = outward + sideways * right + upward * up
        found.append(
            {
                "title": f"{project.name}, {title}",
                "towards": (-eye).tolist(),
                "up": up.tolist(),
                "glass": glass,
                "apart": apart,
            }
        )
    return found


def _shown(product: Product, axis: Array) -> float:
    """Area that shows towards an axis less what shows the other way (mm2)."""
    total = 0.0
    for board in product.project.boards:
        solid = product.solids.own_solid(board.name)
        for face in board.faces:
            normal: Vec = board.pose.direction(face.plane.normal)
            along = float(np.dot(normal, axis))
            if face.seen == "exposed" and abs(along) > 1e-6:
                total += along * sum(part.Area() for part in faces_of(solid, face.plane))
    return total


WRITER = Writer(
    "picture",
    "preview.png",
    "the piece from the front and the back, see-through and taken apart",
    write,
)
