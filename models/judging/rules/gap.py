"""The two faces of a joint that do not meet."""

from __future__ import annotations

from collections.abc import Iterator

from ...piece.project import Finding
from ..study import Study
from . import Rule

CODE = "gap"
_SAYS = {
    "turned": "do not lie in one plane, facing each other",
    "aside": "lie in one plane but do not meet",
    "gone": "cannot meet, one of them is cut away",
}


def check(study: Study) -> Iterator[Finding]:
    """Faces that are to be pressed together and do not touch fail."""
    named = study.project.board_named
    for opening in study.openings:
        joint = opening.joint
        ends = (joint.first, joint.first_face), (joint.second, joint.second_face)
        face, other = (
            named[name].by_side[side].name if side in named[name].by_side else side
            for name, side in ends
        )
        names = f"the {face} of {joint.first} and the {other} of {joint.second}"
        yield Finding(
            CODE,
            "fails",
            f"{joint.name}: {names} {_SAYS[opening.how]}",
            board=joint.first,
            joint=joint.name,
            face=face,
            measured=opening.gap,
            needed=0.0,
            point=opening.point,
            solid=study.solid,
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
    on_solids=True,
)
