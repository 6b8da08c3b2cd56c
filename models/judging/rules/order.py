"""Boards that come together in no order."""

from __future__ import annotations

from collections.abc import Iterator

from ...piece.project import Finding, Joint
from ..study import Study
from . import Rule
from .reach import other_drivers

CODE = "no-order"


def check(study: Study) -> Iterator[Finding]:
    """An assembly of which no board can be brought in last fails."""
    for stuck in study.order.stuck:
        screws = stuck.screws
        if screws:
            ring = "; ".join(
                f"{h.bore.name} cannot be driven once the {_role(study, h.board)} is there"
                for h in screws
            )
            first = screws[0]
            yield Finding(
                CODE,
                "fails",
                f"no order of assembly: {ring}",
                board=first.bore.board,
                joint=first.bore.joint,
                bore=first.bore.name,
                point=first.point,
            )
        else:
            names = ", ".join(_role(study, name) for name in stuck.boards)
            yield Finding(
                CODE,
                "fails",
                "no order of assembly: none of these can be brought in last along a straight "
                f"line: {names}",
                board=stuck.boards[0],
            )


def ring(study: Study, finding: Finding) -> Iterator[Joint]:
    """The other joints whose screws keep each other from being driven."""
    for stuck in study.order.stuck:
        names = dict.fromkeys(h.bore.joint for h in stuck.screws)
        if finding.joint in names:
            yield from (j for j in study.project.joints if j.name in {*names} - {finding.joint})


def _role(study: Study, name: str) -> str:
    return study.project.board_named[name].role


RULE = Rule(
    CODE,
    "No order of assembly",
    """The finished piece is taken apart: a board, or a group that must move together, leaves when
every screw that holds it can be reached with the boards still there, and when it can move away
along a straight line square to its joints or between two of them (separating axes of the swept
convex pieces). Fewer boards never hinder more, so the search is complete for these moves. Read
backwards it is the order of assembly.""",
    check,
    levers=other_drivers,
    joints=ring,
    kinds=frozenset(("face", "board")),
    joint=True,
)
