"""Which faces of a solid lie on which face of its board."""

from __future__ import annotations

from .kernel import cq  # first, for it says what is missing where the kernel does not load

# isort: split
import math

from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.GeomAbs import GeomAbs_Cylinder, GeomAbs_Plane
from OCP.TopAbs import TopAbs_REVERSED

from ...models.maths.geometry import Plane, Vec, cross, dot
from ...models.piece.board import Board, Cut, Face, Round

_ON_PLANE = 1e-6  # mm; ten times the kernel's tolerance
_PARALLEL = 1e-9


def outward_faces(board: Board) -> tuple[tuple[Face, Cut | None], ...]:
    """Every flat face of the board with the cut it belongs to; all planes turned outward."""
    found: list[tuple[Face, Cut | None]] = [(face, None) for face in board.faces]
    for cut in board.cuts:
        for face in cut.left:
            found.append((Face(face.side, face.name, face.plane.flipped, face.seen), cut))
    return tuple(found)


def faces_of(solid: cq.Shape, plane: Plane, within: Cut | None = None) -> tuple[cq.Face, ...]:
    """The flat faces of a solid that lie on an outward plane, or the round ones of a round cut.

    Args:
        solid: in the frame of `plane`.
        plane: outward.
        within: only faces whose corners all lie in the region of this cut.
    """
    found = []
    if within is not None and within.round is not None:
        return tuple(face for face in solid.Faces() if _is_round(face, within.round))
    for face in solid.Faces():
        flat = face_plane(face)
        if flat is None or dot(flat.normal, plane.normal) < 1 - _PARALLEL:
            continue
        if within is None and flat.normal == plane.normal:
            if abs(flat.offset - plane.offset) <= _ON_PLANE:
                found.append(face)
            continue
        corners: list[Vec] = [v.toTuple() for v in face.Vertices()]
        if any(abs(plane.gap(p)) > _ON_PLANE for p in corners):
            continue
        if within is not None and any(
            side.plane.gap(p) < -_ON_PLANE for side in within.faces for p in corners
        ):
            continue
        found.append(face)
    return tuple(found)


def _is_round(face: cq.Face, curve: Round) -> bool:
    surface = BRepAdaptor_Surface(face.wrapped)
    if surface.GetType() != GeomAbs_Cylinder:
        return False
    found = surface.Cylinder()
    place, way = found.Axis().Location(), found.Axis().Direction()
    off = math.hypot(*curve.off((place.X(), place.Y(), place.Z())))
    turned = math.hypot(*cross((way.X(), way.Y(), way.Z()), curve.axis))
    return bool(max(off, turned, abs(found.Radius() - curve.radius)) <= _ON_PLANE)


def face_plane(face: cq.Face) -> Plane | None:
    """The outward plane of a flat face; None for a round one."""
    surface = BRepAdaptor_Surface(face.wrapped)
    if surface.GetType() != GeomAbs_Plane:
        return None
    flat = surface.Plane()
    axis, place = flat.Axis().Direction(), flat.Location()
    sign = -1.0 if face.wrapped.Orientation() == TopAbs_REVERSED else 1.0
    if not flat.Direct():
        sign = -sign
    normal = (sign * axis.X(), sign * axis.Y(), sign * axis.Z())
    return Plane(normal, dot(normal, (place.X(), place.Y(), place.Z())))
