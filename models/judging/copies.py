"""Copies of a piece, which are looked at once: what is found on the first holds for them all.

    project --copies_of--> one of each piece --judge--> findings --said--> findings on every copy

While it is looked at, a piece that stands for its copies goes by a name that no recipe can have:
so the names of the copies can be put there in whatever is found.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

import numpy as np

from ..piece.board import Board
from ..piece.project import Finding, Project
from ..placing.shop import Piece

_Thing = TypeVar("_Thing")
_CLEAR = 10.0  # mm by which copies stand farther apart than the longest screw could reach


@dataclass(frozen=True)
class Copies:
    """A project, and which of its pieces stand for others.

    Attributes:
        project: whole.
        names: of each piece that stands for its copies, with theirs; all of them stand clear.
    """

    project: Project
    names: tuple[tuple[str, ...], ...]

    @cached_property
    def one(self) -> Project:
        """The project without the copies; the same where there are none."""
        return self._without({}) if self.names else self.project

    @cached_property
    def unnamed(self) -> Project:
        """The same, but those that stand for others go by names that no recipe can have."""
        return self._without(self._stand_ins) if self.names else self.project

    def said(self, findings: Iterable[Finding]) -> tuple[Finding, ...]:
        """What was found on the pieces without names, of the first copies and then of the rest."""
        found = list(findings)
        told = list(self.of_first(found))
        for first, *others in self.names:
            stand_in = self._stand_ins[first]
            about = [finding for finding in found if _about(finding, stand_in)]
            for name in others if about else ():
                told += (self._moved(_named(f, stand_in, name), first, name) for f in about)
        return tuple(told)

    def of_first(self, findings: Iterable[Finding]) -> Iterator[Finding]:
        """The same, of the first copies alone."""
        for finding in findings:
            for first, stand_in in self._stand_ins.items():
                if _about(finding, stand_in):
                    finding = _named(finding, stand_in, first)
            yield finding

    def times(self, board: Board) -> int:
        """How many boards one of those without a name stands for."""
        return self._times.get(board.piece, 1)

    @cached_property
    def _stand_ins(self) -> Mapping[str, str]:
        return {first: f"\0{number}\0" for number, (first, *_) in enumerate(self.names)}

    @cached_property
    def _times(self) -> Mapping[str, int]:
        return {self._stand_ins[names[0]]: len(names) for names in self.names}

    @cached_property
    def _start(self) -> Mapping[str, Board]:
        """The first board of each piece."""
        return {board.piece: board for board in reversed(self.project.boards)}

    def _moved(self, finding: Finding, first: str, name: str) -> Finding:
        """What is said of the first copy, at its place in another one."""
        if finding.point is None:
            return finding
        here, there = self._start[first].pose, self._start[name].pose
        return replace(finding, point=there.point(here.local_point(finding.point)))

    def _without(self, stand_ins: Mapping[str, str]) -> Project:
        """One of each piece, some under other names."""
        left = {name for _, *others in self.names for name in others}
        pieces = [
            piece.copied(name, stand_ins[name]) if name in stand_ins else piece
            for name, piece in _pieces(self.project).items()
            if name not in left
        ]
        return replace(
            self.project,
            boards=tuple(board for piece in pieces for board in piece.boards),
            joints=tuple(joint for piece in pieces for joint in piece.joints),
            hardware=tuple(item for piece in pieces for item in piece.hardware),
            findings=tuple(finding for piece in pieces for finding in piece.findings),
            copies=(),
        )


def copies_of(project: Project) -> Copies:
    """The copies of a project that may be looked at once; kept on it, as a property would be."""
    found: Copies | None = project.__dict__.get("_copies")
    if found is None:
        found = project.__dict__["_copies"] = Copies(project, tuple(_clear(project)))
    return found


def _clear(project: Project) -> Iterator[tuple[str, ...]]:
    """Of each piece's copies those that nothing else comes near, where there are several."""
    if not project.copies:
        return
    boards = project.boards
    number = {name: i for i, name in enumerate(dict.fromkeys(board.piece for board in boards))}
    whose = [number[board.piece] for board in boards]
    turns = np.array([board.pose.matrix for board in boards])
    sides = turns * np.array([[(b.length, b.width, b.thickness)] for b in boards])
    origins = np.array([board.pose.origin for board in boards])
    low, high = np.full((len(number), 3), np.inf), np.full((len(number), 3), -np.inf)
    np.minimum.at(low, whose, origins + np.minimum(sides, 0.0).sum(axis=2))
    np.maximum.at(high, whose, origins + np.maximum(sides, 0.0).sum(axis=2))
    far = _CLEAR + max((bore.screw.length for bore in project.bores), default=0.0)
    for names in project.copies:
        some = ((name, number[name]) for name in names)
        clear = tuple(
            name
            for name, i in some
            if ((low[i] - far < high) & (high[i] + far > low)).all(axis=1).sum() == 1
        )
        if len(clear) > 1:
            yield clear


def _pieces(project: Project) -> Mapping[str, Piece]:
    """What belongs to each piece, by its name; under "" what is found on none."""
    whose = {board.name: board.piece for board in project.boards}
    whose |= {joint.name: whose[joint.first] for joint in project.joints}
    boards = _grouped(project.boards, lambda board: board.piece)
    joints = _grouped(project.joints, lambda joint: whose[joint.first])
    hardware = _grouped(project.hardware, lambda item: item.piece)
    findings = _grouped(project.findings, lambda one: whose.get(one.board or one.joint, ""))
    names = dict.fromkeys([*boards, *hardware, *findings])
    return {
        name: Piece(
            tuple(boards.get(name, ())),
            tuple(joints.get(name, ())),
            tuple(hardware.get(name, ())),
            tuple(findings.get(name, ())),
        )
        for name in names
    }


def _grouped(things: Iterable[_Thing], piece: Callable[[_Thing], str]) -> dict[str, list[_Thing]]:
    found: dict[str, list[_Thing]] = {}
    for thing in things:
        found.setdefault(piece(thing), []).append(thing)
    return found


def _about(finding: Finding, stand_in: str) -> bool:
    return any(stand_in in said for said in (finding.board, finding.joint, finding.message))


def _named(finding: Finding, stand_in: str, name: str) -> Finding:
    return replace(
        finding,
        message=finding.message.replace(stand_in, name),
        board=finding.board.replace(stand_in, name),
        joint=finding.joint.replace(stand_in, name),
        bore=finding.bore.replace(stand_in, name),
        remedy=finding.remedy.replace(stand_in, name),
    )
