"""A glued-up panel: its boards, the layout of its pockets, its marks, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slantbore.models.designs import designs, piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.piece.board import BOTTOM, TOP
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError
from slantbore.models.work.pencil import PencilMark

HEAD = """\
name: tops
units: mm
stock:
  top: {wood: hard-maple, thickness: 19}
  quarter: {wood: hard-maple, thickness: 19, sawn: quarter}
  thin: {wood: hard-maple, thickness: 6}
  sheet: {sheet: birch-ply-18}
build:
  - design: panel
    name: top
"""


def planned(**keys: object) -> Project:
    given_keys = {"stock": "top", "size": "1200 x 500", **keys}
    lines = "".join(f"    {key}: {value}\n" for key, value in given_keys.items())
    return plan(parse_recipe(HEAD + lines, "top.yaml", piece_models()))


def test_equal_boards_no_wider_than_asked() -> None:
    project = planned(board_width=140)
    assert [b.width for b in project.boards] == [125.0] * 4
    assert [b.pose.origin[1] for b in project.boards] == [0, 125, 250, 375]
    assert len(project.joints) == 3 and not [f for f in judge(project) if f.severity != "notes"]


def test_stated_boards() -> None:
    project = planned(boards="[120, 140, 130, 110]")
    assert [b.width for b in project.boards] == [120, 140, 130, 110]
    assert {bore.pocket_face for bore in project.bores} == {BOTTOM}


def test_one_pocket_at_the_middle_and_the_rest_outward() -> None:
    """Common practice, no source: 150 to 200 mm (6 to 8 in) from pocket to pocket."""
    places = [bore.exit[0] for bore in planned().joints[0].bores]
    assert places[len(places) // 2] == pytest.approx(600.0)
    steps = [b - a for a, b in zip(places, places[1:], strict=False)]
    assert all(150 <= step <= 200 for step in steps)


def test_neighbouring_joints_are_staggered() -> None:
    first, second, third = planned().joints
    for a, b in ((first, second), (second, third)):
        least = min(abs(p.exit[0] - q.exit[0]) for p in a.bores for q in b.bores)
        assert least >= 20.0


def test_the_size_that_marks_are_measured_on_is_said() -> None:
    (said,) = [line for line in planned(trim=25).reports if "trimmed" in line]
    assert "measured on the panel as it is glued up, 1200 mm x 500 mm" in said
    assert "up to 25 mm may be trimmed off each end" in said and "leaves 1150 mm x 500 mm" in said
    assert not [line for line in planned(trim=0).reports if "trimmed" in line]


def test_ends_are_kept_free_for_trimming() -> None:
    for trim in (0, 25, 60):
        project = planned(trim=trim)
        radius = project.bores[0].drill.counterbore_radius
        for bore in project.bores:
            assert bore.window.low - radius >= trim - 1e-9
            assert 1200 - bore.window.high - radius >= trim - 1e-9
            assert trim + radius < bore.exit[0] < 1200 - trim - radius


def test_narrow_boards_do_not_make_bores_meet() -> None:
    project = planned(boards="[60, 60, 60, 60, 60, 60, 60, 80]")
    assert not [f for f in judge(project) if f.severity != "notes"]


def test_marks() -> None:
    project = planned()
    hearts = [[m.done_from for m in b.work if m.called == "heart side"] for b in project.boards]
    assert hearts == [[TOP], [BOTTOM], [TOP], [BOTTOM]]
    # The legs of the triangle run on from board to board and meet at the back edge.
    ends = []
    for board in project.boards:
        (mark,) = (m for m in board.work if isinstance(m, PencilMark) and m.lines)
        ends.append([[board.pose.point(p) for p in line] for line in mark.lines])
        assert all(p[2] == board.thickness for line in mark.lines for p in line)
    for before, after in zip(ends, ends[1:], strict=False):
        for leg, on in zip(before, after, strict=True):
            assert leg[1] == pytest.approx(on[0])
    assert ends[-1][0][1] == ends[-1][1][1] == (600.0, 500.0, 19.0)
    assert any("heart side up on boards 1, 3" in line for line in project.reports)
    assert not any("heart" in line for line in planned(stock="quarter").reports)


def test_a_sheet_is_one_board() -> None:
    project = planned(stock="sheet")
    assert len(project.boards) == 1 and not project.joints and not project.reports


@pytest.mark.parametrize(
    ("keys", "says"),
    [
        ({"boards": "[120, 140, 130, 100]"}, "the boards are 490 mm wide together"),
        ({"stock": "sheet", "boards": "[250, 250]"}, "is a sheet good"),
    ],
)
def test_refusals(keys: dict[str, object], says: str) -> None:
    with pytest.raises(RecipeError, match=says):
        planned(**keys)


@pytest.mark.parametrize(
    ("keys", "rule"),
    [
        ({"stock": "thin"}, "no-screw"),
        ({"size": "90 x 500", "pockets": 3}, "no-window"),
        ({"trim": 600}, "no-window"),
        ({"board_width": 40}, "no-window"),
    ],
)
def test_a_joint_without_a_place_or_a_screw_is_found(keys: dict[str, object], rule: str) -> None:
    project = planned(**keys)
    failing = [f for f in judge(project) if f.severity == "fails"]
    assert len([f for f in failing if f.rule == rule]) == len(project.joints)


def test_a_board_too_narrow_for_a_pocket_is_found() -> None:
    found = judge(planned(boards="[20, 140, 140, 200]"))
    failing = {(f.rule, f.joint) for f in found if f.severity == "fails"}
    assert failing == {("no-window", "top joint 1"), ("breakout", "top joint 1")}


def test_starter_checks_clean() -> None:
    project = plan(parse_recipe(designs()["panel"].starter, "starter.yaml", piece_models()))
    assert not [f for f in judge(project) if f.severity != "notes"]


@settings(max_examples=30, deadline=None)
@given(
    st.integers(60, 2500), st.integers(40, 900), st.integers(30, 300), st.integers(0, 80),
    st.sampled_from([None, 1, 3]), st.sampled_from(["top", "thin", "sheet"]),
)  # fmt: skip
def test_any_size_is_built_or_refused(
    length: int, width: int, widest: int, trim: int, pockets: int | None, stock: str
) -> None:
    keys: dict[str, object] = {
        "size": f"{length} x {width}", "board_width": widest, "trim": trim, "stock": stock
    }  # fmt: skip
    if pockets:
        keys["pockets"] = pockets
    try:
        project = planned(**keys)
    except RecipeError as error:
        assert "top.yaml:" in str(error)
        return
    assert sum(b.width for b in project.boards) == pytest.approx(width)
    failing = {f.rule for f in judge(project) if f.severity == "fails"}
    assert not failing or failing & {"no-window", "no-screw"}, keys
