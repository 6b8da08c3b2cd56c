"""A recipe in inches is told in inches alone: report, advice, lists and page."""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from slantbore.generators.page.scene import scene_of
from slantbore.generators.telling.document import document
from slantbore.generators.telling.explain import explanation
from slantbore.generators.telling.printed import Told, brief, full, opening, plain
from slantbore.generators.writers import bores_csv, cut_list, hardware_list
from slantbore.models.advice.advise import advise
from slantbore.models.advice.budget import Budget
from slantbore.models.advice.causes import causes
from slantbore.models.designs import designs, piece_models
from slantbore.models.judging.judge import judge_once
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.wood.tables import sheet_goods
from slantbore.models.words.errors import RecipeError

SHIPPED = {
    path.stem: path.read_text(encoding="utf-8")
    for path in sorted(Path(str(files("slantbore") / "recipes")).glob("*.yaml"))
}
TEXTS = SHIPPED | {f"starter {name}": design.starter for name, design in designs().items()}
INCH = {name: text for name, text in TEXTS.items() if "\nunits: inch" in text}
# What is sold by the millimetre is called by it.
SOLD = sorted({sheet.title for sheet in sheet_goods().values() if " mm" in sheet.title})

# Each brings out findings of its own, with what to change.
CHANGES = {
    "thick walls": "limits: {show_wall: 3/8, hidden_wall: 5/16}",
    "far apart": "limits: {between: 2, tip_cover: 5/16}",
    "damp": "limits: {moisture_change: 20}",
    "short bit": "tools: {bit_length: 1}",
    "steep": "tools: {slope: 22}",
    "long screws": "every joint: {screw: 2}",
    "shallow stop": "every joint: {wood_under_screw: 1-1/8}",
    "slots": "every joint: {slot: 1/4, swing: 20}",
}
TRIED = ("washroom-mirror", "sink-base", "starter panel")


def changed(text: str, change: str) -> str:
    if change.startswith("every joint"):
        return re.sub(r"(  - design: .*\n)", rf"\1    changes: {{{change}}}\n", text, count=1)
    return text.replace("\nbuild:", f"\n{change}\nbuild:", 1)


def strings(node: Any) -> Iterator[str]:
    if isinstance(node, str):
        yield node
    elif isinstance(node, dict):
        for value in node.values():
            yield from strings(value)
    elif isinstance(node, list | tuple):
        for value in node:
            yield from strings(value)


def printed(text: str) -> Iterator[tuple[str, str]]:
    """Everything that a maker reads of a recipe, each with where it stands."""
    recipe = parse_recipe(text, "cabin.yaml", piece_models())
    try:
        project = plan(recipe)
    except RecipeError as error:
        yield "error", str(error)
        return
    told = advise(recipe, project, judge_once(project), Budget(4))
    grouped = causes(recipe, project, told.findings)
    text_of = Told(project, told.findings, grouped, "here", told.stopped)
    for name, whole in (
        ("report", plain([*opening(project, told.findings), *full(text_of)])),
        ("advice", plain(brief(text_of))),
        *((bore.name, explanation(project, bore, told.findings)) for bore in project.bores[:2]),
    ):
        yield from ((name, line) for line in whole.splitlines())
    for module in (bores_csv, cut_list, hardware_list):
        for row in module.rows(project):
            cells = ((column.name, column.cell(row)) for column in module.COLUMNS)
            yield from ((f"{module.FILE} {name}", str(cell)) for name, cell in cells)
    yield from (("page", said) for said in strings(scene_of(text_of)))
    yield from (("findings", said) for said in strings(document(project, told.findings)))


def in_millimetres(text: str) -> list[tuple[str, str]]:
    found = []
    for where, said in printed(text):
        plain = said
        for title in SOLD:
            plain = plain.replace(title, "")
        plain = re.sub(r"\(\d+ mm\) (coarse|fine) thread", "", plain)  # as it stands on the box
        if re.search(r"\bmm\b|millimet", plain):
            found.append((where, said))
    return found


def test_there_is_much_to_read() -> None:
    assert len(INCH) > 10 and set(TRIED) <= set(INCH)
    assert in_millimetres(SHIPPED["slim-mirror"])  # a recipe in mm is told in mm


@pytest.mark.parametrize("name", INCH)
def test_a_recipe_in_inches_prints_no_millimetres(name: str) -> None:
    assert in_millimetres(INCH[name]) == []


@pytest.mark.parametrize("change", CHANGES)
@pytest.mark.parametrize("name", TRIED)
def test_neither_does_one_that_fails(name: str, change: str) -> None:
    text = changed(INCH[name], CHANGES[change])
    assert text != INCH[name]
    assert in_millimetres(text) == []


RIGID = """\
name: table
units: inch
stock:
  legs: {wood: hard-maple, thickness: 1-3/4}
  oak: {wood: red-oak, thickness: 3/4}
limits: {moisture_change: 8}
build:
  - {design: hall-table, name: table, leg_stock: legs, apron_stock: oak, apron_width: 4-1/2,
     size: 44 x 16, height: 30, top: {stock: oak, fixing: rigid}}
"""


def test_neither_does_a_top_that_splits() -> None:
    told = [said for where, said in printed(RIGID) if where in ("report", "advice")]
    assert any(re.search(r"moves 0.\d{3}\"", said) for said in told) and any(
        "cure: " in said for said in told
    )
    assert in_millimetres(RIGID) == []
