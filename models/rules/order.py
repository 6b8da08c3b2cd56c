"""Boards that come together in no order."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ..order import Stuck, assembly_order
from ..project import Finding, Project
from ..study import Study
from . import Rule

CODE = "no-order"
_BITS = (150.0, 200.0, 300.0)  # mm, lengths of bits that are sold: common practice, no source


def check(study: Study) -> Iterator[Finding]:
    """An assembly of which no board can be brought in last fails."""
    for stuck in study.order.stuck:
        screws = stuck.screws
        if screws:
            ring = "; ".join(
                f"{h.bore.name} cannot be driven once the {_role(study, h.board)} is there"
                for h in screws
            )
            said = f"no order of assembly: {ring}"
            first = screws[0]
            yield Finding(
                CODE,
                "fails",
                said,
                board=first.bore.board,
                joint=first.bore.joint,
                bore=first.bore.name,
                remedy=_remedy(study.project, stuck),
                point=first.point,
            )
        else:
            names = ", ".join(_role(study, name) for name in stuck.boards)
            yield Finding(
                CODE,
                "fails",
                f"no order of assembly: none of these can be brought in last along a straight "
                f"line: {names}",
                board=stuck.boards[0],
                remedy="make one of their joints another way, or cut a board in two",
            )


def _role(study: Study, name: str) -> str:
    return study.project.board_named[name].role


def _remedy(project: Project, stuck: Stuck) -> str:
    """A longer bit, where one was tried and lets the boards come together."""
    names = set(stuck.boards)
    boards = tuple(b for b in project.boards if b.name in names)
    joints = tuple(j for j in project.joints if j.first in names and j.second in names)
    for length in _BITS:
        longer = tuple(
            replace(
                joint,
                bores=tuple(
                    replace(bore, drill=replace(bore.drill, bit_length=length))
                    for bore in joint.bores
                ),
            )
            for joint in joints
            if all(bore.drill.bit_length < length for bore in joint.bores)
        )
        if len(longer) < len(joints):
            continue
        if not assembly_order(replace(project, boards=boards, joints=longer)).stuck:
            return f"drive with a bit of {length:g} mm (bit_length: {length:g} mm)"
    return "bore one of these joints from the other face, or from the other board"


RULE = Rule(
    CODE,
    "No order of assembly",
    """The finished piece is taken apart: a board, or a group that must move together, leaves when
every screw that holds it can be reached with the boards still there, and when it can move away
along a straight line square to its joints or between two of them (separating axes of the swept
convex pieces). Fewer boards never hinder more, so the search is complete for these moves. Read
backwards it is the order of assembly.""",
    check,
)
