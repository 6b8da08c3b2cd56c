"""Cutting plans as printed: fences that can be set, what each cut frees, one stock bought once."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from slantbore.generators.cutting.material import materials
from slantbore.generators.cutting.nesting import nests
from slantbore.generators.cutting.sheets import Part, SheetSize, plan_sheets
from slantbore.generators.drawing.marks import Table, Text
from slantbore.generators.papers.paper import A4, LETTER
from slantbore.generators.papers.sawing import cut_rows, make
from slantbore.generators.solids.product import Product
from slantbore.generators.solids.solids import solidify
from slantbore.generators.telling.steps import called
from slantbore.models.designs import piece_models
from slantbore.models.piece.board import Stock
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe
from tests.boards import blank

from .test_cutting import held

RECIPES = Path(__file__).parents[2] / "recipes"
ALL = sorted(path.stem for path in RECIPES.glob("*.yaml"))


def planned(name: str) -> Project:
    return plan(read_recipe(RECIPES / f"{name}.yaml", piece_models()))


@pytest.mark.parametrize("kerf, trim", [(3.2, 6.0), (3.2, 3.2), (6.0, 2.0), (3.0, 0.0)])
def test_a_fence_is_never_set_to_the_strip_that_is_trimmed_off(kerf: float, trim: float) -> None:
    """A strip narrower than the trim between blade and fence is thrown back: common practice."""
    parts = [Part(f"part {i}", 600.0 - 7 * i, 300.0 - 5 * i) for i in range(9)]
    [sheet, *_] = plan_sheets(parts, SheetSize(2440.0, 1220.0, kerf, trim)).sheets
    labels = {laid.rect: laid.part.name for laid in sheet.laid}
    rows = list(cut_rows(sheet, labels, "mm"))
    fences = [float(fence.split()[1]) for _, fence, _, _ in rows]
    assert min(fences) >= min(part.width for part in parts)
    freed = [name for row in rows for name in row[3].split(", ") if name]
    assert sorted(freed) == sorted(labels.values())  # each once, when it is done
    for (_, fence, piece, _), cut in zip(rows, sheet.cuts, strict=True):
        whole = float(piece.split(" x ")[cut.along].split()[0])
        assert float(fence.split()[1]) <= whole


def test_the_first_cuts_of_a_sheet_are_as_a_maker_would_set_them() -> None:
    """A sheet of 2440 x 1220 mm, 6 mm off all round, kerf 3.2: the fence stands at what stays."""
    [sheet] = plan_sheets([Part("shelf", 800.0, 300.0)], SheetSize(2440.0, 1220.0, 3.2, 6.0)).sheets
    rows = [row[1:3] for row in cut_rows(sheet, {}, "mm")]
    assert rows[:4] == [
        ("rip 1214 mm", "2440 mm x 1220 mm"), ("rip 1208 mm", "2440 mm x 1214 mm"),
        ("cross 2434 mm", "2440 mm x 1208 mm"), ("cross 2428 mm", "2434 mm x 1208 mm"),
    ]  # fmt: skip


def test_one_stock_under_two_labels_is_bought_once() -> None:
    ply = Stock("upper", "birch-ply-18", "birch multi-ply 18 mm", 18.0, "sheet")
    wood = Stock("lip", "cherry", "cherry", 19.0, "hardwood")
    stocks = (ply, replace(ply, label="lower"), wood, replace(wood, label="rail"))
    boards = tuple(
        blank(f"board {i}", "shelves", f"board {i}", stock, 800.0, 40.0)
        for i, stock in enumerate(stocks)
    )
    project = Project("shelves", "mm", boards, ())
    sheet, strips = materials(project)
    assert sheet.sheets is not None and len(sheet.sheets.sheets) == 1
    assert len(sheet.sheets.sheets[0].laid) == 2
    assert [len(board.parts) for strip in strips.strips for board in strip.plan.boards] == [2]
    [nest] = nests(project)
    assert [len(one.laid) for one in nest.sheets] == [2]


@pytest.mark.parametrize("name", ALL)
def test_a_recipes_sheets_can_be_sawn_as_printed(name: str) -> None:
    """Every cut is replayed; every part comes off once, where it lies."""
    for one in materials(planned(name)):
        if one.sheets is not None:
            out = {board.name for board in one.left_out}
            held(one.sheets, [
                Part(b.name, b.length, b.width) for b in one.boards if b.name not in out
            ])  # fmt: skip


@pytest.mark.parametrize("name", ALL)
def test_every_part_is_named_in_the_cutting_plans(name: str) -> None:
    """In full, in a part of a board, under it, or in a sheet's table; on paper of either size."""
    project = planned(name)
    for paper in (A4, LETTER):
        sheets = list(make(Product(project, solidify(project), ()), paper))
        texts = [m.says for s in sheets for m in s.on_paper() if isinstance(m, Text)]
        said = " | ".join(texts)
        for table in (m for s in sheets for m in s.marks if isinstance(m, Table)):
            for row in table.rows:
                said += f" {row[1]}" if not row[0] else f" | {row[1]}"
        for board in project.boards:
            assert called(project, board.name) in said
