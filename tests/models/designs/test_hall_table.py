"""A table: where its boards stand, how its top is free to move, its drawers, what is refused."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from slantbore.models.designs import designs, piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import dot
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, TOP, Board
from slantbore.models.piece.project import Joint, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError
from slantbore.models.work.arch import Arch
from slantbore.models.work.opening import Opening
from slantbore.models.work.taper import Taper

from .closed import overlaps

HEAD = """\
name: tables
units: mm
stock:
  top: {wood: cherry, thickness: 19}
  oak: {wood: red-oak, thickness: 19}
  quarter: {wood: red-oak, thickness: 19, sawn: quarter}
  spruce: {wood: white-spruce, thickness: 19}
  ply: {sheet: birch-ply-18}
  thin: {wood: cherry, thickness: 6}
  legs: {wood: cherry, thickness: 45}
  slim: {wood: cherry, thickness: 22}
  aprons: {wood: cherry, thickness: 19}
  inner: {wood: yellow-poplar, thickness: 19}
  box: {sheet: birch-ply-15}
  weak: {sheet: birch-ply-9}
  bottom: {sheet: plywood-1-4}
build:
  - design: hall-table
    name: table
"""
DRAWER = "{stock: box, bottom: bottom, runner_stock: inner, front: {stock: aprons}%s}"
PLAIN: dict[str, Any] = {
    "size": "1100 x 400",
    "height": 800,
    "top": "{stock: top}",
    "leg_stock": "legs",
    "apron_stock": "aprons",
    "apron_width": 140,
}


def planned(**keys: object) -> Project:
    given_keys = {**PLAIN, **keys}
    lines = "".join(f"    {k}: {v}\n" for k, v in given_keys.items() if v is not None)
    return plan(parse_recipe(HEAD + lines, "table.yaml", piece_models()))


def with_drawers(count: int, more: str = "", **keys: object) -> Project:
    return planned(drawers=count, drawer=DRAWER % more, **keys)


def worst(project: Project) -> list[str]:
    return [f"{f.rule}: {f.message} ({f.board})" for f in judge(project) if f.severity == "fails"]


def opening_of(project: Project, joint: Joint) -> float:
    """How far the two faces of a joint are from lying in one plane (mm)."""
    first, second = project.board_named[joint.first], project.board_named[joint.second]
    a = first.pose.plane(first.face(joint.first_face).plane)
    b = second.pose.plane(second.face(joint.second_face).plane)
    assert dot(a.normal, b.normal) == pytest.approx(-1.0)
    return abs(a.offset + b.offset)


def board(project: Project, role: str) -> Board:
    return next(b for b in project.boards if b.role == role)


def side(project: Project, role: str, face: str) -> float:
    """Offset of a face of a board along its outward normal, in the project's frame (mm)."""
    found = board(project, role)
    return found.pose.plane(found.face(face).plane).offset


def test_a_plain_table_is_sound() -> None:
    project = planned(foot=28)
    assert not [f for f in judge(project) if f.severity != "notes"]
    assert not overlaps(project)
    for joint in project.joints:
        assert opening_of(project, joint) == pytest.approx(0.0, abs=1e-9), joint.name


def test_aprons_are_set_back_from_the_legs() -> None:
    project = planned(setback=6)
    # Overhang 25 mm: the legs' outer faces at y = 25, the front apron's outside 6 mm behind.
    assert side(project, "front apron", TOP) == pytest.approx(-(25 + 6))
    assert side(project, "left apron", TOP) == pytest.approx(-(25 + 6))
    assert side(project, "back apron", TOP) == pytest.approx(400 - 25 - 6)
    assert side(project, "right apron", TOP) == pytest.approx(1100 - 25 - 6)
    leg = board(project, "front left leg")
    assert leg.pose.origin == pytest.approx((25.0, 25.0, 0.0))
    assert leg.length == 800 - 19


