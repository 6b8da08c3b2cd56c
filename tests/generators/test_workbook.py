"""lists.xlsx and headings.txt, read back with another program's eyes (openpyxl)."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from slantbore.generators.solids.product import Product
from slantbore.generators.solids.proof import prove
from slantbore.generators.solids.solids import solidify
from slantbore.generators.telling import cut_list
from slantbore.generators.writers import Writer, workbook, writers
from slantbore.models.designs import piece_models
from slantbore.models.piece.project import Hardware, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe

from . import small
from .test_lists import table

RECIPES = Path(__file__).parents[2] / "recipes"
LISTS = {writer.name: writer for writer in writers() if writer.rows}


def product_of(project: Project) -> Product:
    solids = solidify(project)
    return Product(project, solids, prove(solids))


@pytest.fixture(scope="module")
def bench() -> Product:
    project = plan(read_recipe(RECIPES / "boot-bench.yaml", piece_models()))
    formula = Hardware("=1+1", "@sum", 3, "bench")
    return product_of(replace(project, hardware=(*project.hardware, formula)))


def written(product: Product, folder: Path) -> openpyxl.Workbook:
    folder.mkdir()
    workbook.write(product, folder)
    return openpyxl.load_workbook(folder / "lists.xlsx")


def test_a_sheet_for_every_list_after_the_headings(bench: Product, tmp_path: Path) -> None:
    book = written(bench, tmp_path / "out")
    first = ["headings", "cut list", "wood list", "pockets", "hardware list", "order"]
    first.append("mating lines")
    assert book.sheetnames == first and set(LISTS) == set(first[1:])
    for name, writer in LISTS.items():
        heads = [cell.value for cell in next(book[name].iter_rows())]
        assert heads == [column.name for column in writer.columns]
        assert writer.rows is not None
        assert book[name].max_row == 1 + len(list(writer.rows(bench.project))) > 1
    told = [[cell.value for cell in row] for row in book["headings"].iter_rows(min_row=2)]
    assert told == [
        [writer.name, writer.files, column.name, column.about]
        for writer in (LISTS[name] for name in first[1:])
        for column in writer.columns
    ]


@pytest.mark.parametrize("name", LISTS)
def test_numbers_are_numbers_and_text_is_text(name: str, bench: Product, tmp_path: Path) -> None:
    """Cell by cell what the CSV file says; no cell is a formula."""
    writer: Writer = LISTS[name]
    sheet = written(bench, tmp_path / "out")[name]
    writer.write(bench, tmp_path)
    with (tmp_path / writer.files).open(encoding="utf-8-sig", newline="") as stream:
        _, *lines = csv.reader(stream)
    assert writer.rows is not None
    cells = [[c.cell(row) for c in writer.columns] for row in writer.rows(bench.project)]
    for r, row in enumerate(cells, start=2):
        for c, cell in enumerate(row, start=1):
            found = sheet.cell(r, c)
            assert found.data_type in ("s", "n")
            if cell == "":
                assert found.value is None
            elif isinstance(cell, str):
                assert found.data_type == "s" and found.value == cell
            else:
                # 16 digits are written: IEEE 754 doubles need 17 to come back bit by bit.
                assert found.data_type == "n" and math.isclose(found.value, cell, rel_tol=1e-15)
                decimals = writer.columns[c - 1].decimals
                shown = f"{found.value:.{decimals}f}" if isinstance(cell, float) else str(cell)
                assert float(lines[r - 2][c - 1]) == float(shown)
                if isinstance(cell, float):
                    assert found.number_format == "0." + "0" * decimals
    if name == "hardware list":
        assert "=1+1" in [cell.value for cell in sheet["B"]]


def test_the_same_project_gives_the_same_bytes(
    bench: Product, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    made = []
    for name in ("one", "other"):
        book = written(bench, tmp_path / name)
        assert book.properties.created.year == 1980
        made.append((tmp_path / name / "lists.xlsx").read_bytes())
    assert made[0] == made[1]


def test_headings_are_told_in_a_file(bench: Product, tmp_path: Path) -> None:
    written(bench, tmp_path / "out")
    said = " ".join((tmp_path / "out" / "headings.txt").read_text(encoding="utf-8").split())
    for writer in LISTS.values():
        assert writer.files in said
        for column in writer.columns:
            assert f"{column.name}: {' '.join(column.about.split())}" in said
    assert "axis_x: unit vector along the axis, x: it points out of the wood" in said


def test_the_cut_list_names_the_files_of_its_solids(bench: Product, tmp_path: Path) -> None:
    parts = next(writer for writer in writers() if writer.name == "parts-step")
    parts.write(bench, tmp_path)
    there = {path.name for path in (tmp_path / "parts").iterdir()}
    rows = table(bench.project, cut_list, tmp_path)
    assert {name for row in rows for name in row["solids"].split("; ")} == there


def test_rough_sizes_leave_wood_to_dress_and_trim(tmp_path: Path) -> None:
    """One inch, a quarter, the thickness as sold: common practice, no source."""
    oak = replace(small.OAK, kind="hardwood", thickness=19.05)
    project = small.corner()
    project = replace(project, boards=tuple(replace(b, stock=oak) for b in project.boards))
    row = table(replace(project, unit="inch"), cut_list, tmp_path)[0]
    longer = float(row["rough_length_mm"]) - float(row["length_mm"])
    wider = float(row["rough_width_mm"]) - float(row["width_mm"])
    assert (round(longer, 6), round(wider, 6)) == (25.4, 6.35)
    assert (row["sold_as"], row["rough_thickness"]) == ("4/4", '1"')
    metric = table(project, cut_list, tmp_path)[0]
    assert (metric["length"], metric["rough_length"]) == ("400 mm", "425 mm")
    ply = replace(small.OAK, kind="sheet")
    sheets = replace(project, boards=tuple(replace(b, stock=ply) for b in project.boards))
    assert {row["rough_length"] for row in table(sheets, cut_list, tmp_path)} == {""}


def test_pins_in_rows_are_one_line(tmp_path: Path) -> None:
    project = plan(read_recipe(RECIPES / "kitchenette.yaml", piece_models()))
    works = [row["work"] for row in table(project, cut_list, tmp_path)]
    pins = next(work for work in works if "pin holes" in work)
    assert "2 rows of " in pins and " pin holes at 32 mm" in pins and ", first " in pins
    assert pins.count("pin holes") == 1
