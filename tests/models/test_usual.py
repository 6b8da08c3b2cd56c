"""What is usual in the shop is round in the recipe's own unit."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from pydantic import BaseModel

from slantbore.generators.telling.cut_list import rows
from slantbore.models.designs import designs, piece_models
from slantbore.models.designs._case_params import Case
from slantbore.models.planning import plan
from slantbore.models.recipe.fields import facts
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.lengths import ABOUT, format_length, parse_length

CASE = """\
name: cabin
units: %s
stock: {ply: {sheet: plywood-3-4}}
build:
  - {design: case, stock: ply, size: 600 mm x 800 mm, depth: 500 mm, toe_kick: {setback: 60 mm}}
"""


def case(unit: str) -> Case:
    (params,) = parse_recipe(CASE % unit, "cabin.yaml", piece_models()).pieces
    assert isinstance(params, Case) and params.toe_kick is not None
    return params


def test_a_default_follows_the_unit_also_inside_a_part() -> None:
    kick, inches = case("mm").toe_kick, case("inch").toe_kick
    assert kick is not None and inches is not None
    assert (kick.height, case("mm").stretcher) == (100.0, 100.0)
    assert (inches.height, case("inch").stretcher) == (101.6, 101.6)
    assert kick.setback == inches.setback == 60.0  # what is said stays as it is said


def defaults(model: type[BaseModel]) -> Iterator[tuple[float, str]]:
    """Every default in mm of a design, at any depth, with the inches of it."""
    for fact in facts(model).values():
        if fact.inches:
            yield fact.default, fact.inches
        for part in fact.models:
            yield from defaults(part)


@pytest.mark.parametrize("name", designs())
def test_both_figures_are_round_and_nearly_the_same(name: str) -> None:
    for mm, inches in defaults(piece_models()[name]):
        other = parse_length(inches, "inch")
        assert float(2 * mm).is_integer() and not format_length(other, "inch").startswith(ABOUT)
        assert other == pytest.approx(mm, rel=0.25)


def test_some_design_has_such_defaults() -> None:
    assert sum(1 for name in designs() for _ in defaults(piece_models()[name])) > 15


def test_runners_and_kickers_are_cut_to_whole_eighths() -> None:
    text = designs()["hall-table"].starter
    project = plan(parse_recipe(text, "table.yaml", piece_models()))
    for row in rows(project):
        if row.first.role.endswith(("runner", "kicker", "guide")):
            for size in (row.first.length, row.first.width, row.first.thickness):
                assert not format_length(size, "inch", 8).startswith(ABOUT), row.first.role
