"""Every remedy is applied, to the recipe where a key rules it, and the finding must be gone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from slantbore.models.advice.remedies import cures, with_joints, with_keys
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.piece.project import Change, Finding, Project, Window
from slantbore.models.placing.sites import site_of
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import Recipe, parse_recipe
from tests.generators.small import butt, corner

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
      shelf: {stock: board, length: 400, width: %(width)s, seen: {top face: hidden}}
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


def planned(recipe: Recipe) -> tuple[Project, tuple[Finding, ...]]:
    project = plan(recipe)
    return project, judge(project)


def same(a: Finding, b: Finding) -> bool:
    """The same complaint, at the same severity or worse."""
    order = ("fails", "warns", "notes")
    about = (a.rule, a.joint, a.bore, a.face) == (b.rule, b.joint, b.bore, b.face)
    return about and order.index(b.severity) <= order.index(a.severity)


def worse(before: tuple[Finding, ...], after: tuple[Finding, ...]) -> list[Finding]:
    """What fails afterwards and did not before."""
    known = {(f.rule, f.joint) for f in before if f.severity == "fails"}
    return [f for f in after if f.severity == "fails" and (f.rule, f.joint) not in known]


@pytest.mark.parametrize("text", RECIPES.values(), ids=RECIPES)
def test_what_placement_says_to_change_works_in_the_recipe(text: str) -> None:
    recipe = parse_recipe(text, "mirror.yaml", piece_models())
    _, before = planned(recipe)
    faults = [f for f in before if f.rule in ("no-window", "narrow-window")]
    assert faults, "this recipe was meant to have a fault"
    tried: dict[object, tuple[Finding, ...]] = {}
    for finding in faults:
        assert finding.changes, finding.message
        assert all(change.says in finding.remedy for change in finding.changes)
        for change in finding.changes:
            assert change.keys, change.says
            if change.keys not in tried:
                tried[change.keys] = planned(with_keys(recipe, change, piece_models()))[1]
            after = tried[change.keys]
            left = [f for f in after if same(finding, f)]
            assert not left, f"{change.says}: {left}"
            assert not worse(before, after), change.says


def hand_made() -> Iterator[tuple[str, Project]]:
    """Projects by hand whose bores are somewhere they should not be."""
    yield "square to a mitre, too far out", corner(0.0)
    yield "swung, too far out", corner(15.0, 40.0)
    yield "swung, too far in", corner(15.0, 86.0)
    yield "a screw too long for its shoulder", butt(shoulder=8.0)
    yield "screws into a groove and a rebate", butt(across=45.0)
    yield "a pocket at the edge", butt(across=18.0)
    yield "a shoulder too far back", butt(shoulder=33.0)
    yield "a shoulder near the joint", butt(shoulder=5.0)
    close = butt()
    joint = close.joints[0]
    x, y, z = joint.bores[0].exit
    moved = replace(joint.bores[1], exit=(x, y + 9.0, z))
    yield (
        "two pockets side by side",
        replace(close, joints=(replace(joint, bores=(joint.bores[0], moved)),)),
    )


CASES = dict(hand_made())


@pytest.mark.parametrize("project", CASES.values(), ids=CASES)
def test_what_a_rule_says_to_change_works_in_the_project(project: Project) -> None:
    before = judge(project)
    tried = 0
    for finding in before:
        if finding.severity == "notes":
            continue
        for change in finding.changes:
            after = judge(with_joints(project, change))
            left = [f for f in after if same(finding, f)]
            assert not left, f"{finding.message}; {change.says}: {left}"
            assert not worse(before, after), change.says
            tried += 1
    assert tried, "this project was meant to have a fault with a remedy"


def test_kinds_of_cure_are_offered_once_and_moving_comes_first() -> None:
    project = corner(0.0)
    said = [change.says for change in cures(project, project.bores[0])]
    assert said[0].startswith("set the pocket 60.3 mm from the")
    assert len(said) == len(set(said)) <= 3
    # What needs no move as well: a screw or drill plus the same move would be no choice.
    assert all("set the pocket" not in other for other in said[1:])


def test_a_cure_meets_what_the_rule_wants_besides() -> None:
    project = corner(0.0)
    name = project.bores[0].name
    found = cures(project, project.bores[0], lambda bore: bore.drill.counterbore_radius < 4)
    assert found
    for change in found:
        (new,) = (bore for bore in change.joints[0].bores if bore.name == name)
        assert new.drill.counterbore_radius < 4
    assert cures(project, project.bores[0], lambda bore: False) == ()


def test_the_line_of_a_bore_runs_as_its_window_does() -> None:
    text = frame("63.5", "pockets: 2\n    bored: both")
    project = plan(parse_recipe(text, "mirror.yaml", piece_models()))
    for bore in project.bores:
        site = site_of(project, bore)
        assert site is not None
        assert site.exit(bore.window.position) == pytest.approx(bore.exit, abs=1e-9)
        assert site.back(bore.swing) == pytest.approx(bore.back, abs=1e-9)


def test_a_change_takes_a_key_away_and_makes_what_is_missing() -> None:
    recipe = parse_recipe(frame("63.5", "swing: 10"), "mirror.yaml", piece_models())
    away = Change("", ((("build", 0, "swing"), ""), (("tools", "drill"), "9-32-in")))
    changed = with_keys(recipe, away, piece_models())
    assert changed.tools.row.key == "9-32-in"
    assert changed.pieces[0].swing == "auto"  # type: ignore[attr-defined]
    assert recipe.pieces[0].swing == 10.0  # type: ignore[attr-defined]


def test_a_window_of_its_own_joint_is_no_news() -> None:
    """A hand-made bore states no window; nothing is said of its room."""
    project = corner()
    assert project.bores[0].window == Window("corner", 0.0, 0.0, 0.0)
    assert not [f for f in judge(project) if f.rule == "narrow-window"]
