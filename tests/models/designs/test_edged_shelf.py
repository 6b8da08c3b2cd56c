"""A shelf with edging: where its boards lie, where its pockets go, and what it says of its sag."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from slantbore.models.designs import piece_models
from slantbore.models.designs._shelf_load import Edge, Section, sag
from slantbore.models.judging.judge import judge
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, TOP, Board
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.recipe.stated import Recipe
from slantbore.models.wood.loads import USUAL_LOAD
from slantbore.models.words.errors import RecipeError
from tests.models.advised import advised

from .closed import overlaps

INCH = 25.4
HEAD = """\
name: shelf
units: inch
stock:
  panel: {sheet: fir-plywood-3-4}
  lip: {wood: red-oak, thickness: 3/4}
  thin: {wood: red-oak, thickness: 1/4}
  block: {wood: red-oak, thickness: 12}
  beam: {wood: red-oak, thickness: 24}
  strip: {wood: red-oak, thickness: 1/8}
  bare: {sheet: plywood-3-4}
  pine: {wood: eastern-white-pine, thickness: 3/4}
build:
  - design: edged-shelf
    name: shelf
"""


def read(**keys: object) -> Recipe:
    given_keys = {"stock": "panel", "edging_stock": "lip", "length": "36", "depth": "11", **keys}
    lines = "".join(f"    {key}: {value}\n" for key, value in given_keys.items() if value != "")
    return parse_recipe(HEAD + lines, "shelf.yaml", piece_models())


def planned(**keys: object) -> Project:
    return plan(read(**keys))


def heights(board: Board, side: str) -> float:
    return board.pose.plane(board.face(side).plane).offset


def test_edging_is_flush_and_hangs_below() -> None:
    project = planned(edging_width="1-1/2")
    panel, lip = project.boards
    assert (panel.role, lip.role) == ("panel", "front edging")
    assert heights(panel, TOP) == pytest.approx(heights(lip, BACK)) == 1.5 * INCH
    assert heights(lip, FRONT) == 0.0
    assert lip.length == 36 * INCH and panel.width == pytest.approx(10.25 * INCH)
    # Joint faces lie in one plane, facing each other.
    a, b = panel.pose.plane(panel.face(FRONT).plane), lip.pose.plane(lip.face(BOTTOM).plane)
    assert a.offset == pytest.approx(-b.offset) and a.normal == tuple(-n for n in b.normal)


def test_an_offset_lowers_the_panel() -> None:
    project = planned(edging_width="1-1/2", offset="1/4")
    panel, lip = project.boards
    assert heights(lip, BACK) - heights(panel, TOP) == pytest.approx(0.25 * INCH)


def test_all_four_edges_butt_at_the_corners() -> None:
    project = planned(edges="[front, back, left, right]")
    assert [b.role for b in project.boards[1:]] == [f"{e} edging" for e in
                                                    ("front", "back", "left", "right")]  # fmt: skip
    panel, front, back, left, right = project.boards
    assert front.length == back.length == 36 * INCH
    assert left.length == right.length == pytest.approx(9.5 * INCH) == panel.width
    assert not overlaps(project)
    assert sum(j.kind == "butt" for j in project.joints) == 4
    assert {f.severity for f in judge(project)} <= {"notes"}


def test_pockets_come_in_pairs_on_the_underside() -> None:
    project = planned()
    (joint,) = project.joints
    assert joint.kind == "edging" and {b.pocket_face for b in joint.bores} == {BOTTOM}
    places = [b.window.position for b in joint.bores]
    assert len(places) % 2 == 0
    inner = [b - a for a, b in zip(places[::2], places[1::2], strict=True)]
    between = [b - a for a, b in zip(places[1::2], places[2::2], strict=False)]
    assert max(inner) < 30 and all(200 < gap < 400 for gap in between)


def test_a_shelf_in_the_one_below_is_found() -> None:
    found = judge(planned(sides="{stock: lip, height: 20, shelves: [8, 8-1/2]}"))
    met = [f.message for f in found if f.rule == "overlap" and f.severity == "fails"]
    assert any("shelf 1" in message and "shelf 2" in message for message in met)


def test_glue_alone_has_no_pockets() -> None:
    project = planned(glued="yes", edging_stock="strip")
    assert not project.bores and project.joints[0].kind == "edging"


@pytest.mark.parametrize(
    ("keys", "place", "said"),
    [
        ({"edging_width": "1/2"}, "edging_width", "does not cover a panel"),
        ({"edging_width": "3/4", "offset": "1/4"}, "edging_width", 'make it 1"'),
        ({"depth": "3/4"}, "depth", "no panel is left"),
        ({"length": "1", "edges": "[left, right]"}, "length", "no panel is left"),
        ({"edges": "[front, front]"}, "edges", "named twice"),
        ({"span": "40"}, "span", "more than the shelf is long"),
        ({"load": "40"}, "load", "a load with its unit"),
        ({"load": "heavy"}, "load", "a load with its unit"),
        ({"sides": "{stock: lip, height: 20, shelves: [1/2]}"}, "sides", "runs into the floor"),
        ({"sides": "{stock: lip, height: 20, shelves: [21]}"}, "sides", "above the sides"),
        ({"sides": "{stock: lip, height: 9, shelves: [4], rail: 5}"}, "sides", "no room for"),
        ({"sides": "{stock: lip, height: 9, shelves: [4]}", "edges": "[left]"}, "edges", "between"),
    ],
)  # fmt: skip
def test_sizes_that_make_no_shelf(keys: dict[str, str], place: str, said: str) -> None:
    with pytest.raises(RecipeError) as caught:
        planned(**keys)
    (problem,) = caught.value.problems
    assert said in problem.message
    order = ["stock", "edging_stock", "length", "depth"]
    order += [key for key in keys if key not in order]
    assert problem.location.line == 15 + order.index(place)


# --- sag -----------------------------------------------------------------------------------------


def test_the_report_tells_both_sags_and_the_source() -> None:
    (report,) = planned(load="50 lb/ft2", edging_width="1-1/2").reports
    assert "without the edging" in report and "Wood Handbook eq. 9-2" in report
    # By hand: eq. 9-2 for a 3/4 in panel 11 in deep, 50 lb/ft2 on 36 x 11 in, E 950 000 psi:
    # W = 137.5 lb, I = 0.38672 in4, 5/384 W L3 / E I = 0.2274 in;
    # shear W L / (8 x E/16 x 5/6 x 8.25 in2) = 0.0015 in.
    assert 'without the edging 0.229"' in report


@pytest.mark.parametrize("edges", [{"front"}, {"back", "front"}, {"front", "left"}])
def test_without_the_edging_the_same_depth_is_loaded_and_bears(edges: set[Edge]) -> None:
    """So neither the lip's size matters nor the depth: a strip of any depth sags alike."""
    panel, lip = (board.stock for board in planned().boards)
    found = []
    for thick in (6.0, 19.05, 40.0):
        for depth in (200.0, 400.0):
            edging = replace(lip, thickness=thick)
            section = Section(panel, edging, 900.0, depth, 40.0, 0.0, frozenset(edges))
            found.append(sag(section, USUAL_LOAD, 900.0, edged=False))
    assert found[0] and found == pytest.approx(len(found) * found[:1])


