"""The order of assembly: what it says can be done, what it gives up cannot, and what it costs."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest

from slantbore.models.designs import piece_models
from slantbore.models.judging import obstacles
from slantbore.models.judging.order import assembly_order
from slantbore.models.judging.reach import hindrances
from slantbore.models.maths.geometry import Pose, Vec, vec
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board
from slantbore.models.piece.convex import Convex, all_standing, meets
from slantbore.models.piece.project import Bore, Joint, JointKind, PocketId, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from tests.boards import blank
from tests.generators.small import PINE, bore

FAR = 2000.0  # mm
SIDES = ((LEFT, RIGHT), (FRONT, BACK), (BOTTOM, TOP))
AXES: tuple[Vec, ...] = ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1))

Block = tuple[list[float], list[float]]


def blocks(rng: random.Random) -> list[Block]:
    """A cube cut up at random, some of its blocks taken away: lowest and highest corners, mm."""
    cut: list[Block] = [([0.0] * 3, [400.0] * 3)]
    count = rng.choice((6, 9, 14))
    while len(cut) < count:
        i, axis = rng.randrange(len(cut)), rng.randrange(3)
        low, high = cut[i]
        at = low[axis] + (high[axis] - low[axis]) * rng.choice((0.25, 0.5, 0.75))
        if min(at - low[axis], high[axis] - at) >= 20.0:
            middle, start = list(high), list(low)
            middle[axis] = start[axis] = at
            cut[i] = (low, middle)
            cut.append((start, high))
    return [block for block in cut if rng.random() < 0.85]


def pile(seed: int) -> Project:
    """Blocks side by side, joined at random, some with a pocket."""
    rng = random.Random(seed)
    some = blocks(rng)
    boards = [
        blank(f"board {i}", "pile", f"board {i}", replace(PINE, thickness=high[2] - low[2]),
              high[0] - low[0], high[1] - low[1], pose=Pose(vec(np.array(low))))
        for i, (low, high) in enumerate(some)
    ]  # fmt: skip
    joints: list[Joint] = []
    for i, (_, top) in enumerate(some):
        for k, (start, end) in enumerate(some):
            for axis in range(3):
                across = [o for o in range(3) if o != axis]
                apart = any(min(top[o], end[o]) - max(some[i][0][o], start[o]) < 1 for o in across)
                if top[axis] == start[axis] and not apart and rng.random() < 0.7:
                    ends = [(boards[i], SIDES[axis][1]), (boards[k], SIDES[axis][0])]
                    rng.shuffle(ends)
                    joints.append(joint(rng, f"joint {len(joints)}", ends, axis))
    return Project("pile", "mm", tuple(boards), tuple(joints))


def joint(rng: random.Random, name: str, ends: list[tuple[Board, str]], axis: int) -> Joint:
    (first, face), (second, other) = ends
    kind: JointKind = rng.choice(("butt", "housed", "loose"))
    bores: tuple[Bore, ...] = ()
    if axis != 2 and rng.random() < 0.4:
        exit = [first.length * 0.4, first.width * 0.6, first.thickness - 10.0]
        exit[axis] = (first.length, first.width)[axis] if face in (RIGHT, BACK) else 0.0
        kind, at = "butt", vec(np.array(exit))
        bores = (bore(PocketId(name), first, face, at, second.name, other),)
    return Joint(name, kind, first.name, face, second.name, other, bores)


def runs_into(solids: dict[str, tuple[Convex, ...]], one: str, way: Vec, other: str) -> bool:
    """Whether a board that leaves by a way runs into another one."""
    move = FAR * np.array(way)
    return any(meets(a, b, move) for b in solids[one] for a in solids[other])


def test_orders_of_random_piles_can_be_carried_out() -> None:
    steps = stuck = groups = 0
    for seed in range(60):
        project = pile(seed)
        order, solids = assembly_order(project), all_standing(project.boards)
        for step in order.steps:
            there = {name: solids[name] for name in (*step.onto, *step.boards)}
            assert not hindrances(step.bores, project.board_named, there)
            back: Vec = (0.0, 0.0, 0.0) if step.way is None else vec(-np.array(step.way))
            assert not any(
                runs_into(solids, name, back, other) for name in step.boards for other in step.onto
            )
            steps += 1
            groups += len(step.boards) > 1
        made = [joint.name for step in order.steps for joint in step.joints]
        assert len(made) == len(set(made))
        held = {joint.name for joint in project.joints if joint.kind != "loose"} - set(made)
        ends = {j.name: {j.first, j.second} for j in project.joints}
        assert all(any(ends[name] <= set(s.boards) for s in order.stuck) for name in held)
        for left in order.stuck:
            stuck += 1
            assert not any(may_leave(project, solids, name, left.boards) for name in left.boards)
    assert steps > 300 and groups > 3 and stuck > 1


def may_leave(
    project: Project, solids: dict[str, tuple[Convex, ...]], name: str, there: tuple[str, ...]
) -> bool:
    """Whether a board may leave some others along an axis, asked one by one."""
    held = [j for j in project.joints if name in (j.first, j.second)]
    held = [j for j in held if {j.first, j.second} <= set(there)]
    bores = [bore for joint in held for bore in joint.bores]
    if hindrances(bores, project.board_named, {other: solids[other] for other in there}):
        return False
    rest = [other for other in there if other != name]
    return any(not any(runs_into(solids, name, way, o) for o in rest) for way in AXES)


def panel(count: int) -> Project:
    """A panel of so many boards."""
    text = (
        "name: top\nunits: mm\nstock:\n  top: {wood: cherry, thickness: 20}\nbuild:\n"
        f"  - {{design: panel, stock: top, size: 600 x {60 * count}, board_width: 60}}\n"
    )
    return plan(parse_recipe(text, "top.yaml", piece_models()))


def test_boards_side_by_side_cost_a_few_questions_each(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = [0]

    def counted(a: Convex, b: Convex, way: np.ndarray | None = None) -> bool:
        asked[0] += 1
        return meets(a, b, way)

    monkeypatch.setattr(obstacles, "meets", counted)
    found = {}
    for count in (20, 80):
        project = panel(count)
        asked[0] = 0
        order = assembly_order(project)
        assert not order.stuck and len(order.steps) == len(project.boards) == count
        found[count] = asked[0]
    assert found[20] > 0
    assert found[80] <= 4.2 * found[20]  # asking for every pair would be 16 times as much
