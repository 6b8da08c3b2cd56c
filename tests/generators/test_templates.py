"""Templates: true at full size when another program draws them, named, in tiles that fit."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from slantbore.generators.drawing.marks import Drawing, Line, Placed, Sheet, Text
from slantbore.generators.drawing.pdf import pdf
from slantbore.generators.papers.paper import A4
from slantbore.generators.papers.templates import check_bar, make, template, templates
from slantbore.generators.solids.product import Product
from slantbore.generators.solids.solids import solidify
from slantbore.models.designs import piece_models
from slantbore.models.piece.board import BACK, FRONT, LEFT, RIGHT, Work
from slantbore.models.piece.lie import Lying
from slantbore.models.piece.markout import mark_out
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe
from slantbore.models.work.arch import Arch
from slantbore.models.work.rounding import Rounding
from slantbore.models.work.taper import Taper
from tests.boards import blank

from .small import PINE

RECIPES = Path(__file__).parents[2] / "recipes"


def planned(name: str) -> Project:
    return plan(read_recipe(RECIPES / f"{name}.yaml", piece_models()))


def ink(sheet: Sheet, dots: int = 600) -> tuple[np.ndarray, float]:
    page = pypdfium2.PdfDocument(pdf([sheet], "one"))[0]
    image = page.render(scale=dots / 72, grayscale=True).to_numpy().squeeze()
    rows, columns = np.nonzero(image < 128)
    mm = 25.4 / dots
    return np.column_stack([columns * mm, sheet.height - rows * mm]), mm


def test_a_template_measures_true() -> None:
    """Rasterised by another program, the pocket's mouth lies where the bore is, within 0.2 mm."""
    project = planned("washroom-mirror")
    bore = project.bores[0]
    lying = Lying(project.board_named[bore.board], bore.pocket_face)
    one = template(lying, bore)
    at = (30.0 - one.low[0], 40.0 - one.low[1])
    spots, _ = ink(Sheet("one", A4.width, A4.height, (), (Placed(one.drawing, at),)))
    mouth = np.array(lying.mouth(bore, 48)) + at
    for point in mouth:
        assert np.hypot(*(spots - point).T).min() < 0.2
    assert len(list(templates(project))) == 2  # like boards once, left and right pocket


def arch_at(x: float) -> float:
    """An arch of 25 mm over 400 mm, by the textbook's circle through three points."""
    radius = (200.0**2 + 25.0**2) / 50.0
    return 25.0 - radius + math.sqrt(radius**2 - (x - 200.0) ** 2)


CURVES: dict[str, tuple[Work, list[tuple[float, float]]]] = {
    "arch": (Arch(edge=FRONT, rise=25.0), [(x, arch_at(x)) for x in range(0, 401, 4)]),
    "rounded corner": (
        Rounding(end=RIGHT, edge=BACK, radius=30.0),
        [(370 + 30 * math.sin(a), 60 + 30 * math.cos(a)) for a in np.linspace(0, np.pi / 2, 40)],
    ),
    "taper": (
        Taper(side=BACK, end=LEFT, amount=20.0, length=350.0),
        [(x, 90.0 - 20.0 * (1 - x / 350.0)) for x in range(0, 351, 5)],
    ),
}


@pytest.mark.parametrize("name", CURVES)
def test_a_curve_measures_true_across_its_tiles(name: str) -> None:
    """Rasterised by another program, each point of the curve has ink within 0.2 mm of it."""
    work, points = CURVES[name]
    board = blank("rail", "shelf", "rail", PINE, 400.0, 90.0, work=(work,))
    project = Project("shelf", "mm", (board,), ())
    sheets = list(make(Product(project, solidify(project), ()), A4))
    found = [(placed, ink(sheet, 300)[0]) for sheet in sheets for placed in sheet.drawings]
    for point in points:
        gaps = [np.hypot(*(spots - (np.array(point) + p.origin)).T).min() for p, spots in found]
        assert min(gaps) < 0.2
    assert len(found) == (1 if name == "rounded corner" else 3)
    for one, after in pairwise(placed.drawing for placed, _ in found):
        assert len(crosses(one) & crosses(after)) >= 2  # to lay one tile over the next by


def crosses(tile: Drawing) -> set[tuple[float, float]]:
    """Where the crosses of a tile stand on the board (mm)."""
    thin = [mark for mark in tile.marks if isinstance(mark, Line) and mark.pen == "thin"]
    middles = [((a.start[0] + a.end[0]) / 2, (a.start[1] + a.end[1]) / 2) for a in thin]
    return {(round(x, 3), round(y, 3)) for x, y in middles}


def test_a_legs_tapers_have_one_template() -> None:
    names = [one.drawing.name for one in templates(planned("entry-table"))]
    assert names == ["entry table front left leg taper"]


def test_the_bar_to_check_a_printer_by_is_as_long_as_it_says() -> None:
    for unit, long in (("mm", 100.0), ("inch", 101.6)):
        bar = tuple(check_bar((40.0, 100.0), unit))[:3]  # type: ignore[arg-type]
        spots, _ = ink(Sheet("bar", A4.width, A4.height, bar))
        assert np.ptp(spots[:, 0]) == pytest.approx(long + 0.35, abs=0.2)


def test_a_template_says_how_it_is_laid() -> None:
    """The names of the sides that are shown stand outside of them; the cross is at the pencil's."""
    project = planned("washroom-mirror")
    bore = project.bores[0]
    board = project.board_named[bore.board]
    lying, mark = Lying(board, bore.pocket_face), mark_out(board, bore)
    one = template(lying, bore)
    assert f"lay it to the {mark.end.name} and the {mark.edge.name}" in one.says
    words = {text.says: text for text in one.drawing.marks if isinstance(text, Text)}
    assert {mark.end.name, mark.edge.name} <= set(words)
    for face in (mark.end, mark.edge):
        gap = lying.plane(face.plane).gap((*words[face.name].at, 0.0))
        assert -4.0 < gap < -2.0
    pencil = [m for m in one.drawing.marks if isinstance(m, Line) and m.pen == "mark"]
    for line in pencil:
        middle = (np.array(line.start) + line.end) / 2
        assert middle == pytest.approx(lying.at(mark.mouth)[:2])
