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
from slantbore.models.words.lengths import MM_PER_INCH
from tests.models.advised import advised, hold

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