def test_legs_are_tapered_on_their_inside_faces_below_the_apron() -> None:
    project = planned(foot=25, taper_gap=30)
    for leg in (b for b in project.boards if b.role.endswith("leg")):
        assert [type(work) for work in leg.work] == [Taper, Taper]
        start = 800 - 19 - 140 - 30
        for region, axis in zip(leg.cuts, (1, 2), strict=True):
            plane = region.faces[0].plane
            at_foot, at_start = [0.0, 10.0, 10.0], [start, 10.0, 10.0]
            at_foot[axis], at_start[axis] = 25.0, 45.0
            for point in (at_foot, at_start):
                assert plane.gap((point[0], point[1], point[2])) == pytest.approx(0.0, abs=1e-9)
        # The two tapered faces look at the other legs: toward the middle of the table.
        for face in (BACK, TOP):
            normal = leg.pose.direction(leg.face(face).plane.normal)
            middle = (550 - leg.pose.origin[0], 200 - leg.pose.origin[1], 0.0)
            assert dot(normal, middle) > 0


def test_three_screws_an_apron_end_staggered_in_the_leg() -> None:
    project = planned()
    corners = [j for j in project.joints if j.kind == "butt"]
    assert len(corners) == 8 and {len(j.bores) for j in corners} == {3}
    two = planned(screws=2, apron_width=80)
    assert {len(j.bores) for j in two.joints if j.kind == "butt"} == {2}


def test_slots_follow_the_movement_of_the_top() -> None:
    """Wood Handbook eq. 13-2; cherry, flat-sawn: 0.00248 per point (Table 13-5)."""
    project = planned(apron_width=140, size="1100 x 400")
    held = [b for j in project.joints if j.kind == "top" for b in j.bores]
    assert {b.board for b in held} >= {"table front apron", "table back apron"}
    for bore in held:
        apron = project.board_named[bore.board]
        away = abs(apron.pose.point(bore.exit)[1] - 200.0)
        needed = 2 * away * 0.00248 * 4
        assert bore.slot >= needed - 0.5 and bore.slot - needed < 0.5 + 1e-9
        if bore.slot:
            assert abs(apron.pose.direction(bore.slot_along)[1]) == pytest.approx(1.0)
    assert max(b.slot for b in held) >= 3.0


def test_a_rigid_top_warns_and_a_sheet_does_not() -> None:
    rigid = [f for f in judge(planned(top="{stock: top, fixing: rigid}")) if f.severity != "notes"]
    assert [f.rule for f in rigid] == ["cross-grain"]
    assert not [f for f in judge(planned(top="{stock: ply}")) if f.severity != "notes"]
    assert not any(b.slot for b in planned(top="{stock: ply}").bores)


def test_arched_aprons_keep_their_drawers_and_pockets() -> None:
    """An arch of 40 mm on all four aprons; openings keep `rail_below` above it."""
    plain, arched = (
        with_drawers(2, size="1500 x 420", apron_width=200, arch=rise) for rise in (None, 40)
    )
    assert not [f for f in judge(arched) if f.severity == "fails"]
    aprons = [b for b in arched.boards if b.role.endswith("apron")]
    arches = [work for apron in aprons for work in apron.work if isinstance(work, Arch)]
    assert [arch.rise for arch in arches] == [40.0] * 4
    lows = [
        next(w.from_edge for w in board(p, "front apron").work if isinstance(w, Opening))
        for p in (plain, arched)
    ]
    assert lows == [22.0, 62.0]
    walls = [wall for wall in Study(arched).walls if wall.target == "arch" and not wall.in_mate]
    assert walls and min(wall.gap for wall in walls) >= arched.limits.show_wall
    assert not overlaps(arched)


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_drawers_run_level_with_their_openings(count: int) -> None:
    project = with_drawers(count, size="1500 x 420")
    assert not worst(project)
    assert not overlaps(project)
    for joint in project.joints:
        if joint.kind not in ("housed", "loose"):
            assert opening_of(project, joint) == pytest.approx(0.0, abs=1e-9), joint.name
    apron = board(project, "front apron")
    assert [type(work) for work in apron.work] == [Opening] * count
    low = apron.pose.origin[2] + 22
    high = apron.pose.origin[2] + 140 - 22
    runners = [b for b in project.boards if b.role.endswith("runner")]
    kickers = [b for b in project.boards if b.role.endswith("kicker")]
    assert len(runners) == len(kickers) == count + 1
    assert {round(b.pose.origin[2] + b.thickness, 9) for b in runners} == {low}
    assert {round(b.pose.origin[2], 9) for b in kickers} == {high}
    # Boxes stand on the runners and keep clear of the guides by 1.5 mm (common practice).
    boxes = [b for b in project.boards if b.role.endswith("left side")]
    assert len(boxes) == count
    for box in boxes:
        assert box.pose.origin[2] == pytest.approx(low)
        gaps = [
            abs(box.pose.origin[0] - guide.pose.origin[0])
            for guide in project.boards
            if guide.role.endswith("guide")
        ]
        assert min(gaps) == pytest.approx(1.5)


