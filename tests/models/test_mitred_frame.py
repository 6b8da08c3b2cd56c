"""Mitred frames: they close, they have the size asked for, and whatever is asked ends well."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.maths.geometry import Vec, dot
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError

CLOSE = 1e-6  # mm


def frame(keys: str, thickness: float = 19.05, more: str = "") -> Project:
    """A frame of red oak from the keys of its piece, in flow style; lengths in mm."""
    text = (
        "name: test\nunits: mm\n"
        f"stock:\n  rails: {{wood: red-oak, thickness: {thickness!r}}}\n{more}"
        f"build:\n  - {{design: mitred-frame, stock: rails, {keys}}}\n"
    )
    return plan(parse_recipe(text, "frame.yaml", piece_models()))


def corners(board: Board, side: str) -> list[Vec]:
    """Corners of an end of a rail, in the project's frame, sorted."""
    x = {LEFT: 0.0, RIGHT: board.length}[side]
    inward = 1.0 if side == LEFT else -1.0
    normal = board.face(side).plane.normal
    # Along the end's plane, from the long edge to the short one.
    lean = inward * abs(normal[1] / normal[0]) * board.width
    found = (
        board.pose.point(p)
        for z in (0.0, board.thickness)
        for p in ((x, 0.0, z), (x + lean, board.width, z))
    )
    return sorted(found, key=lambda p: [round(value, 6) + 0.0 for value in p])


@pytest.mark.parametrize("sides", range(3, 13))
def test_neighbouring_mitres_coincide(sides: int) -> None:
    size = "sight: 400 x 600" if sides == 4 else "sight: 500 x 500"
    project = frame(f"sides: {sides}, rail_width: 60, {size}")
    assert len(project.boards) == len(project.joints) == sides
    for joint in project.joints:
        first, second = (project.board_named[n] for n in (joint.first, joint.second))
        ends = corners(first, joint.first_face), corners(second, joint.second_face)
        assert np.abs(np.array(ends[0]) - np.array(ends[1])).max() < CLOSE
        a = first.pose.plane(first.face(joint.first_face).plane)
        b = second.pose.plane(second.face(joint.second_face).plane)
        assert dot(a.normal, b.normal) == pytest.approx(-1.0, abs=1e-12)
        assert a.offset + b.offset == pytest.approx(0.0, abs=CLOSE)


@pytest.mark.parametrize("sides", range(3, 13))
def test_rails_turn_once_around_and_share_no_wood(sides: int) -> None:
    project = frame(f"sides: {sides}, rail_width: 60, sight: 500 x 500")
    rails = project.boards
    turn = math.cos(2 * math.pi / sides)
    for a, b in pairwise([*rails, rails[0]]):
        assert dot(a.pose.x, b.pose.x) == pytest.approx(turn, abs=1e-12)
        # The mitre parts neighbours: all of b lies beyond a's right end.
        plane = a.pose.plane(a.face(RIGHT).plane)
        for side in (LEFT, RIGHT):
            assert all(plane.gap(p) <= CLOSE for p in corners(b, side))
    # What is not neighbouring is parted by the plane of an inside edge.
    for i, a in enumerate(rails):
        for j, b in enumerate(rails):
            if (i - j) % sides in (0, 1, sides - 1):
                continue
            plane = a.pose.plane(a.face(BACK).plane)
            points = [p for side in (LEFT, RIGHT) for p in corners(b, side)]
            assert all(plane.gap(p) <= CLOSE for p in points)


@pytest.mark.parametrize("sides", range(3, 13))
def test_the_sight_size_is_as_asked(sides: int) -> None:
    """Across the flats: twice the distance from the centre to an inside edge."""
    project = frame(f"sides: {sides}, rail_width: 60, sight: 500 x 500")
    points = np.array([p for b in project.boards for p in corners(b, LEFT)])
    centre = points.mean(axis=0)
    for board in project.boards:
        inside = board.pose.plane(board.face(BACK).plane)
        outside = board.pose.plane(board.face(FRONT).plane)
        middle: Vec = (float(centre[0]), float(centre[1]), float(centre[2]))
        assert -inside.gap(middle) == pytest.approx(250.0, abs=CLOSE)
        assert outside.gap(middle) == pytest.approx(310.0, abs=CLOSE)


