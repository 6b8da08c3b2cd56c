"""A board's mesh as the page wants it: triangles grouped by the board's own faces."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ...models.piece.board import Board

if TYPE_CHECKING:
    from ..solids.kernel import cq
    from ..solids.meshing import Mesh

_ON_PLANE = 1e-3  # mm
_PARALLEL = 1e-6
_MOST_SHORT = 65_535  # points that 16 bits can count; what is left over marks a gap in WebGL
# Coarser than the files for a machine: 18 facets to a hole, for the kernel halves the turn; the
# shading is smooth anyway.
_CHORD_MM, _FACET_RAD = 0.1, 0.7


def shape_json(solid: cq.Shape, board: Board) -> dict[str, Any]:
    """Points, triangles and edges in base64, and which of them lie on which face.

    Args:
        solid: of the board, in the board's frame.
        board: gives the planes of the faces.

    Returns:
        `points` (float32), and as rows of them `triangles` and `edges` (uint16, or uint32 if
        `wide`), little-endian;
        `groups`, a list of first triangle, number of triangles and side, "" for the wall of a bore.
    """
    from ..solids.meshing import mesh_of  # it needs the kernel

    mesh = mesh_of(solid, _CHORD_MM, _FACET_RAD)
    side_of = sides(mesh, board)
    names = [*dict.fromkeys(side_of)]
    rank = {name: i for i, name in enumerate(names)}
    order = np.argsort([rank[name] for name in side_of], kind="stable")
    groups, first = [], 0
    wide = len(mesh.points) > _MOST_SHORT
    whole = "<u4" if wide else "<u2"
    for name in names:
        count = side_of.count(name)
        groups.append([first, count, name])
        first += count
    return {
        "points": _packed(mesh.points, "<f4"),
        "triangles": _packed(mesh.triangles[order], whole),
        "wide": wide,
        "groups": groups,
        "edges": _packed(mesh.edges, whole),
    }


def sides(mesh: Mesh, board: Board) -> list[str]:
    """The side of the board that each triangle lies on, "" for none."""
    flat = [cut for cut in board.cuts if cut.round is None]
    faces = [*board.faces, *(face for cut in flat for face in cut.faces)]
    normals = np.array([face.plane.normal for face in faces])
    offsets = np.array([face.plane.offset for face in faces])
    corners = mesh.points[mesh.triangles]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    across /= np.linalg.norm(across, axis=1, keepdims=True)
    on = (np.abs(corners @ normals.T - offsets) < _ON_PLANE).all(axis=1)
    on &= np.abs(np.abs(across @ normals.T) - 1) < _PARALLEL
    found = [faces[int(row.argmax())].side if row.any() else "" for row in on]
    for cut in board.cuts:
        if cut.round is not None:
            off = np.cross(corners - np.array(cut.round.point), np.array(cut.round.axis))
            round_ = np.abs(np.linalg.norm(off, axis=2) - cut.round.radius) < _ON_PLANE
            for i in np.flatnonzero(round_.all(axis=1)):
                found[i] = found[i] or cut.left[0].side
    return found


def _packed(values: NDArray[Any], dtype: str) -> str:
    return base64.b64encode(np.ascontiguousarray(values, dtype=dtype).tobytes()).decode("ascii")
