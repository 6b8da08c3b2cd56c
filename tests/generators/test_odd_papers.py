"""Papers of starters and of odd pieces: nothing lies over anything, nothing leaves the paper."""

from __future__ import annotations

from pathlib import Path

import pytest

from slantbore.generators.drawing.fonts import width_of
from slantbore.generators.drawing.marks import Polyline, Running, Sheet, Table, Text
from slantbore.generators.papers import papers
from slantbore.generators.papers.paper import A4
from slantbore.generators.papers.steps import make as steps
from slantbore.generators.papers.steps import pressed
from slantbore.generators.papers.views import together
from slantbore.generators.solids.product import Product
from slantbore.generators.solids.solids import solidify
from slantbore.generators.telling.cautions import CAUTIONS
from slantbore.generators.writers.papers import write
from slantbore.models.designs import designs, piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.piece.groups import like_pieces
from slantbore.models.piece.project import Finding
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe, read_recipe

from .papers_check import outside, overlaps

MIRROR = (Path(__file__).parents[2] / "recipes" / "washroom-mirror.yaml").read_text("utf-8")
CHANGES = (
    "    changes: {every joint: {pilot: screw}, corner 1: {pockets: 2}, corner 3: {swing: 15}}\n"
)
LONG = """
name: the long and rather winding name of what stands by the shore
units: mm
stock: {wood by the door: {wood: cherry, thickness: 19}, ply: {sheet: birch-ply-18}}
build:
  - design: free-form
    name: the stand that stands beside the door of the upper bedroom
    parts:
      a rail whose name goes on and on for no good reason at all:
        stock: wood by the door
        length: 60
        width: 60
        faces:
          top face: the face that looks to the window in the morning
          left end: the end that is nearest to the chimney
          front edge: the edge over the threshold
      a post with a name that has no reason to stop until it does:
        stock: wood by the door
        length: 2400
        width: 90
        faces: {top face: the side that looks out over the water}
      Lakesideguestcabinwashroomtowelandbathrobehangingboard:
        stock: ply
        length: 800
        width: 500
    joints:
      - kind: butt
        board: a rail whose name goes on and on for no good reason at all / left end
        meets: a post with a name that has no reason to stop until it does / top face
        pockets_in: top face
        flush:
          - {face: front edge, to: front edge, set_back: 15}
          - {face: top face, to: left end, set_back: 1200}
      - kind: butt
        board: Lakesideguestcabinwashroomtowelandbathrobehangingboard / left end
        meets: a post with a name that has no reason to stop until it does / back edge
        pockets_in: bottom face
        flush: [{face: front edge, to: top face}, {face: top face, to: left end, set_back: 600}]
"""
ONE = """
name: window sill
units: mm
stock: {board: {wood: cherry, thickness: 19}}
build:
  - {design: free-form, name: sill, parts: {sill: {stock: board, length: 900, width: 140}}}
"""
STOOL = """
name: splayed stool
units: mm
stock: {leg: {wood: white-oak, thickness: 40}, rail: {wood: white-oak, thickness: 22}}
build:
  - design: free-form
    name: stool
    stands: {length: up, width: right}
    parts:
      left leg:
        stock: leg
        length: 420
        width: 60
        left_mitre: 8
        right_mitre: -8
        front_bevel: 4
        faces: {front edge: outside, back edge: inside}
        rounded: [{end: left end, edge: front edge, radius: 20}]
      rail:
        stock: rail
        length: 300
        width: 90
        left_mitre: 8
        arches: [{edge: front edge, rise: 25, starts: 40, stops: 40}]
        tapers: [{side: back edge, end: right end, amount: 12, length: 150}]
    joints:
      - kind: butt
        board: rail / left end
        meets: left leg / inside
        pockets_in: bottom face
        flush:
          - {face: top face, to: top face, set_back: 9}
          - {face: front edge, to: right end, set_back: 60}
"""
BATTEN = """
name: coat batten
units: mm
stock: {board: {wood: cherry, thickness: 19}}
build:
  - design: free-form
    name: batten
    parts:
      batten: {stock: board, length: 2400, width: 60}
      cleat: {stock: board, length: 60, width: 40, faces: {bottom face: underside}}
    joints:
      - kind: butt
        board: cleat / left end
        meets: batten / top face
        pockets_in: underside
        flush:
          - {face: front edge, to: front edge, set_back: 10}
          - {face: top face, to: left end, set_back: 700}
"""
WIDE = BATTEN.replace("cleat", 38 * "\u6c34").replace("batten", 38 * "\u69fd")
ODD = {
    "long names in three bytes a letter": WIDE,
    "changes": MIRROR + CHANGES,
    "twenty": MIRROR.replace("    name: mirror\n", "    name: mirror\n    quantity: 20\n"),
    "long names": LONG,
    "one board": ONE,
    "bevels and curves": STOOL,
    "long and short": BATTEN,
} | {f"starter {key}": design.starter for key, design in designs().items()}


