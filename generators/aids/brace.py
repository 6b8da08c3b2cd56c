"""A brace for the corner of a frame: it holds the frame's own angle while the joint is driven."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ...models.maths.geometry import Plane, dot
from ...models.piece.project import Joint, Project
from ..solids.kernel import cq
from ..solids.solids import one_solid, polytope
from . import Aid, Aids

_LEG, _THICK = 110.0, 18.0  # mm: common practice, no source
_CLAMP, _WALL = 13.0, 8.0  # mm: radius of the holes that clamps reach through; wood beside them
_KINDS = ("mitre", "box")


def make(project: Project) -> Iterator[Aid]:
    """One for each angle that a mitred or boxed corner has."""
    angles = {
        round(inside_angle(project, joint), 3) for joint in project.joints if joint.kind in _KINDS
    }
    for angle in sorted(angles):
        about = (
            f"Holds a corner at {angle:g} degrees: clamp both boards against its long sides while "
            "the screws are driven. The tip is cut off for the joint's own corner."
        )
        yield Aid(f"corner brace {angle:g} degrees", brace(angle), about)


def inside_angle(project: Project, joint: Joint) -> float:
    """The angle between the inner sides of two boards that make a corner, degrees."""
    first, second = project.board_named[joint.first], project.board_named[joint.second]
    if joint.kind == "mitre":
        plane = first.face(joint.first_face).plane
        lean = abs(dot(plane.normal, (1.0, 0.0, 0.0)))
        return 180.0 - 2 * math.degrees(math.acos(min(1.0, lean)))
    cosine = dot(first.pose.x, second.pose.direction(second.face(joint.second_face).plane.normal))
    return math.degrees(math.acos(min(1.0, abs(cosine)))) + 90.0


def brace(angle: float) -> cq.Solid:
    """A triangle with the angle at its tip, the tip cut off; holes for clamps where they fit."""
    half = math.radians(angle / 2)
    s, c = math.sin(half), math.cos(half)
    far, tip = _LEG * c, 12.0 * c
    up = ((0.0, 0.0, 1.0), (0.0, 0.0, -1.0))
    sides = [Plane((-s, c, 0.0), 0.0), Plane((-s, -c, 0.0), 0.0)]
    ends = [Plane((1.0, 0.0, 0.0), far), Plane((-1.0, 0.0, 0.0), -tip)]
    planes = [*sides, *ends, Plane(up[0], _THICK), Plane(up[1], 0.0)]
    solid: cq.Shape = polytope(planes, "corner brace")
    out = far - _CLAMP - _WALL
    side = (out * s - _CLAMP - _WALL) / c
    for y in (side, -side) if side > _CLAMP + _WALL / 2 and out - _CLAMP - _WALL > tip else ():
        hole = cq.Solid.makeCylinder(_CLAMP, 3 * _THICK, cq.Vector(out, y, -_THICK))
        solid = solid.cut(hole)
    return one_solid(solid, "corner brace")


AIDS = Aids(make)
