"""The driver's bit follows the stock's thickness: the shortest on sale that clears the board."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.wood.tables import bits, default_drill
from slantbore.models.words.errors import RecipeError
from slantbore.models.words.lengths import MM_PER_INCH
from tests.models.advised import advised, hold
from tests.models.test_cross_grain import BETWEEN_SIDES

FRAME = """\
name: pantry frame
units: inch
stock:
  frame: {wood: hard-maple, thickness: %s}
build:
  - design: face-frame
    stock: frame
    size: 24 x 30
    stile: 1-1/2
    rail: 1-1/2
    columns:
      - {openings: [6, rest]}
      - {width: 8, openings: [rest]}
"""

BENCH = Path(__file__).parents[1] / "recipes" / "two-by-four-bench.yaml"


def planned(text: str) -> Project:
    return plan(parse_recipe(text, "bits.yaml", piece_models()))


def failing(project: Project) -> list[str]:
    return [f"{f.rule}: {f.message}" for f in judge(project) if f.severity == "fails"]


def driven(project: Project) -> set[float]:
    """The bits in use, in the recipe's unit."""
    bits = {bore.bit(project.board_named[bore.board]) for bore in project.bores}
    return {round(bit / (MM_PER_INCH if project.unit == "inch" else 1), 9) for bit in bits}


@pytest.mark.parametrize(
    ("thickness", "bit"),
    [("3/4", 5), ("1", 5), ("1-1/4", 6), ("1-1/2", 6), ("1-3/4", 6)],
)
def test_a_face_frame_in_thick_stock_is_driven_with_a_longer_bit(thickness: str, bit: int) -> None:
    """A 6 in bit in stock well over an inch: common practice, no source."""
    project = planned(FRAME % thickness)
    assert failing(project) == []
    assert driven(project) == {float(bit)}


def test_a_bench_of_two_by_fours_passes() -> None:
    project = planned(BENCH.read_text(encoding="utf-8"))
    assert failing(project) == []
    assert driven(project) == {6.0}
    assert max(bore.screw.length for bore in project.bores) == pytest.approx(63.5)


def test_a_stated_bit_rules() -> None:
    stated = FRAME.replace("stock:", "tools: {bit_length: 125 mm}\nstock:", 1)
    project = planned(stated % "1-1/2")
    assert driven(project) == {round(125 / 25.4, 9)}
    recipe, _, findings = advised(stated % "1-1/2", tries=6)
    (first, *_) = [f for f in findings if f.rule == "out-of-reach"]
    assert first.remedy == 'drive with a bit of 6" (tools: {bit_length: 6"})'
    assert hold(recipe, findings)
    assert driven(planned(stated % "3/4")) == {round(125 / 25.4, 9)}
    longer = stated.replace("125 mm", "210 mm")
    assert driven(planned(longer % "3/4")) == {round(210 / 25.4, 9)}


def test_the_bit_is_the_shortest_that_keeps_the_driver_off_the_face() -> None:
    """The driver's front rim is lowest at d sin t - B cos t over the exit's depth."""
    drill = default_drill().drill
    t = math.radians(drill.slope)
    head = 30.0
    for bit, longer in zip(bits(), bits()[1:], strict=False):
        depth = (head + bit) * math.sin(t) - drill.driver_radius * math.cos(t)
        assert drill.bit(depth - 1e-9, head) == bit
        assert drill.bit(depth + 1e-9, head) == longer
    assert drill.bit(1e3, head) == bits()[-1]


CRADLE = """\
name: cradle
units: mm
tools: {%s}
stock:
  ply: {sheet: birch-ply-18}
build:
  - design: case
    name: cradle
    stock: ply
    size: 600 x 870
    depth: 560
    toe_kick: {height: %s, setback: 70}
"""


def test_a_driver_is_stated_by_its_kind_or_its_measures() -> None:
    def of(tools: str) -> tuple[float, float]:
        drill = planned(CRADLE % (tools, 100)).bores[0].drill
        return 2 * drill.driver_radius, drill.driver_length

    assert of("") == of("driver: full-size") == (56.0, 190.0)
    assert of("driver: right-angle") == (50.0, 95.0)
    assert of("driver: compact, driver_length: 120, driver_diameter: 60") == (60.0, 120.0)
    assert of("drill: 9-32-in, driver: compact") == of("driver: compact")
    with pytest.raises(RecipeError, match=r"bits.yaml:3:17: `pneumatic` is no driver .*full-size"):
        planned(CRADLE % ("driver: pneumatic", 100))


def test_a_smaller_driver_is_named_where_it_serves() -> None:
    recipe, _, findings = advised(NICHE + BETWEEN_SIDES)
    stuck = [f for f in findings if f.rule in ("out-of-reach", "no-order")]
    assert stuck and all(f.severity == "fails" for f in stuck)
    changes = [change for f in stuck for change in f.changes if "driver" in change.says]
    assert any(s.path == ("tools", "driver") for change in changes for s in change.edit)
    assert hold(recipe, findings)


NICHE = """\
name: niche
units: mm
stock:
  ply: {sheet: birch-ply-18}
build:
  - design: free-form
    name: niche
    parts:
      left side: {stock: ply, length: 400, width: 200}
      right side: {stock: ply, length: 400, width: 200}
      shelf: {stock: ply, length: 300, width: 200}
"""
