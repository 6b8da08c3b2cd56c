"""Bench papers: nothing lies over anything, numbers lead to the bores, every part is cut once."""

from __future__ import annotations

import math
import re
import shutil
import subprocess
from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from fontTools.ttLib import TTFont
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.GeomAbs import GeomAbs_Cylinder

from slantbore.generators.cutting.boards import Lengths
from slantbore.generators.cutting.material import materials
from slantbore.generators.drawing.dxf import dxf
from slantbore.generators.drawing.fonts import REGULAR, font_file, width_of
from slantbore.generators.drawing.marks import (
    Hatch,
    Leader,
    Polyline,
    Sheet,
    Table,
    Text,
)
from slantbore.generators.drawing.pdf import pdf
from slantbore.generators.drawing.plain import plain
from slantbore.generators.drawing.svg import svg
from slantbore.generators.papers import papers
from slantbore.generators.papers.faces import mating_outlines
from slantbore.generators.papers.ordinates import apart
from slantbore.generators.papers.steps import pictured
from slantbore.generators.solids.kernel import cq
from slantbore.generators.solids.product import Product
from slantbore.generators.solids.solids import bored_solid, solidify
from slantbore.generators.telling.steps import mind, stages
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.piece.board import TOP, Board
from slantbore.models.piece.lie import Lying
from slantbore.models.piece.pairs import like_boards
from slantbore.models.piece.project import Finding, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe, read_recipe
from slantbore.models.words.lengths import parse_length

from .marking import plane_of
from .papers_check import outside, overlaps

RECIPES = Path(__file__).parents[2] / "recipes"
ALL = sorted(path.stem for path in RECIPES.glob("*.yaml"))
MOST = {"washroom-mirror": 8, "entry-table": 24, "kitchenette": 70}


def planned(name: str) -> Project:
    return plan(read_recipe(RECIPES / f"{name}.yaml", piece_models()))


def product_of(name: str, findings: tuple[Finding, ...] = ()) -> Product:
    project = planned(name)
    return Product(project, solidify(project), findings)


