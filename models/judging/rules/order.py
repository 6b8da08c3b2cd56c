"""Boards that come together in no order."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

from ...advice.remedies import MOST, turns, with_joints
from ...maths.geometry import dot
from ...piece.project import Bore, Change, Finding, Project
from ...wood.tables import bits
from ..order import Stuck, assembly_order
from ..reach import with_bit
from ..study import Study
from . import Rule

CODE = "no-order"
_TRIED = 3  # joints of a ring that are bored otherwise, and boards that are left out


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
            changes = tuple(islice(_changes(study.project, stuck), MOST)) if study.seeks else ()
            yield Finding(
                CODE,
                "fails",
                f"no order of assembly: {ring}",
                board=first.bore.board,
                joint=first.bore.joint,
                bore=first.bore.name,
                remedy="; or ".join(change.says for change in changes) or _NONE,
                point=first.point,
                changes=changes,
            )
        else:
            names = ", ".join(_role(study, name) for name in stuck.boards)
            alone = _locking(study.project, stuck) if study.seeks else ""
            yield Finding(
                CODE,
                "fails",
                "no order of assembly: none of these can be brought in last along a straight "
                f"line: {names}",
                board=alone or stuck.boards[0],
                remedy=f"without the {_role(study, alone)} the others go together" if alone else "",
            )


_NONE = "no longer bit helps, and no other face or board to bore one of these joints from was found"


def _role(study: Study, name: str) -> str:
    return study.project.board_named[name].role


def _goes(project: Project, stuck: Stuck, without: str = "") -> bool:
    """Whether boards that were stuck come together, as they are in a project."""
    names = set(stuck.boards) - {without}
    boards = tuple(b for b in project.boards if b.name in names)
    joints = tuple(j for j in project.joints if j.first in names and j.second in names)
    return not assembly_order(replace(project, boards=boards, joints=joints)).stuck


def _changes(project: Project, stuck: Stuck) -> Iterator[Change]:
    """A longer bit, or one of the ring's joints bored otherwise, with which the boards go."""
    used = max(bore.bit(project.board_named[bore.board]) for bore in project.bores)
    for length in (bit for bit in bits() if bit > used):
        joints = tuple(
            replace(j, bores=tuple(with_bit(b, length) for b in j.bores)) for j in project.joints
        )
        if _goes(replace(project, joints=joints), stuck):
            says = f"drive with a bit of {length:g} mm (bit_length: {length:g} mm)"
            yield Change(says, ((("tools", "bit_length"), f"{length:g} mm"),))
            break
    named = {joint.name: joint for joint in project.joints}
    for name in list(dict.fromkeys(h.bore.joint for h in stuck.screws))[:_TRIED]:
        for change in turns(project, named[name], lambda bore: _lies_flush(project, bore)):
            if _goes(with_joints(project, change), stuck):
                yield replace(change, says=f"{name}: {change.says}")


def _lies_flush(project: Project, bore: Bore) -> bool:
    """Whether a bore's head stands in no board's way: below a face that another board covers."""
    face = (bore.board, bore.pocket_face)
    joined = ((j.first, j.first_face, j.second, j.second_face) for j in project.joints)
    if not any(face in (ends[:2], ends[2:]) for ends in joined):
        return True
    plane = project.board_named[bore.board].face(bore.pocket_face).plane
    sine = dot(plane.normal, bore.back)
    head = bore.screw.head_radius * math.sqrt(1 - sine * sine) + bore.screw.head_height * sine
    return plane.gap(bore.seat) > head


def _locking(project: Project, stuck: Stuck) -> str:
    """A board without which the others come together, or ""."""
    some = stuck.boards[:_TRIED] if len(stuck.boards) > 2 else ()
    return next((name for name in some if _goes(project, stuck, name)), "")


RULE = Rule(
    CODE,
    "No order of assembly",
    """The finished piece is taken apart: a board, or a group that must move together, leaves when
every screw that holds it can be reached with the boards still there, and when it can move away
along a straight line square to its joints or between two of them (separating axes of the swept
convex pieces). Fewer boards never hinder more, so the search is complete for these moves. Read
backwards it is the order of assembly. A longer bit, another face or the other board to bore from is
named only where it was tried and an order was found.""",
    check,
)
