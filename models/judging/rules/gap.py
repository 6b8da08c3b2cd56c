"""The two faces of a joint that do not meet."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from ...maths.geometry import Vec, dot, vec
from ...piece.contact import NO_AREA, TOUCHING, Surface, shared_area, surface
from ...piece.project import Bore, Finding, Joint, Project
from ..study import Study
from . import Rule

CODE = "gap"
TURNED = "do not lie in one plane, facing each other"
ASIDE = "lie in one plane but do not meet"
GONE = "cannot meet, one of them is cut away"
# A panel in its groove and a loose part are held, not pressed together.
_NOT_PRESSED = ("housed", "loose")


def pressed(project: Project) -> Iterator[Joint]:
    """The joints whose faces have to lie on each other."""
    return (j for j in project.joints if j.bores or j.kind not in _NOT_PRESSED)


def check(study: Study) -> Iterator[Finding]:
    """Faces that are to be pressed together and do not touch fail."""
    named = study.project.board_named
    for joint in pressed(study.project):
        first, second = (
            surface(named[name], side, study.convex[name])
            for name, side in (
                (joint.first, joint.first_face),
                (joint.second, joint.second_face),
            )
        )
        # What the pilots take out of the faces presses on nothing.
        taken = NO_AREA + sum(_mouth(study, bore) for bore in joint.bores)
        if _off(first, second) > TOUCHING or shared_area(first, second, taken) <= taken:
            yield _opening(study.project, joint, first, second)


def _mouth(study: Study, bore: Bore) -> float:
    """Area (mm2) that a pilot takes out of its joint face."""
    normal = study.project.board_named[bore.board].outward(bore.joint_face).normal
    radius = bore.pilot_radius
    return math.pi * radius**2 / abs(dot(normal, bore.back)) + 2 * radius * bore.slot


def _off(first: Surface, second: Surface) -> float:
    """How far the corners of either face lie from the other's plane (mm); inf where one is gone."""
    if not first.parts or not second.parts or dot(first.plane.normal, second.plane.normal) >= 0:
        return math.inf
    return max(
        float(abs(one.corners @ np.array(other.plane.normal) - other.plane.offset).max())
        for one, other in ((first, second), (second, first))
    )


def _opening(project: Project, joint: Joint, first: Surface, second: Surface) -> Finding:
    off = _off(first, second)
    where = vec(first.corners.mean(axis=0)) if first.parts else None
    if min(first.area, second.area) <= NO_AREA:
        return told(project, joint, GONE, math.inf, where)
    return told(project, joint, TURNED if off > TOUCHING else ASIDE, off, where)


def told(project: Project, joint: Joint, said: str, open_by: float, point: Vec | None) -> Finding:
    """The finding of faces that do not meet, measured in closed form or on solids.

    Args:
        project: placed.
        joint: of the project.
        said: TURNED, ASIDE or GONE.
        open_by: how far they are from meeting, mm.
        point: on the first face, project's frame (mm).
    """
    face, other = (
        board.by_side[side].name if side in board.by_side else side
        for board, side in (
            (project.board_named[joint.first], joint.first_face),
            (project.board_named[joint.second], joint.second_face),
        )
    )
    names = f"the {face} of {joint.first} and the {other} of {joint.second}"
    return Finding(
        CODE,
        "fails",
        f"{joint.name}: {names} {said}",
        board=joint.first,
        joint=joint.name,
        face=face,
        measured=open_by,
        needed=0.0,
        point=point,
    )


RULE = Rule(
    CODE,
    "The two faces of a joint do not meet",
    """The faces that a joint names must lie in one plane within 0.000001 mm, look at each other,
and share more area than the pilots take out of it: the area of two convex polygons in common,
piece by piece (textbook: clipping by half-planes), without what cuts take away. Panels in grooves
and loose parts are held, not pressed, and are left out. `build` asks the kernel the same of the
bored solids.""",
    check,
    hint="place the two boards so that these faces meet",
)
