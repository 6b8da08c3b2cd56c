"""Furniture that hangs or may tip asks for something that holds it to the wall."""

from __future__ import annotations

import pytest

from slantbore.generators.telling.hardware_list import rows
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.judging.rules.tip_over import CODE, SLENDER, TALL
from slantbore.models.piece.project import Finding, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError
from tests.models.advised import advised, hold

CASE = """\
name: pantry
units: mm
stock:
  case: {sheet: birch-ply-18}
  back: {sheet: plywood-1-4}
build:
  - design: case
    name: pantry
    stock: case
    size: 600 x %s
    depth: %s
    at: {x: 0, y: 0, up: %s, turn: %s}
    top: panel
    back: {stock: back}
"""


def planned(text: str) -> Project:
    return plan(parse_recipe(text, "pantry.yaml", piece_models()))


def told(text: str) -> list[Finding]:
    return [f for f in judge(planned(text)) if f.rule == CODE]


@pytest.mark.parametrize("turn", [0, 30, 90])
@pytest.mark.parametrize(
    ("height", "depth", "up", "said"),
    [
        (2100, 560, 0, "may tip"),
        (700, 320, 1400, "hangs 1400 mm above the floor"),
        (int(TALL) - 1, 200, 0, ""),  # low
        (1000, 1000 / SLENDER + 1, 0, ""),  # stout
        (1000, 1000 / SLENDER - 1, 0, "may tip"),
    ],
)
def test_what_hangs_or_may_tip_is_told(
    height: int, depth: float, up: int, said: str, turn: int
) -> None:
    found = told(CASE % (height, depth, up, turn))
    assert len(found) == bool(said)
    assert all(said in f.message and f.severity == "warns" for f in found)


def test_what_stands_on_another_piece_does_not_hang() -> None:
    base = CASE % (700, 560, 0, 0)
    (piece,) = (base.split("build:\n")[1],)
    upper = piece.replace("name: pantry", "name: upper").replace("up: 0", "up: 700")
    assert not told(base + upper)
    assert told(base + upper.replace("up: 700", "up: 720"))
    assert told(base + upper.replace("{x: 0,", "{x: 900,"))


@pytest.mark.parametrize(
    "held",
    [
        "    hanging_rail: 90\n",
        "    fixings: [{to: wall, name: angle, detail: steel, quantity: 2}]\n",
    ],
)
def test_a_named_fixing_will_do_and_is_bought(held: str) -> None:
    text = CASE % (2100, 560, 0, 0)
    assert told(text) and not told(text + held)
    bought = [row for row in rows(planned(text + held)) if row.kind == "other"]
    fixing = [row.quantity for row in bought if row.item != "wood glue"]
    assert fixing == [3 if "rail" in held else 2]


def test_a_neighbour_is_no_wall() -> None:
    fixing = "    fixings: [{to: neighbour, name: sleeve screw}]\n"
    assert told(CASE % (2100, 560, 0, 0) + fixing)


def test_the_cure_of_a_case_is_a_rail_and_holds() -> None:
    recipe, _, findings = advised(CASE % (2100, 560, 0, 0))
    (finding,) = [f for f in findings if f.rule == CODE]
    assert "hanging_rail" in finding.remedy and finding.changes
    assert hold(recipe, findings)


def test_the_rail_stands_under_the_top_against_the_back() -> None:
    project = planned(CASE % (700, 320, 1400, 0) + "    hanging_rail: 90\n")
    assert not [f for f in judge(project) if f.severity == "fails"]
    rail = project.board_named["pantry hanging rail"]
    sheet = project.board_named["pantry back"].stock.thickness
    assert rail.pose.origin[1] == pytest.approx(320 - sheet)
    assert rail.pose.origin[2] + 90 == pytest.approx(1400 + 700 - 18)
    bored = [bore for bore in project.bores if bore.board == rail.name]
    assert {rail.face(bore.pocket_face).seen for bore in bored} == {"semi-exposed"}
    assert len({bore.mate for bore in bored}) == 2


def test_pins_and_shelves_keep_clear_of_the_rail() -> None:
    shelf = "    hanging_rail: 90\n    shelves: [570]\n"
    with pytest.raises(RecipeError, match="leaves less than 60 mm"):
        planned(CASE % (700, 320, 0, 0) + shelf)
    planned(CASE % (700, 320, 0, 0) + shelf.replace("    hanging_rail: 90\n", ""))


def test_a_fixing_to_nothing_known_is_refused_at_its_place() -> None:
    text = CASE % (700, 320, 0, 0) + "    fixings: [{to: sky, name: hook}]\n"
    with pytest.raises(RecipeError, match=r"pantry.yaml:15:\d+: .*wall"):
        planned(text)
