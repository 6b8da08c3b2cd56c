"""The order of assembly: what it says can be done and as makers do it, and what it costs."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from slantbore.models.designs import designs, piece_models
from slantbore.models.judging import obstacles, order
from slantbore.models.judging.order import assembly_order
from slantbore.models.judging.reach import hindrances
from slantbore.models.maths.geometry import Pose, Vec, vec
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board
from slantbore.models.piece.convex import Convex, meets, standing
from slantbore.models.piece.project import Bore, Joint, JointKind, PocketId, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe, read_recipe
from tests.boards import blank
from tests.generators.small import PINE, bore

RECIPES = Path(__file__).parents[2] / "recipes"
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
        order, solids = assembly_order(project), {b.name: standing(b) for b in project.boards}
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


def shelves(count: int) -> Project:
    """A shelf of about so many boards: every second one an edging that is glued up with a panel."""
    heights = ", ".join(str(60 + 300 * i) for i in range(count // 2 - 1))
    text = (
        "name: stack\nunits: mm\nstock:\n  board: {sheet: plywood-3-4}\n"
        "  edge: {wood: cherry, thickness: 20}\nbuild:\n"
        "  - design: edged-shelf\n    stock: board\n    edging_stock: edge\n    length: 700\n"
        "    depth: 300\n    edges: [front]\n    edging_width: 40\n"
        f"    sides: {{stock: board, height: {150 * count}, shelves: [{heights}]}}\n"
    )
    return plan(parse_recipe(text, "stack.yaml", piece_models()))


@pytest.mark.parametrize("made", [panel, shelves])
def test_boards_side_by_side_cost_a_few_questions_each(
    made: Callable[[int], Project], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = [0]

    def counted(a: Convex, b: Convex, way: np.ndarray | None = None) -> bool:
        asked[0] += 1
        return meets(a, b, way)

    monkeypatch.setattr(obstacles, "meets", counted)
    found = {}
    for count in (20, 80):
        project = made(count)
        asked[0] = 0
        order = assembly_order(project)
        names = {name for step in order.steps for name in step.boards}
        assert not order.stuck and len(names) == len(project.boards) == count
        found[count] = asked[0]
    assert found[20] > 0
    assert found[80] <= 4.2 * found[20]  # asking for every pair would be 16 times as much


# --- practice ------------------------------------------------------------------------------------


def recipe(name: str) -> Project:
    return plan(read_recipe(RECIPES / f"{name}.yaml", piece_models()))


def when(project: Project, *roles: str) -> int:
    """The step after which some boards of the only piece hang together."""
    group = {board.name: {board.name} for board in project.boards}
    names = {board.name for board in project.boards if board.role in roles}
    assert len(names) == len(roles)
    for number, step in enumerate(assembly_order(project).steps):
        for joint in step.joints:
            both = group[joint.first] | group[joint.second]
            group |= dict.fromkeys(both, both)
        if names <= group[min(names)]:
            return number
    raise AssertionError(roles)


@pytest.mark.parametrize("path", sorted(RECIPES.glob("*.yaml")), ids=lambda path: path.stem)
def test_what_is_glued_up_is_glued_up_before_anything_else_is_joined_to_it(path: Path) -> None:
    project = plan(read_recipe(path, piece_models()))
    joined: set[str] = set()
    for step in assembly_order(project).steps:
        for joint in step.joints:
            ends = {joint.first, joint.second}
            if joint.kind in ("edge", "edging"):
                assert not joined & ends
        joined |= {
            name
            for joint in step.joints
            if joint.kind not in ("edge", "edging")
            for name in (joint.first, joint.second)
        }


def test_end_frames_are_closed_before_the_long_rails_and_the_top_comes_last() -> None:
    table = recipe("entry-table")
    frames = [
        when(table, "front left leg", "left apron", "back left leg"),
        when(table, "front right leg", "right apron", "back right leg"),
    ]
    top = when(table, "top board 1", "top board 3")
    base = when(table, "front left leg", "front apron", "back apron", "back right leg")
    lid = when(table, "top board 2", "back apron")
    assert max(*frames, top) < when(table, "front left leg", "front apron") < base < lid
    assert when(table, "left kicker", "middle kicker", "right kicker", "front apron") < lid


def test_the_top_comes_last_where_a_driver_fits_below_it() -> None:
    starter = plan(parse_recipe(designs()["free-form"].starter, "starter.yaml", piece_models()))
    bench = recipe("boot-bench")
    for project in (starter, bench):
        order = assembly_order(project)
        assert not order.stuck
        assert [project.board_named[name].role for name in order.steps[-1].boards] == ["top"]
    frame = when(bench, "left side", "right side", "front rail", "back rail", "shelf")
    assert frame < when(bench, "top", "left side")
    # A longer driver does not stand between shelf and top: then the shelf has to wait.
    text = (RECIPES / "boot-bench.yaml").read_text(encoding="utf-8")
    assert "driver: compact" in text
    longer = text.replace("driver: compact", "driver: full-size")
    order = assembly_order(plan(parse_recipe(longer, "bench.yaml", piece_models())))
    assert not order.stuck and order.steps[-1].boards == ("bench shelf",)


def test_dividers_come_before_the_outer_stile() -> None:
    frame = recipe("face-frame")
    ladder = when(frame, "top rail", "middle stile", "bottom rail")
    assert ladder < min(
        when(frame, "left stile", "top rail"), when(frame, "right stile", "top rail")
    )


def test_rings_are_closed_from_two_halves() -> None:
    mirror = recipe("octagon-mirror")
    last = assembly_order(mirror).steps[-1]
    assert len(last.boards) == 4 and len(last.joints) == 2


def test_a_face_frame_is_made_by_itself() -> None:
    base = recipe("sink-base")
    step = next(step for step in assembly_order(base).steps if len(step.boards) > 1)
    assert {board.role for board in base.boards if board.name in step.boards} == {
        board.role for board in base.boards if board.role.startswith("face frame ")
    }


def test_copies_go_together_as_each_would_by_itself() -> None:
    text = (RECIPES / "kitchenette.yaml").read_text(encoding="utf-8")
    text = text.replace("name: sink base\n", "name: sink base\n    quantity: 3\n", 1)
    project = plan(parse_recipe(text, "kitchenette.yaml", piece_models()))
    assert "sink base 3" in {board.piece for board in project.boards}
    solids = {board.name: standing(board) for board in project.boards}
    alone = [order._put_together(some)[0] for some in order._assemblies(project, solids)]
    assert assembly_order(project).steps == tuple(step for steps in alone for step in steps)
