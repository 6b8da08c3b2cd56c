"""Every change that is named, written into the recipe: the finding is gone, nothing is new."""

from __future__ import annotations

import json

import pytest

from slantbore.generators.telling.document import document
from slantbore.models.advice.advise import MOST
from slantbore.models.advice.budget import Budget
from slantbore.models.advice.trials import at_every_joint
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.piece.lever import Change, Setting
from slantbore.models.placing.sites import site_of
from slantbore.models.planning import plan
from slantbore.models.recipe.edits import edited, telling
from tests.models.advised import advised, hold, looked_for, read

FRAME = """\
name: mirror
units: mm
stock:
  rails: {wood: cherry, thickness: %(thickness)s}
%(more)s
build:
  - design: mitred-frame
    name: mirror
    stock: rails
    rail_width: %(width)s
    %(size)s
    %(keys)s
"""

FREE = """\
name: shelf
units: mm
stock:
  board: {wood: red-oak, thickness: 19}
build:
  - design: free-form
    name: shelf
    parts:
      shelf: {stock: board, length: 400, width: %(width)s, seen: {top face: concealed}}
      upright: {stock: board, length: 400, width: %(width)s}
    joints:
      - {kind: butt, board: shelf / left end, meets: upright / bottom face, pockets_in: top face,
         pockets: %(pockets)s,
         flush: [{face: front edge, to: front edge}, {face: bottom face, to: left end}]}
"""


def frame(
    width: str, keys: str = "", size: str = "sight: 300 x 450", thickness: str = "19.05",
    more: str = "",
) -> str:  # fmt: skip
    return FRAME % {
        "width": width, "keys": keys, "size": size, "thickness": thickness, "more": more,
    }  # fmt: skip


RECIPES = {
    "square pockets in a slim rail": frame("38.1", "swing: 0"),
    "square pockets, inches": frame("38.1", "swing: 0").replace("38.1", "1-1/2 in"),
    "a rail that is too slim": frame("22"),
    "a rail that is too slim, by its outside": frame("22", size="outside: 300 x 450"),
    "a rail that is too slim, by its rebate": frame(
        "26", "rebate: {width: 7, depth: 8}", size="rebate_size: 300 x 450"
    ),
    "two pockets in a narrow rail": frame("32", "pockets: 2"),
    "two pockets with little room": frame("36", "pockets: 2"),
    "two pockets, both bored": frame("34", "pockets: 2\n    bored: both"),
    "two pockets, both bored, little room": frame("38", "pockets: 2\n    bored: both"),
    "little swing allowed": frame("38.1", more="limits: {max_swing: 8}"),
    "a slope of its own": frame("24", more="tools: {slope: 17, screw_gauge: 8}"),
    "another guide slope and little swing": frame("34", "swing: 5", more="tools: {slope: 14}"),
}


RECIPES |= {
    "five pockets where two fit": FREE % {"width": 60, "pockets": 5},
    "three pockets where two fit narrowly": FREE % {"width": 47, "pockets": 3},
}


@pytest.mark.parametrize("text", RECIPES.values(), ids=RECIPES)
def test_what_is_said_of_a_joint_works_in_the_recipe(text: str) -> None:
    recipe, _, findings = advised(text)
    faults = [f for f in findings if f.rule in ("no-window", "narrow-window")]
    assert faults, "this recipe was meant to have a fault"
    assert all(1 <= len(finding.changes) <= MOST for finding in faults)
    assert hold(recipe, findings)


def test_of_each_kind_one_is_named_and_alike_joints_are_told_the_same() -> None:
    _, _, findings = advised(RECIPES["square pockets in a slim rail"])
    faults = [f for f in findings if f.rule == "no-window"]
    assert len(faults) == 4 and len({f.changes for f in faults}) == 1
    said = [change.edit[0].path[-1] for change in faults[0].changes]
    assert said[0] == "swing" and len(said) == len(set(said))


def test_judging_alone_names_no_change() -> None:
    found = judge(plan(read(RECIPES["square pockets in a slim rail"])))
    assert found and not any(f.remedy or f.changes for f in found)