def shapes(project: Project) -> list[object]:
    return [(b.name, b.length, b.width, b.faces, b.cuts, b.pose) for b in project.boards]


def test_three_ways_to_say_one_size_make_one_frame() -> None:
    keys = "rail_width: 60, rebate: {width: 10, depth: 9}"
    sight = frame(f"{keys}, sight: 400 x 600")
    assert shapes(sight) == shapes(frame(f"{keys}, rebate_size: 420 x 620"))
    assert shapes(sight) == shapes(frame(f"{keys}, outside: 520 x 720"))
    assert [b.length for b in sight.boards] == [520.0, 720.0, 520.0, 720.0]


def test_the_glass_has_its_clearance_on_every_side() -> None:
    project = frame("rail_width: 60, rebate: {width: 10, depth: 9, clearance: 2}, sight: 400 x 600")
    (glass,) = project.hardware
    # 400 + 2 x 10 - 2 x 2
    assert "416 mm x 616 mm" in glass.detail
    assert "9 mm thick" in glass.detail


def test_the_back_is_hidden_and_what_one_sees_shows() -> None:
    for board in frame("rail_width: 60, sight: 400 x 600").boards:
        seen = {board.face(side).name: board.face(side).seen for side in (TOP, BOTTOM, FRONT, BACK)}
        assert seen == {
            "front": "exposed", "back": "concealed", "outside edge": "exposed",
            "inside edge": "exposed",
        }  # fmt: skip
        # The front looks at the viewer: the piece's y runs to the back.
        assert board.pose.direction(board.face(TOP).plane.normal) == pytest.approx((0, -1, 0))


@pytest.mark.parametrize(
    ("bored", "who"),
    [
        ("rails", {"bottom rail": 2, "top rail": 2}),
        ("stiles", {"left stile": 2, "right stile": 2}),
        ("alternate", {"bottom rail": 2, "top rail": 2}),
        ("turn", {"bottom rail": 1, "right stile": 1, "top rail": 1, "left stile": 1}),
    ],
)
def test_which_rails_are_bored(bored: str, who: dict[str, int]) -> None:
    project = frame(f"rail_width: 60, sight: 400 x 600, bored: {bored}")
    found: dict[str, int] = {}
    for bore in project.bores:
        role = project.board_named[bore.board].role
        found[role] = found.get(role, 0) + 1
        assert bore.pocket_face == BOTTOM
    assert found == who


def test_both_members_of_a_corner_are_bored_apart() -> None:
    project = frame("rail_width: 90, sight: 400 x 600, pockets: 2, bored: both")
    for joint in project.joints:
        assert {bore.board for bore in joint.bores} == {joint.first, joint.second}
    assert not [f for f in judge(project) if f.severity == "fails"]


def test_a_frame_does_not_depend_on_where_it_hangs() -> None:
    here = frame("rail_width: 38.1, sight: 300 x 450")
    there = frame("rail_width: 38.1, sight: 300 x 450, at: {x: 900, y: -70, turn: 33}")
    for a, b in zip(here.bores, there.bores, strict=True):
        assert (a.exit, a.back, a.swing, a.window) == (b.exit, b.back, b.swing, b.window)
    assert [f.rule for f in judge(here)] == [f.rule for f in judge(there)]


def test_a_narrow_rail_square_to_its_mitre_fails_and_swung_it_does_not() -> None:
    keys = "rail_width: 38.1, sight: 300 x 450"
    failing = [f for f in judge(frame(f"{keys}, swing: 0")) if f.rule == "no-window"]
    assert failing
    assert all(f.severity == "fails" for f in failing)
    assert not [f for f in judge(frame(keys)) if f.severity == "fails"]