def words(data: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(data)
    return [page.get_textpage().get_text_range() for page in document]


@pytest.fixture(scope="module", params=ALL)
def made(request: pytest.FixtureRequest) -> tuple[str, Product, tuple[Sheet, ...]]:
    """The papers of a recipe, made once."""
    product = product_of(request.param)
    return request.param, product, papers(product)


Made = tuple[str, Product, tuple[Sheet, ...]]
NUMBERED = re.compile(r"\d+\. \d+ x ")


def test_papers_are_clean(made: Made) -> None:
    """No text on text or through a line, none off the paper; every part named; pages counted."""
    name, product, sheets = made
    assert len(sheets) <= MOST.get(name, 30)
    for sheet in sheets:
        assert not list(overlaps(sheet))
        assert not list(outside(sheet))
    told = words(pdf(sheets, name))
    assert len(told) == len(sheets)
    for number, page in enumerate(told, start=1):
        assert f"sheet {number} of {len(sheets)}" in page
    flat = " ".join(" ".join(told).split())
    for board in product.project.boards:
        assert board.role in flat
    names = [placed.drawing.name for sheet in sheets for placed in sheet.drawings]
    assert len({name.casefold() for name in names}) == len(names)


def texts(sheets: Iterable[Sheet]) -> list[Text]:
    marks = (one for sheet in sheets for mark in sheet.on_paper() for one in plain(mark))
    return [one for one in marks if isinstance(one, Text)]


def test_nothing_is_printed_too_small_to_read(made: Made) -> None:
    assert min(text.height for text in texts(made[2])) >= 2.0


def test_every_cell_of_a_table_fits_its_column(made: Made) -> None:
    tables = [mark for sheet in made[2] for mark in sheet.marks if isinstance(mark, Table)]
    assert tables
    for table in tables:
        for row in (table.head, *table.rows):
            for cell, width in zip(row, table.widths, strict=True):
                assert width_of(cell, table.height) <= width, cell


def test_a_boards_title_stands_with_its_drawing_or_says_that_there_is_none(made: Made) -> None:
    for sheet in made[2]:
        if sheet.title != "Boards":
            continue
        titles = [one for one in texts([replace(sheet, drawings=())]) if NUMBERED.match(one.says)]
        drawn = {placed.drawing.name.split()[1] for placed in sheet.drawings}
        for title, following in zip(titles, [*titles[1:], None], strict=False):
            low = following.at[1] if following else 0.0
            said = [o.says for o in texts([sheet]) if low < o.at[1] < title.at[1]]
            number = title.says.split(".")[0]
            assert number in drawn or any("no face is drawn" in one for one in said), title.says


def test_boards_alike_are_told_once(made: Made) -> None:
    """Alike in what is cut, drilled and drawn on them."""
    _, product, sheets = made
    heads = [t.says for t in texts(s for s in sheets if s.title == "Boards") if t.bold]
    found = [re.match(r"(\d+)\. (\d+) x ", says) for says in heads]
    told = [(int(head[1]), int(head[2])) for head in found if head]
    alike = like_boards(product.project, mating_outlines(product.project))
    assert [number for number, _ in told] == list(range(1, len(alike) + 1))
    assert sorted(count for _, count in told) == sorted(len(boards) for boards in alike)


def test_every_step_has_its_words_and_its_picture(made: Made) -> None:
    """Numbers and words of the order; new boards darker, a slim arrow for each screw, cautions."""
    _, product, sheets = made
    project = product.project
    order = [sheet for sheet in sheets if sheet.title == "Order of assembly"]
    pictures = {p.drawing.name: p.drawing for sheet in order for p in sheet.drawings}
    told = stages(project)
    assert set(pictures) == {f"step {stage.number}" for stage in told if pictured(stage)}
    flat = " ".join(" ".join(text.says for text in texts(order)).split())
    assert ("White arrow: how it comes." in flat) == bool(told)
    for stage in told:
        assert f"{stage.number}. {stage.text}" in flat
        if pictured(stage):
            for caution in mind(project, stage.steps):
                assert caution in flat
            marks = pictures[f"step {stage.number}"].marks
            pens = Counter(mark.pen for mark in marks if isinstance(mark, Polyline))
            assert pens["faint"] and pens["outline"]
            arrows = [mark for mark in marks if isinstance(mark, Leader)]
            assert len(arrows) == sum(len(step.bores) for step in stage.steps)


def test_every_kind_of_joint_is_cut_through_once_and_its_parts_are_named(made: Made) -> None:
    """By kind, thickness, drill and screw: pocket, pilot, screw and the wood under the pocket."""
    _, product, sheets = made
    project = product.project
    pages = [sheet for sheet in sheets if sheet.title == "Joints"]
    drawn = [placed.drawing for sheet in pages for placed in sheet.drawings]
    used = {
        (j.kind, round(project.board_named[b.board].across(b.pocket_face), 3), b.screw, b.shoulder)
        for j in project.joints
        for b in j.bores
    }
    assert len(drawn) == len(used)
    assert {one.name.split()[1] for one in drawn} == {kind for kind, *_ in used}
    for one in drawn:
        assert [m.says for m in one.marks if isinstance(m, Leader)] == list("abcd")
        assert sum(isinstance(mark, Hatch) for mark in one.marks) == 2  # both boards are cut
    flat = " ".join(text.says for text in texts(pages))
    for words in ("a pocket, wide", "b pilot, long", "c screw in", "d wood under"):
        assert flat.count(words) == len(drawn)


def test_every_part_is_in_a_cutting_plan_once(made: Made) -> None:
    """In the plan, and in the words of the sheets that print it."""
    _, product, sheets = made
    project = product.project
    cut: list[str] = []
    for one in materials(project):
        if one.sheets:
            cut += [laid.part.name for sheet in one.sheets.sheets for laid in sheet.laid]
        cut += [part for strip in one.strips for b in strip.plan.boards for part, _ in b.parts]
        cut += [board.name for board in one.left_out]
    assert sorted(cut) == sorted(board.name for board in project.boards)
    drawn = [
        placed.drawing for sheet in sheets if sheet.title == "Cutting plans"
        for placed in sheet.drawings
    ]  # fmt: skip
    plans = [p for one in materials(project) for p in (one.sheets.sheets if one.sheets else ())]
    boards = [b for one in materials(project) for s in one.strips for b in s.plan.boards]
    assert len(drawn) == len(plans) + len(boards)


def test_the_recipe_says_how_boards_are_bought_and_sawn() -> None:
    """Kerf, trims, lengths on sale and paper reach the plans and the sheets."""
    text = (RECIPES / "washroom-mirror.yaml").read_text(encoding="utf-8")
    stated = (
        "cutting: {kerf: 1/4, end_trim: 2, sheet_trim: 1/2, board_lengths: [5 ft, 3 ft],"
        " waste: 50, paper: a4}"
    )
    project = plan(parse_recipe(f"{text}\n{stated}\n", "stated.yaml", piece_models()))
    [one] = materials(project)
    [strip] = one.strips
    assert strip.lengths == Lengths((36 * 25.4, 60 * 25.4), 6.35, 50.8)
    assert {board.length for board in strip.plan.boards} <= {36 * 25.4, 60 * 25.4}
    sheets = papers(Product(project, solidify(project), ()))
    assert {(sheet.width, sheet.height) for sheet in sheets} == {(210.0, 297.0)}
    flat = " ".join(" ".join(words(pdf(sheets, "stated"))).split())
    assert 'kerf 1/4", hatched: 2" off each end' in flat and "50 % are added for waste" in flat


def test_a_project_that_fails_says_so_on_every_sheet() -> None:
    project = planned("washroom-mirror")
    wrong = Finding("breakout", "fails", "a bore breaks out", board=project.boards[0].name)
    product = Product(project, solidify(project), (*judge(project), wrong))
    for page in words(pdf(papers(product), "wrong")):
        assert "DO NOT BUILD: 1 finding fails" in page


NAMED = """
name: {0} shelf
units: mm
stock: {{board: {{wood: cherry, thickness: 19}}}}
build:
  - {{design: mitred-frame, name: {1}, stock: board, rail_width: 63, sight: 400 x 600}}
"""


@pytest.mark.parametrize(
    "first, second, codes",
    [
        ("\u6c34\u69fd", "\u93e1", ["[6C34][69FD]", "[93E1]"]),
        ("\u05de\u05d3\u05e3", "\u0e01\u0e23\u0e2d\u0e1a", ["[05DE]", "[0E01]"]),
        ("M\u00f6bel", "\u043f\u043e\u043b\u043a\u0430", []),
    ],
    ids=["Chinese", "Hebrew and Thai", "umlaut and Cyrillic"],
)
def test_names_in_any_script_are_drawn_or_told(first: str, second: str, codes: list[str]) -> None:
    """What the font holds is drawn, the rest has codes and a line that says so: no empty boxes."""
    project = plan(parse_recipe(NAMED.format(first, second), "named.yaml", piece_models()))
    sheets = papers(Product(project, solidify(project), ()))
    for sheet in sheets:
        assert not list(overlaps(sheet)) and not list(outside(sheet))
    told = "".join(" ".join(words(pdf(sheets, "named"))).split())
    with TTFont(font_file(REGULAR), lazy=True) as font:
        assert {ord(letter) for letter in told} <= set(font.getBestCmap())
    assert all(code in told for code in codes)
    assert ("cannotdraw" in told) == bool(codes)
    if not codes:
        assert first in told and second in told


def test_two_readers_open_the_papers(tmp_path: Path) -> None:
    """pdfium, and poppler where it is installed (CI installs it)."""
    data = pdf(papers(product_of("washroom-mirror")), "mirror")
    assert len(pypdfium2.PdfDocument(data)) == 8
    path = tmp_path / "papers.pdf"
    path.write_bytes(data)
    reader = shutil.which("pdftotext")
    if reader is None:
        pytest.skip("no poppler here: Debian's poppler-utils has it")
    done = subprocess.run([reader, str(path), "-"], capture_output=True, text=True, check=True)
    assert "sheet 8 of 8" in done.stdout and "bottom rail" in done.stdout


def test_the_same_project_gives_the_same_papers() -> None:
    product = product_of("washroom-mirror")
    sheets = papers(product)
    assert pdf(sheets, "a") == pdf(papers(product), "a")
    first = sheets[3].drawings[0].drawing
    assert svg(first) == svg(first) and dxf(first) == dxf(first)


def test_numbers_keep_apart_and_stay_near() -> None:
    assert apart([0.0, 10.0, 20.0]) == [0.0, 10.0, 20.0]
    moved = apart([10.0, 10.5, 11.0], 3.0)
    assert np.allclose(np.diff(moved), 3.0) and np.mean(moved) == pytest.approx(10.5)


# --- as a maker ----------------------------------------------------------------------------------

HEAD = re.compile(
    r"^(\d+)\. 2 x ([\w ,]+)\n([\d/-]+)\" x ([\d/-]+)\" x ([\d/-]+)\".*\n"
    r"mitre ([\d.]+) degrees both ends, outside edge long$",
    re.M,
)
ROW = re.compile(
    r"^(\d+) ([\d/-]+)\" (left end|right end) ([\d/-]+)\" outside edge square "
    r"([\d/-]+)\" ([\d/-]+)\"",
    re.M,
)
GUIDE = re.compile(r"drill guide at ([\d.]+) degrees; a pocket, wide ([\d/-]+)\"")


def test_a_maker_finds_the_mirrors_bores_from_the_papers_alone() -> None:
    """Each rail is drawn anew from the text of the PDF, and held against the solids' own bores."""
    product = product_of("washroom-mirror")
    project = product.project
    told = "\n".join(words(pdf(papers(product), "mirror"))).replace("\r", "")
    guide = GUIDE.search(" ".join(told.split()))
    assert guide is not None
    slope, wide = math.radians(float(guide[1])), parse_length(guide[2], "inch")
    found = 0
    for head in HEAD.finditer(told):
        board = next(b for b in project.boards if b.role == head[2].split(",")[0].strip())
        length, mitre = parse_length(head[3], "inch"), math.radians(float(head[6]))
        until = told.find(". 2 x ", head.end())
        rows = list(ROW.finditer(told, head.end(), until if until > 0 else len(told)))
        solids = pockets(bored_solid(project, board), wide / 2)
        assert len(rows) == len(solids)
        for row in rows:
            run, square, deep = (parse_length(row[i], "inch") for i in (2, 4, 5))
            # On the back, as it lies: along the outside edge, in from it, up out of the wood.
            side = 1.0 if row[3] == "left end" else -1.0
            mouth = np.array([run if side > 0 else length - run, square, 0.0])
            down = np.array([-side * math.cos(mitre), math.sin(mitre), 0.0]) * math.cos(slope)
            shoulder = mouth + deep * (down - [0.0, 0.0, math.sin(slope)])
            mine = [(at(board, p), at(board, q)) for p, q in solids]
            off = [max(np.abs(mouth - p).max(), np.abs(shoulder - q).max()) for p, q in mine]
            assert min(off) < 0.5
            found += 1
    assert 2 * found == len(project.bores)  # each sheet is for two boards


def at(board: Board, point: np.ndarray) -> np.ndarray:
    """A point by a board's face names: along the outside edge, in from it, out of its back."""
    edge, back = (plane_of(board, name) for name in ("outside edge", "back"))
    x, y, z = point.tolist()
    return np.array([x, edge.gap((x, y, z)), -back.gap((x, y, z))])


def pockets(solid: cq.Shape, radius: float) -> list[tuple[np.ndarray, np.ndarray]]:
    """Of each wide bore in a solid: where its axis meets the faces z = 0 or T, and its shoulder."""
    box = solid.BoundingBox()
    found = []
    for face in solid.Faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        if surface.GetType() != GeomAbs_Cylinder:
            continue
        if abs(surface.Cylinder().Radius() - radius) > 0.4:
            continue
        axis = surface.Cylinder().Axis().Direction()
        way = np.array([axis.X(), axis.Y(), axis.Z()])
        rings = [e for e in face.Edges() if e.geomType() == "CIRCLE"]
        [shoulder] = {tuple(round(v, 4) for v in e.arcCenter().toTuple()) for e in rings}
        low = np.array(shoulder)
        ends = [low + way * ((z - low[2]) / way[2]) for z in (box.zmin, box.zmax)]
        found.append((min(ends, key=lambda end: float(np.linalg.norm(end - low))), low))
    return found


def test_the_top_face_is_seen_as_it_lies() -> None:
    project = planned("washroom-mirror")
    lying = Lying(project.boards[0], TOP)
    assert lying.size == (project.boards[0].length, project.boards[0].width, 19.05)
    assert lying.at((3.0, 4.0, 19.05)) == pytest.approx((3.0, 4.0, 0.0))