# --- a wrong word of one joint or pocket ----------------------------------------------------------

BASE = """\
name: b
units: inch
stock:
  case: {sheet: plywood-3-4}
build:
  - design: case
    name: base
    stock: case
    size: 24 x 34-1/2
    depth: 23
    changes: {%s}
"""
THIN = """\
name: f
units: inch
stock:
  frame: {wood: hard-maple, thickness: 1/2}
build:
  - {design: face-frame, name: frame, stock: frame, size: 28 x 24, stile: 1-3/4, rail: 1-1/2}
"""


def test_one_word_for_every_joint_is_undone_by_one() -> None:
    recipe, _, findings = advised(BASE % "every joint: {screw: 2}")
    at = ("build", 0, "changes", "every joint", "screw")
    assert len([f for f in findings if f.severity == "fails"]) > 10
    for finding in findings:
        if finding.severity == "fails":
            settings = [(s.path, s.value) for change in finding.changes for s in change.edit]
            assert (at, '1-1/4"') in settings, finding.message
    assert hold(recipe, findings)


def test_a_single_pocket_is_told_alone() -> None:
    pocket = "bottom to left side pocket 2"
    recipe, _, findings = advised(BASE % f"{pocket}: {{position: 1/8}}")
    (change, *_) = next(f for f in findings if f.severity == "fails" and f.bore).changes
    assert {s.path[3:] for s in change.edit} == {(pocket, "position")}
    assert hold(recipe, findings)


def test_a_smaller_drill_is_named_for_all() -> None:
    recipe, _, findings = advised(THIN)
    edits = [change.edit for f in findings for change in f.changes if f.rule == "no-window"]
    assert [(s.path, s.value) for s in edits[0]] == [(("tools", "drill"), "9-32-in")]
    assert hold(recipe, findings)


def test_walls_that_the_recipe_asks_for_may_be_left_at_the_usual() -> None:
    text = THIN.replace("1/2}", "3/4}").replace("build:", "limits: {hidden_wall: 19 mm}\nbuild:")
    recipe, _, findings = advised(text)
    changes = {change.edit for f in findings for change in f.changes}
    away = next(edit for edit in changes if edit[0].path == ("limits", "hidden_wall"))
    assert away[0].value is None
    assert hold(recipe, findings)


def test_a_piece_that_stands_in_another_is_moved() -> None:
    two = "\n".join(
        f"  - {{design: case, name: {name}, stock: case, size: 24 x 30, depth: 23, at: {{x: {x}}}}}"
        for name, x in (("a", 0), ("b", 20))
    )
    text = (BASE % "").partition("build:")[0] + "build:\n" + two + "\n"
    recipe, _, findings = advised(text)
    faults = [f for f in findings if f.rule == "overlap"]
    assert faults
    for fault in faults:
        (change,) = fault.changes
        assert [(s.path, s.value) for s in change.edit] == [(("build", 1, "at", "x"), '24"')]
    assert hold(recipe, findings)


# --- words and keys -------------------------------------------------------------------------------


def test_the_words_tell_every_setting() -> None:
    at = ("build", 0, "changes")
    one = Setting((*at, "corner 1", "swing"), "15", "swing it by {} degrees")
    two = Setting((*at, "corner 2", "swing"), "15", "swing it by {} degrees")
    stop = Setting((*at, "corner 1", "wood_under_screw"), "18 mm", "leave {} of pilot")
    away = Setting((*at, "corner 1 pocket", "wood_under_screw"), None)
    assert Change((one, two)).says == (
        "swing it by 15 degrees (changes: {corner 1: {swing: 15}, and the same for corner 2})"
    )
    assert Change((one, stop, away), "it may sit at 3 mm").says == (
        "swing it by 15 degrees and leave 18 mm of pilot (changes: {corner 1: {swing: 15, "
        "wood_under_screw: 18 mm}}; without `wood_under_screw` of corner 1 pocket): it may sit at "
        "3 mm"
    )
    wood = Setting(("stock", "a: b", "wood"), None)
    sheet = Setting(("stock", "a: b", "sheet"), "birch-ply-18", "take birch ply")
    assert Change((sheet, wood)).says == (
        'take birch ply (stock: {"a: b": {sheet: birch-ply-18}}; without `wood`)'
    )