def test_stated_openings() -> None:
    project = with_drawers(2, ", opening: 300 x 80, rail_above: 25", apron_width=140)
    apron = board(project, "front apron")
    offsets = [[abs(f.plane.offset) for f in c.faces] for c in apron.cuts]
    length = apron.length
    assert offsets[0] == pytest.approx([length / 2 - 325, length / 2 - 25, 35, 115])
    assert offsets[1] == pytest.approx([length / 2 + 25, length / 2 + 325, 35, 115])


def test_runners_are_butt_joined_by_their_width() -> None:
    project = with_drawers(2)
    counts = {
        joint.name.removeprefix("table "): len(joint.bores)
        for joint in project.joints
        if joint.kind == "butt" and joint.bores
    }
    assert counts["middle runner to front apron"] == 2
    for joint in project.joints:
        if joint.kind == "butt" and len(joint.bores) == 2:
            width = project.board_named[joint.first].width
            assert sum(b.exit[1] for b in joint.bores) == pytest.approx(width, abs=1e-6)


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ({"setback": 30}, "does not lie on the 45 mm leg: at most 26 mm"),
        ({"leg_stock": "thin"}, "take thicker legs"),
        ({"apron_width": 790}, "make the piece higher or the aprons narrower"),
        ({"foot": 45}, "is no taper of a 45 mm leg"),
        ({"size": "1100 x 140"}, "no right apron is left between the legs"),
        ({"top": "{stock: spruce}"}, "no shrinkage of white spruce was published"),
        ({"top": "{stock: top, boards: [320, 80], overhang: 30}"}, ""),
        ({"drawers": 5, "drawer": DRAWER % ""}, "`5`: it must be from 0 to 4"),
        ({"drawers": 2}, "needs a `drawer`"),
        ({"drawers": 4, "drawer": DRAWER % "", "size": "600 x 400"}, "take fewer drawers"),
        ({"drawers": 4, "drawer": DRAWER % "", "size": "700 x 400"}, "would be 70 mm wide"),
        ({"arch": 130}, "an arch 130 mm high leaves too little of the 140 mm aprons: at most 115"),
        ({"arch": 130, "size": "1100 x 390", "apron_width": 200}, "half a circle"),
        (
            {"arch": 30, "drawers": 2, "drawer": DRAWER % ", opening: 300 x 80"},
            "the apron keeps 8 mm there",
        ),
        ({"drawers": 2, "drawer": DRAWER % ", opening: 600 x 80"}, "at most"),
        ({"drawers": 2, "drawer": DRAWER % ", rail_above: 10"}, "leave at least that"),
    ],
)
def test_refusals(keys: dict[str, object], says: str) -> None:
    if not says:
        assert not worst(planned(**keys))
        return
    with pytest.raises(RecipeError) as caught:
        planned(**keys)
    assert says in str(caught.value) and "table.yaml:" in str(caught.value)


