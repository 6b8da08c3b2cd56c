"""What is usual in the shop is round in the recipe's own unit."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from pydantic import BaseModel

from slantbore.generators.telling.cut_list import rows
from slantbore.models.designs import designs, piece_models
from slantbore.models.designs._case_params import Case
from slantbore.models.planning import plan
from slantbore.models.recipe.params import params_schema
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.lengths import format_length, parse_length

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


def defaults(model: type[BaseModel]) -> Iterator[tuple[str, str]]:
    """Every default in mm of a design, at any depth, with what its description says in inches."""
    schema = params_schema(model)
    for part in (schema, *schema.get("$defs", {}).values()):
        for field in part.get("properties", {}).values():
            told = re.search(
                r"; (\S+) in where the recipe is in inches", field.get("description", "")
            )
            if told:
                yield str(field["default"]), told[1]


@pytest.mark.parametrize("name", designs())
def test_both_figures_are_round_and_nearly_the_same(name: str) -> None:
    for metric, inches in defaults(piece_models()[name]):
        mm, other = parse_length(metric, "mm"), parse_length(inches, "inch")
        assert (2 * mm).is_integer() and not format_length(other, "inch").startswith("~")
        assert other == pytest.approx(mm, rel=0.25)


def test_some_design_has_such_defaults() -> None:
    assert sum(1 for name in designs() for _ in defaults(piece_models()[name])) > 15


def test_runners_and_kickers_are_cut_to_whole_eighths() -> None:
    text = designs()["hall-table"].starter
    project = plan(parse_recipe(text, "table.yaml", piece_models()))
    for row in rows(project):
        if row.first.role.endswith(("runner", "kicker", "guide")):
            for size in (row.first.length, row.first.width, row.first.thickness):
                assert not format_length(size, "inch", 8).startswith("~"), row.first.role