def made(text: str) -> tuple[Product, tuple[Sheet, ...]]:
    project = plan(parse_recipe(text, "odd.yaml", piece_models()))
    product = Product(project, solidify(project), tuple(judge(project)))
    return product, papers(product)


@pytest.mark.parametrize("name", ODD)
def test_papers_of_odd_pieces_are_clean(name: str) -> None:
    product, sheets = made(ODD[name])
    for sheet in sheets:
        assert not list(overlaps(sheet))
        assert not list(outside(sheet))
        for table in (mark for mark in sheet.marks if isinstance(mark, Table)):
            for row in table.rows:
                for cell, width in zip(row, table.widths, strict=True):
                    assert width_of(cell, table.height) <= width
    # A long word is broken from line to line.
    told = "".join(m.says for s in sheets for m in s.on_paper() if isinstance(m, Text))
    for board in product.project.boards:
        assert board.role.replace(" ", "") in told.replace(" ", "")


def test_copies_are_told_once() -> None:
    """Twenty mirrors take few sheets more than one: one size, one view, steps told once."""
    product, sheets = made(ODD["twenty"])
    [pieces] = like_pieces(product.project)
    assert len(pieces) == 20 and together(pieces) == "mirror 1 and 19 like it"
    titles = [sheet.title for sheet in sheets]
    assert titles.count("mirror 1 and 19 like it: views") == 1
    assert titles.count("Order of assembly") == 1
    first = [m.says for m in sheets[0].marks if isinstance(m, Text)]
    assert [says for says in first if "wide" in says] == [
        'mirror 1 and 19 like it: 21" wide, 3/4" deep, 29" high'
    ]


def test_a_curve_is_measured_where_it_begins_and_ends() -> None:
    """An arch of 25 mm, 40 mm from either end of 300 mm: not at the flats that stand for it."""
    product, sheets = made(STOOL)
    number = next(
        text.says.split(".")[0] for s in sheets for text in s.marks
        if isinstance(text, Text) and text.says.endswith("1 x rail")
    )  # fmt: skip
    [face] = [
        p.drawing for s in sheets for p in s.drawings
        if p.drawing.name == f"board {number} top face"
    ]  # fmt: skip
    told = {m.says for m in face.marks if isinstance(m, Running)}
    assert {"40 mm", "25 mm"} <= told and len(told) <= 8


def test_a_cover_with_much_to_say_goes_on_on_another_sheet() -> None:
    project = plan(parse_recipe(MIRROR, "mirror.yaml", piece_models()))
    many = tuple(
        Finding("breakout", "fails", f"wall {n} is thin; {30 * 'it is thin '}", board=board.name)
        for n, board in enumerate(3 * project.boards)
    )
    product = Product(project, solidify(project), ()).told(many)
    sheets = papers(product)
    covers = [sheet for sheet in sheets if sheet.title == project.name]
    assert len(covers) == 2
    flat = " ".join(m.says for s in covers for m in s.marks if isinstance(m, Text))
    assert "12 findings fail: do not build it like this." in flat
    assert "wall 0 is thin" in flat and all(says in flat for says in CAUTIONS)
    for sheet in sheets:
        assert not list(overlaps(sheet)) and not list(outside(sheet))
        assert any(
            "DO NOT BUILD: 12 findings fail" in mark.says
            for mark in sheet.marks
            if isinstance(mark, Text)
        )


def test_every_drawing_has_its_files_however_long_its_name(tmp_path: Path) -> None:
    product, sheets = made(WIDE)
    write(product, tmp_path)
    drawings = [placed.drawing.name for sheet in sheets for placed in sheet.drawings]
    assert max(len(name.encode()) for name in drawings) > 255
    for ending in ("svg", "dxf"):
        assert len(list((tmp_path / "papers").glob(f"*.{ending}"))) == len(drawings)


def test_a_clamp_presses_from_both_ends_of_the_joint() -> None:
    """By hand: a top of 880 mm over rails of 800 and two sides of 18: they stand 22 mm in."""
    recipes = Path(__file__).parents[2] / "recipes"
    bench = plan(read_recipe(recipes / "boot-bench.yaml", piece_models()))
    joint = next(
        joint for joint in bench.joints
        if (joint.first, joint.second) == ("bench front rail", "bench left side")
    )  # fmt: skip
    jaws = {round(point[0], 6): way for point, way in pressed(bench, joint)}
    assert jaws == {22.0: pytest.approx((1, 0, 0)), 840.0: pytest.approx((-1, 0, 0))}
    wedges = {
        name: sum(isinstance(m, Polyline) and m.pen is None for p in pictures for m in p.marks)
        for name in ("boot-bench", "washroom-mirror")
        for project in [plan(read_recipe(recipes / f"{name}.yaml", piece_models()))]
        for sheets in [steps(Product(project, solidify(project), ()), A4)]
        for pictures in [[placed.drawing for sheet in sheets for placed in sheet.drawings]]
    }
    assert wedges["boot-bench"] >= 8 and wedges["washroom-mirror"] == 0  # a brace holds its corners
