"""How a piece comes apart: back through the order of assembly, along the axes of its joints."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ...models.maths.geometry import Vec, along
from ...models.piece.project import Bore, Project
from ..telling.steps import stages

_SHARE = 0.12  # of the longest board
_CLEAR = 25.0  # mm more than the longest screw


@dataclass(frozen=True)
class Opening:
    """One step of the assembly, to be undone.

    Attributes:
        number: of the line that tells it, as everywhere.
        text: that line.
        boards: that are brought in together.
        onto: boards there that they are joined to.
        way: unit direction in which they come, project's frame.
        joints: names of the joints that close.
        screws: how many are driven.
    """

    number: int
    text: str
    boards: tuple[str, ...]
    onto: tuple[str, ...]
    way: Vec
    joints: tuple[str, ...]
    screws: int


def openings(project: Project) -> tuple[Opening, ...]:
    """The steps in the order of assembly, without those that only lay a first board down."""
    found = []
    for stage in stages(project):
        for step in stage.steps:
            if step.way is not None:
                beside = {name for joint in step.joints for name in (joint.first, joint.second)}
                onto = tuple(name for name in step.onto if name in beside)
                joints = tuple(joint.name for joint in step.joints)
                said = stage.number, stage.text
                found.append(Opening(*said, step.boards, onto, step.way, joints, len(step.bores)))
    return tuple(found)


def gap(project: Project) -> float:
    """How far one step opens (mm)."""
    longest = max((board.length for board in project.boards), default=0.0)
    screw = max((bore.screw.length for bore in project.bores), default=0.0)
    return max(screw + _CLEAR, _SHARE * longest)


def travel(project: Project, bore: Bore) -> float:
    """How far a screw backs out along its bore until its tip is in the air (mm)."""
    return bore.run_out(project.board_named[bore.board]) - bore.shoulder + bore.screw.length


def fully_apart(project: Project) -> Mapping[str, Vec]:
    """Board to its displacement when every step is undone (mm, project's frame).

    What is brought in keeps its distance from what it is joined to, wherever that has moved.
    """
    moved: dict[str, Vec] = {board.name: (0.0, 0.0, 0.0) for board in project.boards}
    opened = gap(project)
    for step in openings(project):
        base = (0.0, 0.0, 0.0)
        for name in step.onto:
            base = along(base, moved[name], 1 / len(step.onto))
        for name in step.boards:
            moved[name] = along(along(moved[name], base, 1.0), step.way, -opened)
    return moved