def test_edging_makes_a_shelf_stiffer_and_a_deeper_one_more() -> None:
    project = planned()
    panel, lip = (board.stock for board in project.boards)

    def sags(height: float, edged: bool) -> float:
        section = Section(panel, lip, 900.0, 280.0, height, 0.0, frozenset({"front"}))
        found = sag(section, USUAL_LOAD, 900.0, edged=edged)
        assert found is not None
        return found

    plain = sags(19.05, False)
    assert plain > sags(19.05, True) > sags(30.0, True) > sags(60.0, True) > 0


def test_a_shelf_that_sags_is_warned_of() -> None:
    (finding,) = [f for f in planned(length="60", load="50 psf").findings]
    assert (finding.rule, finding.severity) == ("shelf-sag", "warns")
    assert "over 60" in finding.message


def test_a_sheet_without_a_published_modulus_tells_no_sag() -> None:
    project = planned(stock="bare")
    assert project.reports[0].endswith("its sag is not told")
    assert not project.findings


def test_more_than_the_standard_allows_is_said() -> None:
    assert any("90.7 kg" in r for r in planned(load="120 kg").reports)


def test_edging_on_the_ends_of_solid_wood_warns() -> None:
    found = planned(stock="pine", edges="[front, left, right]").findings
    assert [f.rule for f in found] == ["end-edging"]
    assert not planned(stock="panel", edges="[front, left, right]").findings


# --- between sides -------------------------------------------------------------------------------


def test_shelves_between_sides_close() -> None:
    project = planned(sides="{stock: lip, height: 40, shelves: [4, 30, 17, 39-1/4], rail: 3}")
    assert len(project.boards) == 2 + 4 * 2 + 1
    assert not overlaps(project)
    assert [heights(b, TOP) / INCH for b in project.boards if b.role.endswith("panel")] == (
        pytest.approx([4, 17, 30, 39.25])
    )
    other = {f.rule for f in judge(project) if f.severity != "notes"}
    assert other <= {"tip-over", "cross-grain"}  # solid sides, and held by nothing


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.integers(4, 80),
    st.integers(2, 30),
    st.sets(st.sampled_from(["front", "back", "left", "right"]), min_size=1),
    st.sampled_from(["", "3/4", "1-1/2", "3"]),
    st.sampled_from(["0", "1/8", "1"]),
    st.sampled_from(["lip", "thin", "strip", "pine"]),
    st.sampled_from(["panel", "pine", "thin"]),
    st.sampled_from(["yes", "no"]),
)
def test_a_closed_shelf_or_a_located_refusal(
    length: int, depth: int, edges: set[str], width: str, offset: str, edging: str, panel: str,
    glued: str,
) -> None:  # fmt: skip
    try:
        recipe = read(
            length=length, depth=depth, edges=f"[{', '.join(sorted(edges))}]", edging_width=width,
            offset=offset, edging_stock=edging, stock=panel, glued=glued,
        )  # fmt: skip
        project = plan(recipe)
    except RecipeError as error:
        assert all(problem.location.line > 12 for problem in error.problems)
        return
    assert not overlaps(project)
    assert {b.joint for b in project.bores} <= {j.name for j in project.joints}
    if any(finding.severity == "fails" for finding in judge(project)):
        for finding in advised(recipe, tries=40)[2]:
            assert finding.severity != "fails" or finding.changes, finding


@pytest.mark.parametrize("stock", ["block", "beam"])
def test_a_rail_thicker_than_the_shelf_is_deep_is_told_at_its_stock(stock: str) -> None:
    with pytest.raises(RecipeError, match="deep") as caught:
        planned(sides=f"{{stock: {stock}, height: 48, shelves: [4, 47], rail: 3}}")
    (problem,) = caught.value.problems
    assert "would stand out in front of" in problem.message
    assert problem.location.line == 19
    assert planned(sides=f"{{stock: {stock}, height: 48, shelves: [4, 47]}}").bores
