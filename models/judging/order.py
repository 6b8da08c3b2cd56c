"""In which order the boards go together, so that every screw can be driven and every board come in.

The finished piece is taken apart: a board, or a group that must move together, may leave when
every screw that holds it can be reached with the boards still there, and when it can move away
along a straight line. Fewer boards never hinder more, so what can leave may leave at once: the
greedy search is complete for these moves, and where it stops no order exists. Read backwards it is
the order of assembly.

What hinders what is measured once per pair of boards and direction, and per screw and board; the
search itself is set arithmetic. Cost grows with (boards x directions x near boards) for the
measuring and with boards squared for the search.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..maths.geometry import Vec, dot, vec
from ..piece.board import Board
from ..piece.convex import TOUCH, Convex, boxes_meet, joined_box, meets, standing
from ..piece.project import Bore, Joint, Project
from .reach import Hindrance, hindrances

_SAME = 1e-6


@dataclass(frozen=True)
class Step:
    """One step at the bench.

    Attributes:
        boards: what is brought in, names; for the first step of an assembly, the board laid down.
        onto: what is there already, names.
        way: unit direction in which it comes to its place, project's frame; None for the first.
        joints: that are made now.
    """

    boards: tuple[str, ...]
    onto: tuple[str, ...]
    way: Vec | None
    joints: tuple[Joint, ...]

    @property
    def bores(self) -> tuple[Bore, ...]:
        """The screws that are driven now."""
        return tuple(bore for joint in self.joints for bore in joint.bores)


@dataclass(frozen=True)
class Stuck:
    """Boards that come together in no order.

    Attributes:
        boards: names.
        screws: the smallest ring of screws of which each needs the next one's board away.
    """

    boards: tuple[str, ...]
    screws: tuple[Hindrance, ...]


@dataclass(frozen=True)
class Order:
    """The steps, and what cannot be put together."""

    steps: tuple[Step, ...]
    stuck: tuple[Stuck, ...]


@dataclass(frozen=True)
class _Assembly:
    """Boards that hang together by joints, with what hinders what."""

    boards: tuple[Board, ...]
    joints: tuple[Joint, ...]
    solids: Mapping[str, Sequence[Convex]]

    @cached_property
    def _by_name(self) -> Mapping[str, Board]:
        return {board.name: board for board in self.boards}

    @cached_property
    def hindered(self) -> Mapping[str, tuple[Hindrance, ...]]:
        """Per bore the boards in its driver's way."""
        named = self._by_name
        bores = [bore for joint in self.joints for bore in joint.bores]
        found: dict[str, list[Hindrance]] = defaultdict(list)
        for hindrance in hindrances(bores, named, self.solids):
            found[hindrance.bore.name].append(hindrance)
        return {name: tuple(some) for name, some in found.items()}

    @cached_property
    def ways(self) -> Mapping[str, tuple[Vec, ...]]:
        """Per board the directions in which it may leave: square to its joints and between."""
        found: dict[str, list[Vec]] = {board.name: [] for board in self.boards}
        named = self._by_name
        for joint in self.joints:
            plane = named[joint.first].pose.plane(named[joint.first].face(joint.first_face).plane)
            x, y, z = plane.normal
            found[joint.first].append((-x, -y, -z))
            found[joint.second].append((x, y, z))
        return {name: _distinct(some) for name, some in found.items()}

    @cached_property
    def blockers(self) -> Mapping[tuple[str, Vec], frozenset[str]]:
        """Per board and direction the boards that it would run into."""
        names = list(self.solids)
        every = np.array([joined_box(parts) for parts in self.solids.values()])
        far = float(np.linalg.norm(every[:, 1].max(axis=0) - every[:, 0].min(axis=0))) + 1.0
        found: dict[tuple[str, Vec], frozenset[str]] = {}
        for name in self.solids:
            for way in self.every_way:
                move = far * np.array(way)
                low, high = every[names.index(name)]
                low, high = low + np.minimum(move, 0.0), high + np.maximum(move, 0.0)
                near = (low < every[:, 1] - TOUCH) & (high > every[:, 0] + TOUCH)
                found[name, way] = frozenset(
                    other
                    for other in (names[i] for i in np.flatnonzero(near.all(axis=1)))
                    if other != name
                    and any(
                        meets(a, b, move)
                        for b in self.solids[name]
                        for a in self.solids[other]
                        if boxes_meet(a.box, b.box, move)
                    )
                )
        return found

    @cached_property
    def every_way(self) -> tuple[Vec, ...]:
        """The directions that any board of the assembly may leave by.

        A group moves as one, so its members need each other's directions.
        """
        return _distinct(way for ways in self.ways.values() for way in ways)

    def group(self, some: frozenset[str], way: Vec, there: frozenset[str]) -> frozenset[str]:
        """Some boards with all those that they would push along."""
        moved, fresh = set(some), sorted(some)
        while fresh:
            pushed = (self.blockers[fresh.pop(), way] & there) - moved
            moved |= pushed
            fresh += sorted(pushed)
        return frozenset(moved)

    def between(self, some: frozenset[str], rest: frozenset[str]) -> tuple[Joint, ...]:
        """The joints that hold a group to the rest."""
        return tuple(
            joint
            for joint in self.joints
            if (joint.first in some and joint.second in rest)
            or (joint.second in some and joint.first in rest)
        )

    def reachable(self, joints: Iterable[Joint], there: frozenset[str]) -> bool:
        """Whether every screw of the joints can be driven with these boards there."""
        return not any(
            hindrance.board in there
            for joint in joints
            for bore in joint.bores
            for hindrance in self.hindered.get(bore.name, ())
        )

    def taken_apart(self, there: frozenset[str]) -> tuple[list[Step], list[Stuck]]:
        """Steps that put some boards together."""
        steps: list[Step] = []
        stuck: list[Stuck] = []
        while len(there) > 1:
            parts = connected(self._named(there), self._links(there))
            if len(parts) > 1:
                # What left held these together; each is made by itself.
                made = [self.taken_apart(part) for part in parts]
                before = [step for some, _ in made for step in some]
                stuck += [one for _, more in made for one in more]
                return before + list(reversed(steps)), stuck
            leaving = self._leaving(there)
            if leaving is None:
                stuck.append(Stuck(tuple(sorted(there)), self._ring(there)))
                return list(reversed(steps)), stuck
            some, way = leaving
            rest = there - some
            x, y, z = way
            step = Step(
                self._named(some), self._named(rest), (-x, -y, -z), self.between(some, rest)
            )
            if len(some) > 1:
                inner, more = self.taken_apart(some)
                stuck += more
                # Read backwards: the group is made before it is brought in.
                steps += [step, *reversed(inner)]
            else:
                steps.append(step)
            there = rest
        steps.append(Step(self._named(there), (), None, ()))
        return list(reversed(steps)), stuck

    def _links(self, there: frozenset[str]) -> list[tuple[str, str]]:
        """Pairs of boards that a joint holds together, both still there."""
        return [
            (joint.first, joint.second)
            for joint in self.joints
            if joint.kind != "loose" and joint.first in there and joint.second in there
        ]

    def _leaving(self, there: frozenset[str]) -> tuple[frozenset[str], Vec] | None:
        """What leaves next: what is only glued or housed as a whole, else the fewest boards.

        Where no board may leave, those may whose screws cannot be reached as yet: a top that was
        joined before it came to its frame.
        """
        single = [frozenset((board.name,)) for board in self.boards if board.name in there]
        return (
            self._best(self._screwed(there), there, whole=True)
            or self._best(single, there)
            or self._best(self._locked(there), there)
        )

    def _best(
        self, some: Iterable[frozenset[str]], there: frozenset[str], *, whole: bool = False
    ) -> tuple[frozenset[str], Vec] | None:
        """Of these groups, with all that they push along, the one that leaves most easily.

        Args:
            some: groups of boards.
            there: the boards still there.
            whole: whether a group that would push others along is left out.
        """
        best: tuple[tuple[float, ...], frozenset[str], Vec] | None = None
        for start in reversed(list(some)):
            for way in self.every_way:
                moved = self.group(start, way, there)
                rest = there - moved
                if not rest or (whole and moved != start):
                    continue
                held = self.between(moved, rest)
                if not held or not self.reachable(held, there):
                    continue
                cost = (len(moved), len(held), -self._opens(moved, held, way))
                if best is None or cost < best[0]:
                    best = (cost, moved, way)
        return None if best is None else (best[1], best[2])

    def _screwed(self, there: frozenset[str]) -> list[frozenset[str]]:
        """The boards that screws hold together, group by group: a face frame, a case."""
        links = [
            (joint.first, joint.second)
            for joint in self.joints
            if joint.bores and joint.first in there and joint.second in there
        ]
        groups = connected((name for name in self._by_name if name in there), links)
        order = {board.name: i for i, board in enumerate(self.boards)}
        return sorted(groups, key=lambda group: min(order[name] for name in group))

    def _locked(self, there: frozenset[str]) -> list[frozenset[str]]:
        """Groups of boards that cannot be parted with these boards there."""
        links = [
            (joint.first, joint.second)
            for joint in self.joints
            if joint.first in there and joint.second in there and not self.reachable([joint], there)
        ]
        return connected(self._named(there), links)

    def _opens(self, some: frozenset[str], held: Iterable[Joint], way: Vec) -> float:
        """How squarely a direction opens the joints: the least cosine to their faces' normals."""
        squares = []
        for joint in held:
            name, side = (
                (joint.first, joint.first_face)
                if joint.first in some
                else (joint.second, joint.second_face)
            )
            board = self._by_name[name]
            squares.append(-dot(board.pose.direction(board.face(side).plane.normal), way))
        return round(min(squares), 6)

    def _ring(self, there: frozenset[str]) -> tuple[Hindrance, ...]:
        """The shortest ring: each screw needs away a board that the next screw holds."""
        holding: dict[str, list[Bore]] = defaultdict(list)
        for joint in self.joints:
            if joint.first in there and joint.second in there:
                for bore in joint.bores:
                    holding[joint.first].append(bore)
                    holding[joint.second].append(bore)
        after: dict[str, list[tuple[Hindrance, str]]] = {}
        for name, some in self.hindered.items():
            after[name] = [
                (h, bore.name) for h in some if h.board in there for bore in holding[h.board]
            ]
        shortest: tuple[Hindrance, ...] = ()
        for start in after:
            trail: dict[str, tuple[Hindrance, ...]] = {start: ()}
            queue = [start]
            while queue:
                here = queue.pop(0)
                for hindrance, following in after.get(here, ()):
                    path = (*trail[here], hindrance)
                    if following == start and (not shortest or len(path) < len(shortest)):
                        shortest = path
                    if following not in trail:
                        trail[following] = path
                        queue.append(following)
        return shortest

    def _named(self, some: Iterable[str]) -> tuple[str, ...]:
        chosen = set(some)
        return tuple(board.name for board in self.boards if board.name in chosen)


