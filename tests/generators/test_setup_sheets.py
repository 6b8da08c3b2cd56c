"""Set-up sheets of the router: framed and numbered as the papers are, every part named."""

from __future__ import annotations

from pathlib import Path

import pytest

from slantbore.generators.drawing.fonts import width_of
from slantbore.generators.drawing.marks import Table, Text
from slantbore.generators.router.routing import route
from slantbore.generators.router.sheets import setup_sheets
from slantbore.generators.solids.product import Product
from slantbore.generators.solids.solids import solidify
from slantbore.models.designs import piece_models
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe
from slantbore.models.wood.cutters import router_of

from .papers_check import outside, overlaps

RECIPES = Path(__file__).parents[2] / "recipes"


@pytest.mark.parametrize("name", ["boot-bench", "drawer-base", "table-top", "washroom-mirror"])
def test_set_up_sheets_are_clean_and_name_every_part(name: str) -> None:
    project = plan(read_recipe(RECIPES / f"{name}.yaml", piece_models()))
    routing = route(project)
    product = Product(project, solidify(project), ())
    sheets = list(setup_sheets(product, routing, router_of(project).machine))
    assert len(sheets) == len(routing.runs)
    for number, (sheet, run) in enumerate(zip(sheets, routing.runs, strict=True), start=1):
        assert not list(overlaps(sheet)) and not list(outside(sheet))
        told = [mark.says for mark in sheet.on_paper() if isinstance(mark, Text)]
        assert f"sheet {number} of {len(sheets)}" in told
        flat = f"{sheet.title} {' '.join(told)}"
        for i, (setup, _) in enumerate(run.laid, start=1):
            assert setup.lying.board.name in flat
            if len(run.laid) > 1:
                assert told.count(str(i)) == 1 and f"{i} {setup.lying.board.name}, " in flat
        for table in (mark for mark in sheet.marks if isinstance(mark, Table)):
            for row in table.rows:
                for cell, width in zip(row, table.widths, strict=True):
                    assert width_of(cell, table.height) <= width
