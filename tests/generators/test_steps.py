"""The order of assembly as numbered lines: nothing is lost, what is alike is told once."""

from __future__ import annotations

from pathlib import Path

import pytest

from slantbore.generators.telling.document import document
from slantbore.generators.telling.hardware_list import rows as hardware
from slantbore.generators.telling.steps import Stage, stages
from slantbore.models.designs import piece_models
from slantbore.models.judging.study import study_of
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe, read_recipe

RECIPES = sorted((Path(__file__).parents[2] / "recipes").glob("*.yaml"))


def planned(text: str) -> Project:
    return plan(parse_recipe(text, "steps.yaml", piece_models()))


def chest(*heights: int) -> Project:
    """Drawers with a false front, so high."""
    drawers = "".join(
        f"  - {{design: drawer-box, name: drawer {n}, stock: side, bottom: thin, depth: 450,\n"
        f"     opening: 400 x {high}, runner: side slides}}\n"
        for n, high in enumerate(heights, start=1)
    )
    return planned(
        "name: chest\nunits: mm\nstock:\n  side: {sheet: birch-ply-15}\n"
        f"  thin: {{sheet: plywood-1-4}}\nbuild:\n{drawers}"
    )


def line(found: tuple[Stage, ...], word: str) -> Stage:
    return next(stage for stage in found if word in stage.text)


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
def test_every_step_is_told_once_in_order_under_one_number(path: Path) -> None:
    project = plan(read_recipe(path, piece_models()))
    found, order = stages(project), study_of(project).order
    assert [stage.number for stage in found] == list(range(1, len(found) + 1))
    used = {name for step in order.steps for name in step.onto}
    told = [step for stage in found for step in stage.steps]
    laid = [step for step in order.steps if step.way is None and used & set(step.boards)]
    assert told == [step for step in order.steps if step not in laid]
    starts = [name for stage in found for some in stage.starts for name in some]
    assert sorted(starts) == sorted(name for step in laid for name in step.boards)
    # What a line starts with is there before anything comes to it.
    brought: set[str] = set()
    for stage in found:
        for step, some in zip(stage.steps, stage.starts, strict=True):
            assert not brought & set(some)
            brought |= {*step.boards, *some}
    assert not any("Lay out" in stage.text for stage in found)
    for stage in found:
        if stage.again:
            assert 1 <= stage.again[0] <= stage.again[1] < stage.number


def test_alike_drawers_are_told_once() -> None:
    found = stages(chest(150, 150, 150))
    first = next(stage for stage in found if stage.again)
    assert first is found[-1] and first.again == (1, len(found) - 1)
    assert first.text == f"Likewise, as in steps 1 to {len(found) - 1}: the drawer 2; the drawer 3."
    assert len(first.steps) == 2 * sum(len(stage.steps) for stage in found[:-1])
    assert not any(stage.again for stage in stages(chest(150, 180, 210)))


def test_copies_of_a_piece_are_told_once() -> None:
    """However many there are: the first in its steps, all others likewise; no step is lost."""
    text = (Path(__file__).parents[2] / "recipes" / "washroom-mirror.yaml").read_text("utf-8")
    for quantity in (2, 7):
        project = planned(
            text.replace("    name: mirror\n", f"    name: mirror\n    quantity: {quantity}\n")
        )
        found = stages(project)
        assert [stage.again for stage in found] == [None, None, (1, 2)]
        others = "; ".join(f"the mirror {n}" for n in range(2, quantity + 1))
        assert found[-1].text == f"Likewise, as in steps 1 and 2: {others}."
        joints = [joint.name for stage in found for step in stage.steps for joint in step.joints]
        assert sorted(joints) == sorted(joint.name for joint in project.joints)


def test_a_name_loses_that_of_the_only_piece() -> None:
    only, two = stages(chest(150))[0].text, stages(chest(150, 180))[0].text
    assert only.startswith("Start with the left side. Bring the ")
    assert two.startswith("Start with the drawer 1 left side. Bring the drawer 1 ")


def test_alike_boards_in_a_row_are_one_line() -> None:
    found = stages(plan(read_recipe(RECIPES[0].parent / "sink-base.yaml", piece_models())))
    stage = line(found, "Likewise the face frame right stile")
    assert [step.boards for step in stage.steps] == [
        ("sink base face frame left stile",),
        ("sink base face frame right stile",),
    ]
    stage = line(found, "Bring the face frame to ")
    assert len(stage.steps[0].boards) == 5


def test_the_other_side_is_told_likewise_though_something_comes_between() -> None:
    found = stages(plan(read_recipe(RECIPES[0].parent / "entry-table.yaml", piece_models())))
    stage = line(found, "Likewise, as in steps 1 and 2: ")
    assert stage.text.endswith("the front left leg, the left apron and the back left leg.")
    assert "the right apron" in found[0].text and stage.number > 3


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
def test_json_has_the_same_numbers(path: Path) -> None:
    project = plan(read_recipe(path, piece_models()))
    told = {step.boards: stage.number for stage in stages(project) for step in stage.steps}
    parts = document(project, ())["assembly"]
    assert len(parts) == len(study_of(project).order.steps)
    last: dict[str, int] = {}
    for part in parts:
        if part["way"] is not None:
            assert part["step"] == told[tuple(part["boards"])]
            assert all(last[name] <= part["step"] for name in part["onto"])
        if told:
            last |= dict.fromkeys(part["boards"], part["step"])


def test_what_has_no_screws_is_glued_or_screwed_through_its_holes() -> None:
    """A step says what holds the joint, and the shopping list has the glue."""
    recipes = {path.stem: path for path in RECIPES}
    table = plan(read_recipe(recipes["entry-table"], piece_models()))
    drawer = plan(read_recipe(recipes["drawer"], piece_models()))
    mirror = plan(read_recipe(recipes["washroom-mirror"], piece_models()))
    assert line(stages(table), "Bring the middle guide").text.endswith("; glue it.")
    front = line(stages(drawer), "Bring the false front").text
    assert front.endswith("; screw it through the holes.")
    for project, wanted in ((table, True), (drawer, False), (mirror, False)):
        assert any(row.item == "wood glue" for row in hardware(project)) == wanted
    for project in (table, drawer, mirror):
        for stage in stages(project):
            joints = [joint for step in stage.steps for joint in step.joints]
            if stage.again is None and joints and not any(joint.bores for joint in joints):
                assert stage.text.endswith(("glue it.", "holes.", "groove).")), stage.text
