"""Triangles and feature edges of one board's solid, grouped by the board's own faces."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ...models.board import Board

# Chord error in mm and turn between facets in radians. A counterbore of 4.8 mm gets 18 facets;
# at 0.1 rad pages grew threefold and looked the same at any zoom that shows a whole pocket.
CHORD_MM = 0.1
FACET_RAD = 0.35
ON_PLANE_MM = 1e-3


@dataclass(frozen=True)
class Mesh:
    """What the page draws of one distinct board, in the board's frame (mm).

    Attributes:
        points: (n, 3) float32; each face of the solid has its own, so that edges stay sharp.
        triangles: (m, 3) uint32, counter-clockwise seen from outside.
        groups: first triangle, number of triangles and side of the board, "" for a bore's wall.
        edges: (k, 2, 3) float32, the straight pieces of the feature edges.
    """

    points: NDArray[np.float32]
    triangles: NDArray[np.uint32]
    groups: tuple[tuple[int, int, str], ...]
    edges: NDArray[np.float32]

    def as_json(self) -> dict[str, Any]:
        """Little-endian arrays in base64, beside the groups."""
        return {
            "points": _packed(self.points, "<f4"),
            "triangles": _packed(self.triangles, "<u4"),
            "groups": [list(group) for group in self.groups],
            "edges": _packed(self.edges, "<f4"),
        }


def mesh_of(shape: Any, board: Board) -> Mesh:
    """Mesh a solid and say which of the board's faces each triangle lies on.

    Args:
        shape: a `TopoDS_Shape` in the board's frame; it is not changed.
        board: gives the planes and names of the faces.
    """
    from OCP.BRep import BRep_Tool
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE, TopAbs_REVERSED
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    # A mesh stays on the shape it was made for; a copy leaves other exporters' tolerances alone.
    copy = BRepBuilderAPI_Copy(shape, False, False).Shape()
    BRepMesh_IncrementalMesh(copy, CHORD_MM, False, FACET_RAD, False)
    planes = [(face.side, face.plane) for face in board.faces]
    planes += [(face.side, face.plane) for cut in board.cuts for face in cut.faces]

    points: list[NDArray[np.float64]] = []
    triangles: list[NDArray[np.int64]] = []
    groups: list[tuple[int, int, str]] = []
    edges: list[NDArray[np.float64]] = []
    drawn: set[int] = set()
    base = first = 0
    faces = TopExp_Explorer(copy, TopAbs_FACE)
    while faces.More():
        face = TopoDS.Face_s(faces.Current())
        faces.Next()
        place = TopLoc_Location()
        poly = BRep_Tool.Triangulation_s(face, place)
        if poly is None:
            continue
        move = place.Transformation()
        nodes = np.array(
            [poly.Node(i).Transformed(move).Coord() for i in range(1, poly.NbNodes() + 1)]
        )
        corners = np.array([poly.Triangle(i).Get() for i in range(1, poly.NbTriangles() + 1)]) - 1
        if face.Orientation() == TopAbs_REVERSED:
            corners = corners[:, ::-1]
        points.append(nodes)
        triangles.append(corners + base)
        groups.append((first, len(corners), _side(nodes, planes)))
        base += len(nodes)
        first += len(corners)

        around = TopExp_Explorer(face, TopAbs_EDGE)
        while around.More():
            edge = TopoDS.Edge_s(around.Current())
            around.Next()
            # The hash ignores orientation, so that an edge of two faces is drawn once.
            if BRep_Tool.Degenerated_s(edge) or BRep_Tool.IsClosed_s(edge, face):
                continue
            if hash(edge) in drawn:
                continue
            line = BRep_Tool.PolygonOnTriangulation_s(edge, poly, place)
            if line is None:
                continue
            drawn.add(hash(edge))
            run = nodes[[line.Node(i) - 1 for i in range(1, line.NbNodes() + 1)]]
            edges.append(np.stack([run[:-1], run[1:]], axis=1))
    return Mesh(
        np.concatenate(points).astype("<f4"),
        np.concatenate(triangles).astype("<u4"),
        tuple(groups),
        np.concatenate(edges).astype("<f4"),
    )


def _side(nodes: NDArray[np.float64], planes: list[tuple[str, Any]]) -> str:
    for side, plane in planes:
        if np.abs(nodes @ np.array(plane.normal) - plane.offset).max() < ON_PLANE_MM:
            return side
    return ""


def _packed(values: NDArray[Any], dtype: str) -> str:
    return base64.b64encode(np.ascontiguousarray(values, dtype=dtype).tobytes()).decode("ascii")