@pytest.mark.parametrize(
    ("keys", "rule"),
    [
        ({"apron_width": 30}, "no-window"),
        ({"size": "1100 x 180"}, "no-window"),
        ({"size": "1100 x 320"}, "no-order"),
        ({"top": "{stock: oak}", "size": "1500 x 900"}, "open-slot"),
        ({"top": "{stock: top, boards: [40, 180, 180]}"}, "no-window"),
        # A seam at 380 mm is over the back apron, 350 to 369 mm from the top's front edge.
        ({"top": "{stock: top, boards: [120, 120, 120, 40]}"}, "no-window"),
        ({"top": "{stock: thin, board_width: 500}"}, "no-screw"),
        ({"drawers": 2, "drawer": (DRAWER % "").replace("box", "weak", 1)}, "no-screw"),
        ({"drawers": 2, "drawer": DRAWER % ", rail_above: 80", "apron_width": 190}, "no-order"),
    ],
)
def test_what_can_be_drawn_is_drawn_and_what_is_wrong_is_found(
    keys: dict[str, object], rule: str
) -> None:
    project = planned(**keys)
    found = [f for f in judge(project) if f.rule == rule]
    assert found and all(f.severity == "fails" and f.joint for f in found)
    if rule == "no-screw":  # one fault, one finding
        bare = {f.joint for f in found}
        assert len(found) == len(bare)
        assert {f.rule for f in judge(project) if f.joint in bare and f.bore} == {"no-screw"}


def test_a_drawer_deeper_than_its_table_runs_into_the_apron() -> None:
    found = judge(with_drawers(2, ", depth: 600"))
    met = {f.message for f in found if f.rule == "overlap"}
    assert any("back apron and table drawer 1" in message for message in met), met


def test_starter_checks_clean() -> None:
    project = plan(parse_recipe(designs()["hall-table"].starter, "starter.yaml", piece_models()))
    assert not [f for f in judge(project) if f.severity != "notes"]


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    size=st.tuples(st.integers(250, 2000), st.integers(200, 900)),
    height=st.integers(250, 1000),
    width=st.integers(30, 200),
    setback=st.integers(0, 30),
    foot=st.sampled_from([None, 20, 30, 60]),
    top=st.sampled_from(["top", "oak", "quarter", "ply", "thin"]),
    legs=st.sampled_from(["legs", "slim"]),
    screws=st.integers(1, 4),
    drawers=st.integers(0, 4),
    overhang=st.integers(0, 80),
    rails=st.tuples(st.integers(10, 50), st.integers(10, 50)),
)
def test_any_table_is_sound_or_refused(
    size: tuple[int, int], height: int, width: int, setback: int, foot: int | None, top: str,
    legs: str, screws: int, drawers: int, overhang: int, rails: tuple[int, int],
) -> None:  # fmt: skip
    keys: dict[str, object] = {
        "size": f"{size[0]} x {size[1]}", "height": height, "apron_width": width,
        "setback": setback, "foot": foot, "top": f"{{stock: {top}, overhang: {overhang}}}",
        "leg_stock": legs, "screws": screws, "drawers": drawers,
        "drawer": DRAWER % f", rail_above: {rails[0]}, rail_below: {rails[1]}",
    }  # fmt: skip
    try:
        project = planned(**keys)
    except RecipeError as error:
        assert "table.yaml:" in str(error)
        return
    failing = {f.rule for f in judge(project) if f.severity == "fails"}
    assert not failing or failing & {"no-window", "no-screw", "no-order", "out-of-reach"}, keys
    assert not overlaps(project), keys
    assert all(math.isfinite(v) for b in project.boards for v in b.pose.origin)
    for joint in project.joints:
        if joint.kind not in ("housed", "loose"):
            assert opening_of(project, joint) == pytest.approx(0.0, abs=1e-9), joint.name
    assert {FRONT, BOTTOM} <= set(project.boards[0].by_side)
