"""Boards in one place and faces that do not meet, in closed form: depths and areas by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from slantbore.models.designs import piece_models
from slantbore.models.judging.contacts import mouth
from slantbore.models.judging.rules import rules
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import Pose, turned
from slantbore.models.piece.board import BOTTOM, LEFT, RIGHT, TOP, Board, Stock
from slantbore.models.piece.contact import overlaps, shared_area, surface
from slantbore.models.piece.convex import meets, standing
from slantbore.models.piece.project import Finding, Joint, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe, read_recipe
from tests.boards import Stated, blank, cut

RECIPES = sorted((Path(__file__).parents[2] / "recipes").glob("*.yaml"))
OAK = Stock("boards", "red-oak", "red oak", 20.0, "hardwood")
CASES = """\
name: two cases
units: inch
stock:
  sheet: {sheet: plywood-3-4}
build:
  - {design: case, name: left base, stock: sheet, size: 24 x 34-1/2, depth: 23-1/4, at: {x: 0}}
  - {design: case, name: right base, stock: sheet, size: 24 x 34-1/2, depth: 23-1/4, at: {x: %s}}
"""


def cases(x: str) -> Project:
    return plan(parse_recipe(CASES % x, "cases.yaml", piece_models()))


def board(name: str, pose: Pose, length: float = 300.0, width: float = 80.0) -> Board:
    return blank(name, name, name, OAK, length, width, pose=pose)


def of(*boards: Board, joints: tuple[Joint, ...] = ()) -> Project:
    return Project("trial", "mm", boards, joints)


def told(project: Project, code: str) -> list[Finding]:
    return list(rules()[code].check(Study(project)))


# --- overlap -------------------------------------------------------------------------------------


@pytest.mark.parametrize("x", ["24", "24.001", "30", "-24"])
def test_cases_side_by_side_may_touch(x: str) -> None:
    assert not told(cases(x), "overlap")


@pytest.mark.parametrize("x", ["20", "23-15/16"])
def test_a_case_set_into_its_neighbour_fails(x: str) -> None:
    found = told(cases(x), "overlap")
    assert found
    for finding in found:
        assert finding.severity == "fails"
        assert finding.point is not None
    # Side against side: as deep as the cases are, or as a side is thick.
    deep = '3/4"' if x == "20" else '1/16"'
    sides = [f for f in found if f.board == "left base right side"]
    assert sides and any(f.message.endswith(f"by {deep}") for f in sides)
    assert not told(cases("24"), "overlap")


def test_a_panel_in_its_groove_touches_and_a_proud_one_overlaps() -> None:
    groove = cut(
        "groove",
        {"floor": ((0, 0, -1), -12.0), "front wall": ((0, -1, 0), -20.0),
         "back wall": ((0, 1, 0), 26.0)},
    )  # fmt: skip
    upright = replace(board("upright", Pose()), work=(Stated((groove,)),))
    panel = blank(
        "panel", "panel", "panel", OAK, 300.0, 50.0, thickness=6.0,
        pose=Pose((0.0, 26.0, 12.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    )  # fmt: skip
    assert not told(of(upright, panel), "overlap")
    for x, y, z, deep in ((0, 26.25, 12.0, 0.25), (0, 26, 11.5, 0.5)):
        (found,) = told(of(upright, panel.placed(replace(panel.pose, origin=(x, y, z)))), "overlap")
        assert found.measured == pytest.approx(-deep)
        assert found.board == "upright"


def test_the_least_way_out_of_a_board_at_a_turn() -> None:
    """A board stood on its corner at 45 degrees in another's top: as deep as the corner is in."""
    half = math.sqrt(0.5)
    flat = board("flat", Pose())
    corner = board("corner", Pose((100.0, 0.0, 20.0 - 3.0), (half, 0.0, half), (0.0, 1.0, 0.0)))
    (found,) = overlaps({b.name: standing(b) for b in (flat, corner)})
    assert found.depth == pytest.approx(3.0)
    assert found[:2] == ("flat", "corner")
    x, y, z = found.point
    assert abs(x - 100.0) < 3.0 and 0 < y < 80 and 17.0 < z < 20.0


def _anywhere() -> st.SearchStrategy[Board]:
    def at(x: float, y: float, z: float, axis: int, turn: float, mitre: float) -> Board:
        about = tuple(float(i == axis) for i in range(3))
        own = [turned(v, about, turn) for v in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))]  # type: ignore[arg-type]
        return blank("b", "b", "b", OAK, 200.0, 60.0, left_mitre=mitre,
                     pose=Pose((x, y, z), own[0], own[1]))  # fmt: skip

    side = st.floats(-150, 150)
    turn = st.sampled_from([0.0, 90.0, 30.0, 45.0, 17.3])
    return st.builds(at, side, side, side, st.integers(0, 2), turn, st.sampled_from([0.0, 45.0]))