def assembly_order(project: Project, solids: Mapping[str, Sequence[Convex]] | None = None) -> Order:
    """The order of assembly of every piece of a project; pieces are built apart from each other.

    Args:
        project: placed.
        solids: per board its convex pieces in the project's frame, where they are known.
    """
    solids = solids or {board.name: standing(board) for board in project.boards}
    steps: list[Step] = []
    stuck: list[Stuck] = []
    for assembly in _assemblies(project, solids):
        some, more = assembly.taken_apart(frozenset(board.name for board in assembly.boards))
        steps += some
        stuck += more
    return Order(tuple(steps), tuple(stuck))


def _assemblies(project: Project, solids: Mapping[str, Sequence[Convex]]) -> list[_Assembly]:
    """The boards that hang together by joints, in the project's order."""
    links = [(j.first, j.second) for j in project.joints if j.kind != "loose"]
    found = []
    for names in connected([board.name for board in project.boards], links):
        boards = tuple(board for board in project.boards if board.name in names)
        joints = tuple(j for j in project.joints if j.first in names and j.second in names)
        own = {board.name: solids[board.name] for board in boards}
        found.append(_Assembly(boards, joints, own))
    return found


def connected(names: Iterable[str], links: Iterable[tuple[str, str]]) -> list[frozenset[str]]:
    """The names that hang together by links, each group once, in the order of the names."""
    root = {name: name for name in names}

    def top(name: str) -> str:
        while root[name] != name:
            name = root[name]
        return name

    for a, b in links:
        root[top(b)] = top(a)
    groups: dict[str, list[str]] = defaultdict(list)
    for name in root:
        groups[top(name)].append(name)
    return [frozenset(group) for group in groups.values()]


def _distinct(ways: Iterable[Vec]) -> tuple[Vec, ...]:
    """Directions, each once; then those between two that are neither alike nor opposed."""
    found: list[Vec] = []

    def add(way: Vec) -> None:
        if all(max(abs(a - b) for a, b in zip(way, old, strict=True)) > _SAME for old in found):
            found.append(way)

    for way in ways:
        add(way)
    plain = tuple(found)
    for i, a in enumerate(plain):
        for b in plain[i + 1 :]:
            both = np.array(a) + np.array(b)
            size = float(np.linalg.norm(both))
            if 0.1 < size < 1.99 and len(plain) <= 6:
                add(vec(both / size))
    return tuple(found)