@pytest.mark.parametrize("width", [35.2, 35.8, 36.4])
def test_a_tight_place_warns_where_none_would_fail(width: float) -> None:
    project = frame(f"rail_width: {width}, sight: 300 x 450, swing: 15")
    rules = {f.rule: f.severity for f in project.findings}
    window = project.bores[0].window
    assert window.low < window.position < window.high
    assert rules == {"narrow-window": "warns"}
    assert not [f for f in judge(project) if f.severity == "fails"]


def test_glass_that_would_fall_through_is_refused() -> None:
    with pytest.raises(RecipeError, match="clearance"):
        frame("rail_width: 60, sight: 400 x 600, rebate: {width: 5, depth: 8, clearance: 5}")


LENGTHS = st.one_of(st.floats(0.5, 20.0), st.floats(20.0, 120.0), st.floats(100.0, 1500.0))


@st.composite
def asked(draw: st.DrawFn) -> tuple[str, float, str]:
    """Keys of a frame, often senseless; thickness; limits."""
    sides = draw(st.integers(3, 12) | st.just(4))
    long = draw(LENGTHS)
    size = f"{long!r} x {draw(LENGTHS) if sides == 4 else long!r}"
    how = draw(st.sampled_from(["sight", "sight", "outside", "rebate_size"]))
    keys = [f"sides: {sides}", f"rail_width: {draw(st.floats(5.0, 200.0))!r}", f"{how}: {size}"]
    if draw(st.booleans()):
        width, depth, free = (draw(st.floats(0.5, 40.0)) for _ in range(3))
        keys.append(f"rebate: {{width: {width!r}, depth: {depth!r}, clearance: {free / 4!r}}}")
    keys.append(f"pockets: {draw(st.integers(1, 2))}")
    bored = draw(st.sampled_from(["", "rails", "stiles", "alternate", "turn", "both"]))
    if bored:
        keys.append(f"bored: {bored}")
    keys.append(f"swing: {draw(st.sampled_from(['auto', 'auto', '0', '12.5', '45']))}")
    if draw(st.booleans()):
        keys.append("seen: {back: exposed, inside edge: concealed}")
    wall = draw(st.floats(0.1, 8.0))
    limits = f"limits: {{show_wall: {wall!r}, tolerance: {draw(st.sampled_from([0, 1.5, 4]))}}}\n"
    return ", ".join(keys), draw(st.sampled_from([6.0, 12.7, 19.05, 25.4, 38.1])), limits


@settings(max_examples=12)
@given(asked())
def test_whatever_is_asked_is_a_closed_frame_or_a_clear_refusal(
    what: tuple[str, float, str],
) -> None:
    keys, thickness, limits = what
    try:
        project = frame(keys, thickness, limits)
    except RecipeError as error:
        for problem in error.problems:
            assert problem.location.file == "frame.yaml"
            assert problem.location.line > 1
            assert problem.message
        return
    for joint in project.joints:
        ends = [
            corners(project.board_named[name], side)
            for name, side in (
                (joint.first, joint.first_face),
                (joint.second, joint.second_face),
            )
        ]
        assert np.abs(np.array(ends[0]) - np.array(ends[1])).max() < CLOSE
        for bore in joint.bores:
            board = project.board_named[bore.board]
            assert board.face(bore.joint_face).plane.gap(bore.exit) == pytest.approx(0, abs=CLOSE)
            assert board.inside(bore.exit, CLOSE)
    found = judge(project)
    for finding in found:
        assert finding.message
        assert finding.measured is None or math.isfinite(finding.measured)
    # A corner without a window fails by a rule, too: placement and rules see the same walls.
    placed = {f.joint for f in project.findings if f.rule == "no-window"}
    ruled = {f.joint for f in found if f.rule not in ("no-window", "narrow-window")}
    assert placed <= ruled
