"""A bore that comes out where it should not."""

from __future__ import annotations

from collections.abc import Iterator

from ...piece.project import Finding
from ..study import Study
from . import BORED, Rule, wall_finding

CODE = "breakout"


def check(study: Study) -> Iterator[Finding]:
    """A bore through any face but its pocket face and its joint face, or into a cut, fails."""
    for wall in study.thinnest(in_mate=False):
        if wall.out:
            said = f"the {wall.body} breaks out of the {wall.name}"
            yield wall_finding(study, CODE, "fails", said, wall)


RULE = Rule(
    CODE,
    "A bore comes out of a face",
    """The bore (counterbore, pilot and screw) within the blank is a convex body per part. For a
face with outward normal n and offset d the wall is d - max(n . x) over that body, without the
face's own plane. A wall of zero or less is a breakout; so is a bore that shares wood with a rebate,
groove or opening. Exact, in closed form: textbook support function of a cylinder within
half-spaces.""",
    check,
    kinds=BORED,
    on_solids=True,
)