def test_what_is_said_alike_of_several_joints_is_said_once() -> None:
    at = ("build", 0, "changes")
    edit = tuple(Setting((*at, f"corner {i}", "swing"), "15") for i in (1, 2))
    recipe = read(RECIPES["square pockets in a slim rail"])
    wide = telling(recipe, at_every_joint(edit))
    assert [(s.path, s.value) for s in wide] == [((*at, "every joint", "swing"), "15")]
    other = (edit[0], Setting((*at, "corner 2", "swing"), "10"))
    assert at_every_joint(other) == () == at_every_joint(edit[:1])


def test_a_key_that_is_taken_away_goes_with_what_it_leaves_empty() -> None:
    text = frame("63.5", "swing: 10\n    changes: {corner 1: {swing: 5}}")
    recipe = read(text)
    edit = (
        Setting(("build", 0, "swing"), None),
        Setting(("build", 0, "changes", "corner 1", "swing"), None),
        Setting(("tools", "drill"), "9-32-in"),
    )
    changed = edited(recipe, edit, piece_models())
    assert changed.tools.row.key == "9-32-in"
    piece = changed.pieces[0]
    assert piece.swing == "auto" and piece.changes == {}  # type: ignore[attr-defined]
    assert "changes" not in changed.document.tree["build"][0]  # type: ignore[index,call-overload]
    assert recipe.pieces[0].swing == 10.0  # type: ignore[attr-defined]
    nothing = (Setting(("tools", "screw_gauge"), None), Setting(("build", 0, "swing"), "10"))
    assert telling(recipe, nothing) == ()


def test_json_tells_a_key_that_goes_with_null() -> None:
    _, project, findings = advised(RECIPES["two pockets, both bored"])
    told = document(project, findings)
    keys = [
        (tuple(key["path"]), key["value"])
        for finding in told["findings"]
        for change in finding["changes"]
        for key in change["keys"]
    ]
    assert (("build", 0, "bored"), None) in keys
    assert json.loads(json.dumps(told)) == told


# --- how long it is looked for --------------------------------------------------------------------


def test_a_search_ends_with_its_budget_and_says_so() -> None:
    text = RECIPES["square pockets in a slim rail"]
    none = looked_for(text, Budget(0))
    assert none.stopped == "0 tries" and not any(f.changes for f in none.findings)
    few = looked_for(text, Budget(2))
    assert few.stopped == "2 tries" and any(f.changes for f in few.findings)
    whole = looked_for(text, Budget(500))
    assert whole.stopped == ""
    ticks = iter(range(1000))
    timed = looked_for(text, Budget(2.0, lambda: float(next(ticks))))
    assert timed.stopped == "2 s" and next(ticks) <= 8


def test_the_same_tries_find_the_same() -> None:
    text = BASE % "every joint: {screw: 2}"
    assert looked_for(text, Budget(5)) == looked_for(text, Budget(5))


@pytest.mark.parametrize("copies", [1, 20])
def test_copies_are_asked_once(copies: int) -> None:
    """A piece alone is tried first: twenty copies take a few tries more than one."""
    budget = Budget(500)
    text = frame("38.1", f"swing: 0\n    quantity: {copies}")
    advice = looked_for(text, budget)
    assert sum(f.rule == "no-window" for f in advice.findings) == 4 * copies
    assert all(f.changes for f in advice.findings if f.rule == "no-window")
    assert budget.tried < 60


def test_the_line_of_a_bore_runs_as_its_window_does() -> None:
    project = plan(read(frame("63.5", "pockets: 2\n    bored: both")))
    for bore in project.bores:
        site = site_of(project, bore)
        assert site is not None
        assert site.exit(bore.window.position) == pytest.approx(bore.exit, abs=1e-9)
        assert site.back(bore.swing) == pytest.approx(bore.back, abs=1e-9)
