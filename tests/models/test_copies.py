"""Copies of a piece are looked at once, and what is said is as if each had been looked at."""

from __future__ import annotations

import random
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from slantbore.generators.pipeline import Pipeline
from slantbore.models.advice.advise import advise
from slantbore.models.advice.budget import Budget
from slantbore.models.designs import designs, piece_models
from slantbore.models.judging.copies import copies_of
from slantbore.models.judging.judge import judge, judge_once
from slantbore.models.piece.project import Finding, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError

from ..neighbours import moved

MIRRORS = """\
name: mirrors
units: mm

stock:
  rails: {wood: red-oak, thickness: 19}

limits: {show_wall: LEAST}

build:
  - {design: mitred-frame, name: mirror, stock: rails, rail_width: 63.5, sight: 300 x 450, AT,
     quantity: 3}
"""
OFF = 0.000277  # mm: sizes are round, and what is rounded must not lie on an edge
BESIDE = """\
  - {design: mitred-frame, name: mirror 1 2, stock: rails, rail_width: 63.5, sight: 300 x 450, AT}
"""


def planned(text: str) -> Project:
    return plan(parse_recipe(text, "cabin.yaml", piece_models()))


def mirrors(at: str, beside: str = "", least: int = 6) -> str:
    text = MIRRORS.replace("AT", f"at: {{{at}}}").replace("LEAST", str(least))
    return text + BESIDE.replace("AT", f"at: {{{beside}}}") if beside else text


def told(findings: tuple[Finding, ...]) -> Counter[object]:
    return Counter(
        (
            f.rule, f.severity, f.message, f.board, f.joint, f.bore, f.face, f.remedy,
            f.measured and round(f.measured + OFF, 3),
            f.point and tuple(round(x + OFF, 3) for x in f.point),
        )
        for f in findings
    )  # fmt: skip


@pytest.mark.parametrize("design", sorted(designs()))
def test_nothing_else_is_said_than_of_each_copy_by_itself(design: str) -> None:
    """Random neighbours of each starter, three of each piece."""
    rng = random.Random(design)
    text = re.sub(r"(  - design: .*)", r"\1\n    quantity: 3", designs()[design].starter)
    text += "\nlimits: {hidden_wall: 6 mm}\n"
    looked = 0
    for _ in range(6):
        try:
            project = planned(moved(text, rng, 0.01, 0.2).replace("quantity: 4", "quantity: 3"))
        except RecipeError:
            continue
        looked += bool(copies_of(project).names)
        assert told(judge(project)) == told(judge(replace(project, copies=())))
    assert looked


def test_one_of_each_is_measured() -> None:
    copies = copies_of(planned(mirrors("x: 0, y: 0")))
    assert copies.names == (("mirror 1", "mirror 2", "mirror 3"),)
    assert {board.piece for board in copies.one.boards} == {"mirror 1"}
    assert len(copies.one.bores) * 3 == len(copies.project.bores)
    assert {copies.times(board) for board in copies.unnamed.boards} == {3}
    assert copies_of(copies.one).one is copies.one


@pytest.mark.parametrize("x", [0, 400, 880, 2000])
def test_a_copy_that_something_stands_in_is_looked_at_by_itself(x: int) -> None:
    """The other mirror's name begins as a copy's, and its numbers could be a length."""
    project = planned(mirrors("x: 0, y: 0", f"x: {x}, y: 5"))
    found = judge(project)
    assert told(found) == told(judge(replace(project, copies=())))
    meets = {f.board for f in found if f.rule == "overlap"}
    assert bool(meets) == (sum(map(len, copies_of(project).names)) < 3) == (x < 2000)


def test_a_change_is_named_at_every_copy() -> None:

    made = Pipeline(Path("cabin.yaml"), mirrors("x: 0, y: 0", least=8))
    found = made.advised(Budget(20)).findings
    assert told(made.judged).keys() and len(found) == len(made.judged)
    grave = [f for f in found if f.severity != "notes"]
    assert grave and all(f.changes for f in grave)
    by_copy: dict[str, list[object]] = {}
    for finding in grave:
        by_copy.setdefault(finding.joint[:8], []).append((finding.rule, finding.changes))
    assert set(by_copy) == {"mirror 1", "mirror 2", "mirror 3"}
    assert by_copy["mirror 1"] == by_copy["mirror 2"] == by_copy["mirror 3"]
    recipe, project = made.recipe, copies_of(made.project).one
    alone = advise(recipe, project, judge_once(project), Budget(20)).findings
    assert [f.changes for f in alone] == [f.changes for f in found[: len(alone)]]
