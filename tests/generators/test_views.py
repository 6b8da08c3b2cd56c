"""Views: each piece seen from its own front, in line, with its sizes; however it stands."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from slantbore.generators.drawing.marks import Dimension, Drawing, Placed, Polyline, Running
from slantbore.generators.papers.cover import make as cover
from slantbore.generators.papers.paper import A4
from slantbore.generators.papers.views import extents, make
from slantbore.generators.solids.product import Product
from slantbore.generators.solids.solids import solidify
from slantbore.models.designs import piece_models
from slantbore.models.piece.pairs import hands
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe

RECIPES = Path(__file__).parents[2] / "recipes"
TURNS = (0, 90, 215)


def standing(recipe: str, turn: int) -> Project:
    """A shipped recipe's only piece, turned on the floor."""
    text = (RECIPES / f"{recipe}.yaml").read_text(encoding="utf-8")
    key = "    name: " if "\n    name: " in text else "    stock: "
    text = text.replace(key, f"    at: {{x: 40, y: 25, turn: {turn}}}\n{key}", 1)
    return plan(parse_recipe(text, f"{recipe}.yaml", piece_models()))


@pytest.fixture(scope="module", params=TURNS)
def turned(request: pytest.FixtureRequest) -> tuple[Project, dict[str, Placed]]:
    """A bench of 880 x 330 x 440 mm however it stands, and its views."""
    project = standing("boot-bench", request.param)
    [sheet] = make(Product(project, solidify(project), ()), A4)
    return project, {p.drawing.name.removeprefix("bench "): p for p in sheet.drawings}


def widths(drawing: Drawing) -> list[str]:
    return [mark.says for mark in drawing.marks if isinstance(mark, Dimension)]


def test_sizes_are_the_pieces_own(turned: tuple[Project, dict[str, Placed]]) -> None:
    project, views = turned
    [(low, high)] = extents(project).values()
    assert [b - a for a, b in zip(low, high, strict=True)] == pytest.approx([880, 330, 440])
    assert {name: widths(placed.drawing) for name, placed in views.items()} == {
        "front": ["880 mm"], "right side": ["330 mm"], "top": ["880 mm"],
    }  # fmt: skip
    product = Product(project, solidify(project), ())
    told = " ".join(m.says for s in cover(product, A4) for m in s.marks if hasattr(m, "says"))
    assert "bench: 880 mm wide, 330 mm deep, 440 mm high" in told


def test_views_lie_in_line_and_tell_where_boards_begin(
    turned: tuple[Project, dict[str, Placed]],
) -> None:
    _, views = turned
    spans = {name: span(placed) for name, placed in views.items()}
    assert spans["top"][:2] == pytest.approx(spans["front"][:2], abs=1e-6)
    assert spans["right side"][2:] == pytest.approx(spans["front"][2:], abs=1e-6)
    assert spans["top"][2] > spans["front"][3] and spans["right side"][0] > spans["front"][1]
    told = [m.says for m in views["front"].drawing.marks if isinstance(m, Running)]
    # By hand: the shelf lies from 110 to 128, the rails from 332 on, the sides stand 40 in.
    assert {"0 mm", "110 mm", "332 mm", "440 mm", "40 mm", "840 mm", "880 mm"} <= set(told)


def span(placed: Placed) -> tuple[float, float, float, float]:
    """Left, right, low and high end of a view's lines on the paper (mm)."""
    lines = [m for m in placed.drawing.on_paper(placed.origin) if isinstance(m, Polyline)]
    xs, ys = zip(*(p for line in lines for p in line.points), strict=True)
    return min(xs), max(xs), min(ys), max(ys)


@pytest.mark.parametrize("turn", TURNS)
def test_hands_are_the_pieces_own(turn: int) -> None:
    """The left side of a shelf is left from its own front, not as the room has it."""
    from slantbore.generators.papers.faces import mating_outlines

    project = standing("book-shelf", turn)
    project = replace(project, boards=tuple(replace(b, hand="") for b in project.boards))
    found = hands(project, mating_outlines(project))
    assert found["book-shelf left side"] == "left" and found["book-shelf right side"] == "right"
