"""Board sheets: datum sides named, what comes to a board told, hands told apart; in DXF as well."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf.filemanagement
import pytest

from slantbore.generators.drawing.dxf import dxf
from slantbore.generators.drawing.marks import Drawing, Line, Polyline, Running, Sheet, Text
from slantbore.generators.papers import papers
from slantbore.generators.papers.boards import make
from slantbore.generators.papers.faces import Worked, letters
from slantbore.generators.papers.paper import A4
from slantbore.generators.solids.product import Product
from slantbore.generators.solids.solids import solidify
from slantbore.models.designs import piece_models
from slantbore.models.piece.bored import bores_in
from slantbore.models.piece.lie import Lying
from slantbore.models.piece.markout import mark_out
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe

RECIPES = Path(__file__).parents[2] / "recipes"
ALL = sorted(path.stem for path in RECIPES.glob("*.yaml"))
NUMBERED = re.compile(r"(\d+)\. (\d+) x (.*)")


def planned(name: str) -> Project:
    return plan(read_recipe(RECIPES / f"{name}.yaml", piece_models()))


def product_of(project: Project) -> Product:
    return Product(project, solidify(project), ())


def drawings(sheets: Iterator[Sheet] | tuple[Sheet, ...]) -> list[Drawing]:
    return [placed.drawing for sheet in sheets for placed in sheet.drawings]


def headings(sheets: list[Sheet]) -> list[tuple[str, str, str]]:
    """Number, count and words of every board's heading, in their order."""
    bold = [m for s in sheets for m in s.marks if isinstance(m, Text) and m.bold]
    found = [NUMBERED.fullmatch(text.says) for text in bold]
    return [(one[1], one[2], one[3]) for one in found if one]


def running(drawing: Drawing) -> list[Running]:
    return [mark for mark in drawing.marks if isinstance(mark, Running)]


@pytest.mark.parametrize("name", ALL)
def test_every_face_names_what_its_sizes_are_counted_from(name: str) -> None:
    """Each 0 stands at an end or edge, and the four names about a face are those of its sides."""
    project = planned(name)
    for board in project.boards:
        labels = {bore.name: str(i) for i, bore in enumerate(bores_in(project, board), start=1)}
        for side in ("top face", "bottom face", "front edge", "back edge"):
            face = Worked(project, Lying(board, side), labels)
            if not face.has_work:
                continue
            drawing = face.drawing("one", 0.125)
            said = {mark.says for mark in drawing.marks if isinstance(mark, Text)}
            assert {board.face(s).name for s in face.lying.beside} <= said
            for number in running(drawing):
                off = max(abs(a - b) for a, b in zip(number.at, number.zero, strict=True))
                assert (off < 1e-3) == (number.says.split()[0].strip('"') in ("0", "0.0"))


def test_a_cross_is_where_the_pencil_marks_each_pocket() -> None:
    project = planned("octagon-mirror")
    board = project.boards[0]
    bores = bores_in(project, board)
    labels = {bore.name: str(i) for i, bore in enumerate(bores, start=1)}
    drawing = Worked(project, Lying(board, bores[0].pocket_face), labels).drawing("one", 0.5)
    pencil = [m for m in drawing.marks if isinstance(m, Line) and m.pen == "mark"]
    middles = {
        tuple(round((a + b) / 2, 6) for a, b in zip(line.start, line.end, strict=True))
        for line in pencil
    }
    lying = Lying(board, bores[0].pocket_face)
    wanted = {tuple(round(v, 6) for v in lying.at(mark_out(board, b).mouth)[:2]) for b in bores}
    assert middles == wanted and len(pencil) == 2 * len(bores)


def test_sides_that_differ_by_what_comes_to_them_are_left_and_right() -> None:
    """Both are the same blank without a pocket; the shelves come to opposite faces."""
    sheets = list(make(product_of(planned("book-shelf")), A4))
    told = [what for _, count, what in headings(sheets) if count == "1"]
    assert {"left side (left hand)", "right side (right hand)"} <= set(told)
    left, right = (
        next(d for d in drawings(tuple(sheets)) if d.name.startswith(f"board {number} "))
        for number, _, what in headings(sheets)
        if what in ("left side (left hand)", "right side (right hand)")
    )
    long = max(p[0] for m in left.marks if isinstance(m, Polyline) for p in m.points)
    assert outlines(left) == {tuple(sorted((round(long - x, 3), y) for x, y in one))
                              for one in outlines(right)}  # fmt: skip
    assert outlines(left) != outlines(right)


def outlines(drawing: Drawing) -> set[tuple[tuple[float, float], ...]]:
    """The dashed outlines of a drawing, each as its sorted corners (mm)."""
    dashed = [m for m in drawing.marks if isinstance(m, Polyline) and m.pen == "hidden"]
    return {tuple(sorted((round(x, 3), round(y, 3)) for x, y in one.points)) for one in dashed}


def test_like_blanks_with_other_marks_have_sheets_of_their_own() -> None:
    project = planned("book-shelf")
    joints = tuple(
        joint for joint in project.joints
        if (joint.first, joint.second) != ("book-shelf shelf 3 panel", "book-shelf right side")
    )  # fmt: skip
    assert len(joints) == len(project.joints) - 1
    told = [
        what for _, _, what in headings(list(make(product_of(replace(project, joints=joints)), A4)))
    ]
    assert {"left side", "right side"} <= set(told)


def test_each_board_that_comes_to_a_face_has_its_letter() -> None:
    [drawing] = [
        d for d in drawings(make(product_of(planned("book-shelf")), A4))
        if d.name.startswith("board 1 ")
    ]  # fmt: skip
    said = [mark.says for mark in drawing.marks if isinstance(mark, Text)]
    assert [letter for letter in said if len(letter) == 1] == list("abcdef")
    assert [letters(n) for n in (0, 25, 26, 27, 51, 52)] == ["a", "z", "aa", "ab", "az", "ba"]


def test_slots_of_pilots_and_ends_are_told_on_the_sheet() -> None:
    sheets = list(make(product_of(planned("entry-table")), A4))
    flat = " ".join(m.says for s in sheets for m in s.marks if isinstance(m, Text))
    assert 'slots along the joint, 1/8" longer than they are wide' in flat


@pytest.mark.parametrize("name", ALL)
def test_every_drawing_is_a_sound_dxf_whose_sizes_are_dimensions(name: str) -> None:
    """By ezdxf's audit; each running number measures, full size, what the drawing measured."""
    for drawing in drawings(papers(product_of(planned(name)))):
        document = ezdxf.filemanagement.read(io.StringIO(dxf(drawing)))
        audit = document.audit()
        assert not audit.errors and not audit.fixes
        space: Any = document.modelspace()
        found = [entity for entity in space.query("DIMENSION") if entity.dimtype == 6]
        mine = running(drawing)
        assert len(found) == len(mine)
        for entity, number in zip(found, mine, strict=True):
            off = max(abs(a - b) for a, b in zip(number.at, number.zero, strict=True))
            assert abs(entity.get_measurement().x + entity.get_measurement().y) == pytest.approx(
                off, abs=1e-6
            )
            assert entity.dxf.text == number.says
