"""In which order the boards go together, so that every screw can be driven and every board come in.

The finished piece is taken apart: a board, or a group that must move together, may leave when
every screw that holds it can be reached with the boards still there, and when it can move away
along a straight line. Fewer boards never hinder more, so what can leave may leave at once: the
greedy search is complete for these moves, and where it stops no order exists. Read backwards it is
the order of assembly.

What hinders what is in obstacles.py, the search in parting.py.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from ..maths.geometry import Vec
from ..piece.convex import Convex, shape, standing
from ..piece.project import Bore, Joint, PocketId, Project
from .obstacles import Assembly
from .parting import Parting, joined
from .reach import Hindrance

_ANY = PocketId("")


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


def assembly_order(project: Project, solids: Mapping[str, Sequence[Convex]] | None = None) -> Order:
    """The order of assembly of every piece of a project; pieces are built apart from each other.

    Args:
        project: placed.
        solids: per board its convex pieces in the project's frame, where they are known.
    """
    solids = solids or {board.name: standing(board) for board in project.boards}
    steps: list[Step] = []
    stuck: list[Stuck] = []
    known: dict[Hashable, tuple[Assembly, list[Step], list[Stuck]]] = {}
    for assembly in _assemblies(project, solids):
        like = _likeness(assembly)
        if like not in known:
            known[like] = assembly, *_put_together(assembly)
        some, more = _again(assembly, *known[like])
        steps += some
        stuck += more
    return Order(tuple(steps), tuple(stuck))


def _likeness(assembly: Assembly) -> Hashable:
    """What assemblies share that are put together alike: all but names, and where they stand."""
    start, number = assembly.boards[0].pose.origin, assembly.number
    boards = tuple(
        (b.role, shape(b), b.pose.x, b.pose.y)
        + tuple(round(a - o, 6) for a, o in zip(b.pose.origin, start, strict=True))
        for b in assembly.boards
    )
    joints = tuple(
        (j.kind, number[j.first], number[j.second])
        + tuple(replace(b, pocket=_ANY, board="", mate=str(number[b.mate])) for b in j.bores)
        for j in assembly.joints
    )
    return boards, joints


def _again(
    assembly: Assembly, first: Assembly, steps: Iterable[Step], stuck: Iterable[Stuck]
) -> tuple[list[Step], list[Stuck]]:
    """How an assembly goes together, and where it is stuck, as a like one or as it was found."""
    board = {a.name: b for a, b in zip(first.boards, assembly.boards, strict=True)}
    joint = {a.name: b for a, b in zip(first.joints, assembly.joints, strict=True)}

    def named(some: Iterable[str]) -> tuple[str, ...]:
        return tuple(board[name].name for name in some)

    def hindrance(one: Hindrance) -> Hindrance:
        at = [bore.name for bore in first_joint[one.bore.joint].bores].index(one.bore.name)
        there = board[one.board]
        local = first_board[one.board].pose.local_point(one.point)
        bore = joint[one.bore.joint].bores[at]
        return replace(one, bore=bore, board=there.name, point=there.pose.point(local))

    first_joint = {one.name: one for one in first.joints}
    first_board = {one.name: one for one in first.boards}
    if assembly is first:
        return list(steps), list(stuck)
    return [
        Step(
            named(step.boards),
            named(step.onto),
            step.way,
            tuple(joint[one.name] for one in step.joints),
        )
        for step in steps
    ], [Stuck(named(one.boards), tuple(map(hindrance, one.screws))) for one in stuck]


def _assemblies(project: Project, solids: Mapping[str, Sequence[Convex]]) -> list[Assembly]:
    """The boards that hang together by joints, in the project's order."""
    number = {board.name: i for i, board in enumerate(project.boards)}
    links: dict[int, set[int]] = {i: set() for i in number.values()}
    for joint in project.joints:
        if joint.kind != "loose":
            a, b = number[joint.first], number[joint.second]
            links[a].add(b)
            links[b].add(a)
    groups = joined(links, set(links), links)
    group_of = {i: k for k, group in enumerate(groups) for i in group}
    joints: list[list[Joint]] = [[] for _ in groups]
    for joint in project.joints:
        k = group_of[number[joint.first]]
        if k == group_of[number[joint.second]]:
            joints[k].append(joint)
    found = []
    for group, own in zip(groups, joints, strict=True):
        boards = tuple(project.boards[i] for i in sorted(group))
        found.append(Assembly(boards, tuple(own), {b.name: solids[b.name] for b in boards}))
    return found


def _put_together(assembly: Assembly) -> tuple[list[Step], list[Stuck]]:
    """The steps that put an assembly together: taken apart, and read backwards."""
    parting, joints = Parting(assembly), assembly.joints
    steps: list[Step] = []
    stuck: list[Stuck] = []

    def named(some: Iterable[int]) -> tuple[str, ...]:
        return tuple(assembly.boards[i].name for i in sorted(some))

    # Parts that are still to be taken apart, each with boards of it that have to hang together for
    # it to be in one. What was brought in as a whole waits until the rest is done: read backwards,
    # subassemblies are made before anything is joined to them, in the order in which they go in.
    waiting = deque([(parting.whole, set(parting.whole.boards))])
    while waiting:
        part, seeds = waiting.popleft()
        pieces = parting.pieces(part, seeds)
        if len(pieces) > 1:
            # What left held these together; each is made by itself.
            for some in pieces[:-1]:
                piece, part = parting.split(part, some)
                waiting.append((piece, set()))
            waiting.appendleft((part, set()))
            continue
        if len(part.boards) < 2:
            steps.append(Step(named(part.boards), (), None, ()))
            continue
        leaving = parting.leaving(part)
        if leaving is None:
            names = named(part.boards)
            stuck.append(Stuck(tuple(sorted(names)), _ring(assembly, frozenset(names))))
            continue
        some, way = leaving
        x, y, z = assembly.ways[way]
        held = tuple(joints[j] for j in parting.between(some, part))
        group, rest = parting.split(part, some)
        steps.append(Step(named(some), named(rest.boards), (-x, -y, -z), held))
        waiting.appendleft((rest, parting.beside(some, rest)))
        if len(some) > 1:
            waiting.append((group, some))
    return steps[::-1], stuck[::-1]


def _ring(assembly: Assembly, there: frozenset[str]) -> tuple[Hindrance, ...]:
    """The shortest ring: each screw needs away a board that the next screw holds."""
    holding: dict[str, list[Bore]] = defaultdict(list)
    for joint in assembly.joints:
        if joint.first in there and joint.second in there:
            for bore in joint.bores:
                holding[joint.first].append(bore)
                holding[joint.second].append(bore)
    after: dict[str, list[tuple[Hindrance, str]]] = {}
    for name, some in assembly.hindered.items():
        after[name] = [
            (h, bore.name) for h in some if h.board in there for bore in holding[h.board]
        ]
    shortest: tuple[Hindrance, ...] = ()
    for start in after:
        trail: dict[str, tuple[Hindrance, ...]] = {start: ()}
        queue = deque([start])
        while queue:
            here = queue.popleft()
            if shortest and len(trail[here]) + 1 >= len(shortest):
                break
            for hindrance, following in after.get(here, ()):
                path = (*trail[here], hindrance)
                if following == start and (not shortest or len(path) < len(shortest)):
                    shortest = path
                if following not in trail:
                    trail[following] = path
                    queue.append(following)
    return shortest