@given(st.lists(_anywhere(), min_size=2, max_size=6))
def test_the_pairs_at_once_are_the_pairs_one_by_one(boards: list[Board]) -> None:
    named = {str(i): standing(b) for i, b in enumerate(boards)}
    # `meets` looks past a hair.
    deep = {(one.first, one.second) for one in overlaps(named) if one.depth > 1e-4}
    assert deep == {(a, b) for a, b in combinations(named, 2)
                    if any(meets(p, q) for p in named[a] for q in named[b])}  # fmt: skip


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
def test_shipped_recipes_close_and_keep_out_of_each_other(path: Path) -> None:
    project = plan(read_recipe(path, piece_models()))
    assert not told(project, "overlap") and not told(project, "gap")


# --- faces that meet -----------------------------------------------------------------------------


def corner_of(off: float = 0.0, up: float = 0.0, **more: object) -> Project:
    """A shelf whose left end meets the bottom face of an upright, which looks to +x."""
    upright = board("upright", Pose((0, 0, 0), (0, 0, 1), (0, 1, 0)))
    shelf = board("shelf", Pose((off, 0.0, 150.0 + up)))
    joint = Joint("end", "butt", "shelf", LEFT, "upright", BOTTOM)
    return of(upright, shelf, joints=(replace(joint, **more),))  # type: ignore[arg-type]


def test_faces_that_meet_share_their_area() -> None:
    project = corner_of()
    upright, shelf = project.boards
    here = surface(shelf, LEFT, standing(shelf))
    there = surface(upright, BOTTOM, standing(upright))
    assert shared_area(here, there) == pytest.approx(80 * 20)
    assert here.area == pytest.approx(80 * 20) and there.area == pytest.approx(300 * 80)
    assert not told(project, "gap")


@pytest.mark.parametrize(
    ("project", "said", "open_by"),
    [
        (corner_of(off=0.01), "facing each other", 0.01),
        (corner_of(off=-2e-6), "facing each other", 2e-6),
        (corner_of(up=150.0), "but do not meet", 0.0),
        (corner_of(second_face=TOP), "facing each other", math.inf),
        (corner_of(second_face=LEFT), "facing each other", None),
    ],
)
def test_an_open_joint_fails(project: Project, said: str, open_by: float | None) -> None:
    (found,) = told(project, "gap")
    assert (found.severity, found.joint, found.board) == ("fails", "end", "shelf")
    assert found.message.endswith(said)
    if open_by is not None:
        assert found.measured == pytest.approx(open_by, abs=1e-9)


def test_a_face_that_a_cut_takes_away_cannot_meet() -> None:
    project = corner_of()
    notch = cut("notch", {"wall": ((1, 0, 0), 40.0)})
    shelf = replace(project.boards[1], work=(Stated((notch,)),))
    (found,) = told(replace(project, boards=(project.boards[0], shelf)), "gap")
    assert found.message.endswith("one of them is cut away")
    assert found.point is None


def test_a_face_meets_the_wall_of_a_cut() -> None:
    """A tongue's end on the floor of a groove; beside the groove, in the same plane, is wood."""
    groove = cut(
        "groove",
        {"floor": ((0, 0, 1), 8.0), "front wall": ((0, -1, 0), -20.0),
         "back wall": ((0, 1, 0), 60.0)},
    )  # fmt: skip
    upright = replace(
        board("upright", Pose((0, 0, 0), (0, 0, 1), (0, 1, 0))), work=(Stated((groove,)),)
    )
    side = "groove floor"
    there = surface(upright, side, standing(upright))
    assert there.area == pytest.approx(40 * 300)
    joint = Joint("end", "butt", "tongue", LEFT, "upright", side)
    for y, width, found in ((20.0, 40.0, 0), (20.0, 41.0, 0), (62.0, 10.0, 1)):
        tongue = board("tongue", Pose((-8.0, y, 150.0)), width=width)
        assert len(told(of(upright, tongue, joints=(joint,)), "gap")) == found


def test_loose_parts_may_stand_apart() -> None:
    assert not told(corner_of(off=0.5, kind="loose"), "gap")
    assert told(corner_of(off=0.5, kind="butt"), "gap")


def test_pilots_press_on_nothing() -> None:
    """Faces that share no more than the mouths of their pilots do not meet."""
    project = cases("24")
    joint = next(j for j in project.joints if j.bores)
    mouths = sum(mouth(project.board_named[bore.board], bore) for bore in joint.bores)
    radius = joint.bores[0].pilot_radius
    slope = math.radians(joint.bores[0].slope)
    assert mouths == pytest.approx(len(joint.bores) * math.pi * radius**2 / math.cos(slope))


def test_a_face_is_turned_with_its_board() -> None:
    one = board("one", Pose((5.0, 6.0, 7.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)))
    end = surface(one, RIGHT, standing(one))
    assert end.plane.normal == pytest.approx((0.0, 1.0, 0.0))
    assert np.ptp(end.corners, axis=0) == pytest.approx([20.0, 0.0, 80.0])
