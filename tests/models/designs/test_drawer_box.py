"""A drawer: its clearances, its groove, its pockets, its false front, and what is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slantbore.models.judging.judge import judge
from slantbore.models.judging.study import Study
from slantbore.models.piece.board import BOTTOM, TOP
from slantbore.models.piece.project import Project
from slantbore.models.words.errors import RecipeError
from tests.boards import Stated

from .closed import assert_closed, closed_or_refused, planned

HEAD = """\
name: drawers
units: mm
stock:
  box: {sheet: birch-ply-15}
  half: {wood: yellow-poplar, thickness: 12.7}
  thick: {sheet: birch-ply-18}
  thin: {sheet: plywood-1-4}
  front: {wood: hard-maple, thickness: 19}
build:
  - design: drawer-box
    name: drawer
"""
FRONT = "{stock: front, fit: overlay, overlap: 10}"


def recipe(**keys: object) -> str:
    given_keys = {
        "stock": "box",
        "bottom": "thin",
        "opening": "420 x 160",
        "depth": 450,
        "front": FRONT,
        **keys,
    }
    return HEAD + "".join(f"    {key}: {value}\n" for key, value in given_keys.items() if value)


def box_size(project: Project) -> tuple[float, float, float]:
    """Width, depth and height of the box, false front not counted."""
    side = project.board_named["drawer left side"]
    front = project.board_named["drawer front"]
    return front.length + 2 * side.thickness, side.length, side.width


def test_side_slides_take_half_an_inch_a_side() -> None:
    """Common practice, no source: 12.7 mm (1/2 in) on each side of the box."""
    project = planned(recipe())
    assert box_size(project) == pytest.approx((420 - 2 * 12.7, 450, 160 - 6 - 12))
    assert any("12.7 mm a side" in item.detail for item in project.hardware)


def test_wooden_runners_take_little() -> None:
    project = planned(recipe(runner="wooden runners"))
    assert box_size(project) == pytest.approx((417, 450, 157))
    assert not any("slides" in item.name for item in project.hardware)


def test_nothing_fails_and_it_closes() -> None:
    project = planned(recipe())
    assert_closed(project)
    assert not [f for f in judge(project) if f.severity != "notes"]


def test_front_and_back_are_bored_into_the_sides_from_outside() -> None:
    project = planned(recipe())
    assert {bore.pocket_face for bore in project.bores} == {TOP}
    assert {bore.mate for bore in project.bores} == {"drawer left side", "drawer right side"}
    assert {bore.board for bore in project.bores} == {"drawer front", "drawer back"}
    seen = project.board_named["drawer front"].face(TOP).seen
    assert seen == "concealed"


def test_without_a_false_front_the_pockets_of_the_front_are_inside() -> None:
    project = planned(recipe(front=None))
    front = {bore.pocket_face for bore in project.bores if bore.board == "drawer front"}
    assert front == {BOTTOM}
    assert project.board_named["drawer front"].face(TOP).seen == "exposed"


def test_heads_lie_below_the_false_front() -> None:
    project = planned(recipe())
    for bore in project.bores:
        if bore.board == "drawer front":
            board = project.board_named[bore.board]
            sine = board.face(TOP).plane.normal[2] * bore.back[2]
            cosine = (1 - sine * sine) ** 0.5
            top = bore.seat[2] + bore.screw.head_radius * cosine + bore.screw.head_height * sine
            assert top < board.thickness


def test_where_no_head_would_sink_the_pockets_are_inside() -> None:
    project = planned(recipe(stock="half"))
    front = {bore.pocket_face for bore in project.bores if bore.board == "drawer front"}
    assert front == {BOTTOM}


def test_no_bore_comes_near_the_groove() -> None:
    project = planned(recipe())
    gaps = [wall.gap for wall in Study(project).walls if wall.cut]
    assert gaps and min(gaps) >= project.limits.hidden_wall - 1e-6


def test_the_bottom_fills_its_groove_but_for_the_play() -> None:
    project = planned(recipe(groove=7, bottom_play=2))
    bottom = project.board_named["drawer bottom"]
    width, depth, _ = box_size(project)
    assert bottom.length == pytest.approx(width - 2 * 15 + 2 * (7 - 2))
    assert bottom.width == pytest.approx(depth - 2 * 15 + 2 * (7 - 2))


def test_an_inset_front_leaves_its_reveal() -> None:
    project = planned(recipe(front="{stock: front, fit: inset, reveal: 2.5}"))
    front = project.board_named["drawer false front"]
    assert (front.length, front.width) == (415, 155)
    assert_closed(project)


def test_a_bore_at_a_screw_hole_is_found() -> None:
    """The holes of the false front's screws count in every distance; one in a bore's way fails."""
    project = planned(recipe())
    assert min(near.gap for near in Study(project).beside_holes) > project.limits.between
    bore = next(bore for bore in project.bores if bore.board == "drawer front")
    front = project.board_named[bore.board]
    x, y, _ = bore.seat
    moved = replace(front.holes[0], mouth=(x, y + 8.0, 0.0))
    boards = tuple(
        replace(b, work=(Stated((moved, *b.holes[1:])),)) if b is front else b
        for b in project.boards
    )
    changed = replace(project, boards=boards)
    found = [f for f in judge(changed) if f.rule == "too-close"]
    assert [f.bore for f in found] == [bore.name]
    radii = bore.drill.counterbore_radius + moved.radius
    assert found[0].measured == pytest.approx(8.0 - radii, abs=1e-6)


def test_placement_keeps_clear_of_holes() -> None:
    """On a narrow drawer the pockets of the front give way to the holes."""
    project = planned(recipe(opening="190 x 160"))
    assert min(near.gap for near in Study(project).beside_holes) >= project.limits.between - 1e-6


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"opening": "80 x 160"}, "wide"),
        ({"opening": "420 x 60"}, "high"),
        ({"depth": 60}, "deep"),
        ({"groove": 14}, "groove"),
        ({"stock": "bx"}, "did you mean `box`"),
        ({"front": "{stock: front, fit: inset, reveal: 20}"}, "in sight"),
        ({"bottom_play": 7}, "nothing would hold"),
    ],
)
def test_what_makes_no_drawer_is_refused_at_its_place(
    changed: dict[str, object], said: str
) -> None:
    with pytest.raises(RecipeError, match=said) as caught:
        planned(recipe(**changed))
    assert all(problem.location.line > 8 for problem in caught.value.problems)


@settings(max_examples=40)
@given(
    width=st.integers(60, 900),
    height=st.integers(40, 400),
    depth=st.integers(60, 700),
    stock=st.sampled_from(["box", "half", "thick"]),
    bottom=st.sampled_from(["thin", "half"]),
    up=st.integers(1, 40),
    groove=st.integers(2, 16),
    runner=st.sampled_from(["side slides", "wooden runners"]),
    front=st.sampled_from([None, FRONT, "{stock: front, fit: inset, reveal: 2}"]),
)
def test_any_drawer_closes_or_is_refused(
    width: int,
    height: int,
    depth: int,
    stock: str,
    bottom: str,
    up: int,
    groove: int,
    runner: str,
    front: str | None,
) -> None:
    closed_or_refused(
        recipe(
            opening=f"{width} x {height}",
            depth=depth,
            stock=stock,
            bottom=bottom,
            bottom_up=up,
            groove=groove,
            runner=runner,
            front=front,
        )
    )
