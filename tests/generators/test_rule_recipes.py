"""Every rule by two recipes a hair, 0.05 mm, to either side of its limit: one trips it, one passes.

The proof on solids gives the same verdict wherever it measures what the rule does.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from functools import cache

import pytest

from slantbore.generators.solids.proof import prove
from slantbore.generators.solids.solids import solidify
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.judging.rules import rules
from slantbore.models.piece.project import Bore, Finding, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from tests.generators.limits import HAIR
from tests.generators.test_cut_through import GROOVED
from tests.models.advised import advised, hold

SHELF = """\
name: shelf
units: mm
stock:
  board: {wood: %(wood)s, thickness: 19.05}
%(more)s
build:
  - design: free-form
    name: shelf
    parts:
      shelf: {stock: board, length: 250, width: %(width)s,
              seen: {top face: %(top)s, front edge: %(front)s, left end: concealed}}
      upright: {stock: board, length: 300, width: %(width)s}
    joints:
      - {kind: butt, board: shelf / left end, meets: upright / bottom face, pockets_in: top face,
         pockets: %(pockets)s,
         flush: [{face: front edge, to: front edge},
                 {face: bottom face, to: left end, set_back: %(up)s}]}
    changes: %(changes)s
"""

TABLE = """\
name: table
units: mm
stock:
  legs: {wood: hard-maple, thickness: 45}
  oak: {wood: red-oak, thickness: 19}
limits: {moisture_change: %.9f}
build:
  - {design: hall-table, name: table, leg_stock: legs, apron_stock: oak, apron_width: 110,
     size: 1100 x 420, height: 750, top: {stock: oak, fixing: rigid}}
"""

NEIGHBOURS = """\
name: neighbours
units: mm
stock:
  sheet: {sheet: birch-ply-18}
build:
  - {design: case, name: left, stock: sheet, size: 400 x 500, depth: 400, at: {x: 0}}
  - {design: case, name: right, stock: sheet, size: 400 x 500, depth: 400, at: {x: %s}}
"""

RACK = """\
name: rack
units: mm
stock:
  board: {wood: eastern-white-pine, thickness: 19.05}
build:
  - design: free-form
    name: rack
    parts:
      base: {stock: board, length: 900, width: 80}
      left: {stock: board, length: 400, width: 80, seen: {top face: concealed}}
      right: {stock: board, length: 400, width: 80, seen: {top face: concealed}}
    joints:
      - {kind: butt, board: left / left end, meets: base / top face, pockets_in: top face,
         pockets: 1, flush: [{face: bottom face, to: left end, set_back: 100},
                             {face: front edge, to: back edge}]}
      - {kind: butt, board: right / left end, meets: base / top face, pockets_in: top face,
         pockets: 1, flush: [{face: bottom face, to: right end, set_back: %s},
                             {face: front edge, to: front edge}]}
"""

COVERED = """\
name: covered
units: mm
stock:
  board: {wood: eastern-white-pine, thickness: 19.05}
build:
  - design: free-form
    name: shelf
    parts:
      shelf:
        {stock: board, length: 250, width: 60, seen: {top face: concealed, left end: concealed}}
      upright: {stock: board, length: 300, width: 60}
      cap: {stock: board, length: 60, width: 60}
    joints:
      - {kind: butt, board: shelf / left end, meets: upright / bottom face, pockets_in: top face,
         pockets: 1,
         flush: [{face: front edge, to: front edge},
                 {face: bottom face, to: left end, set_back: 150}]}
      - {kind: butt, board: cap / bottom face, meets: shelf / top face,
         flush: [{face: front edge, to: front edge}, {face: left end, to: left end}]}
    changes: {shelf to upright pocket: {position: 30, wood_under_screw: %.9f}}
"""


SHEET = """\
name: panel
units: mm
stock:
  sheet: {sheet: birch-ply-18}
build:
  - {design: free-form, parts: {panel: {stock: sheet, length: %s, width: %s}}}
"""


def shelf(
    pocket: dict[str, float] | None = None,
    second: dict[str, float] | None = None,
    *,
    wood: str = "eastern-white-pine",
    width: float = 60.0,
    top: str = "concealed",
    front: str = "exposed",
    up: float = 150.0,
    pockets: int = 1,
    more: str = "",
) -> str:
    number = " 1" if pockets > 1 else ""
    said = {f"shelf to upright pocket{number}": pocket, "shelf to upright pocket 2": second}
    otherwise = json.dumps({name: keys for name, keys in said.items() if keys})
    return SHELF % {
        "wood": wood, "width": width, "top": top, "front": front, "up": up, "pockets": pockets,
        "more": more, "changes": otherwise,
    }  # fmt: skip


def planned(text: str) -> Project:
    return plan(parse_recipe(text, "rule.yaml", piece_models()))


@cache
def usual() -> Bore:
    """What the recipe bores by itself: its drill and screw are asked for their sizes."""
    return planned(shelf()).bores[0]


R = usual().drill.counterbore_radius
r = usual().screw.radius
LONG = usual().screw.length
T = 19.05
SINE, COSINE = math.sin(math.radians(15.0)), math.cos(math.radians(15.0))


def tip(margin: float) -> str:
    return shelf({"wood_under_screw": LONG - (T - 3.0 - margin - r * SINE) / COSINE})


def near_end(margin: float) -> str:
    low = 2.5 * 2 * r + margin + usual().engagement * SINE
    return shelf(wood="hard-maple", up=low - T / 2)


def driver(margin: float) -> str:
    out = (T / 2 + usual().drill.driver_radius * COSINE + margin) / SINE
    bit = out - usual().shoulder - usual().screw.head_height
    return shelf(more=f"tools: {{bit_length: {bit:.9f}}}")


def table(margin: float) -> str:
    """Movement grows with the change of moisture content, and what lets it is the same."""
    (finding,) = told(planned(TABLE % 8.0), "cross-grain")
    assert finding.needed is not None and finding.measured is not None
    return TABLE % (8.0 * (finding.measured - margin) / finding.needed)


def rack(margin: float) -> str:
    """Two uprights, each in the other's driver's way but for the margin."""
    one, drill = usual(), usual().drill
    d = one.head + drill.bits[0] + drill.driver_length
    reach = (d + one.engagement) * SINE + drill.driver_radius * COSINE - T / 2 + margin
    # From inside to inside: the base less both set-backs and both boards.
    return RACK % f"{900.0 - 100.0 - 2 * T - reach:.9f}"


def sunk(margin: float) -> float:
    """The stop that leaves the head's rim so far below the pocket face (textbook: disc)."""
    screw = usual().screw
    rim = screw.head_radius * COSINE + screw.head_height * SINE
    return (T / 2 - rim - margin) / SINE


def told(project: Project, rule: str) -> list[Finding]:
    return [f for f in judge(project) if f.rule == rule and f.severity != "notes"]


TIPPING = """\
name: tipping
units: mm
stock:
  case: {sheet: birch-ply-18}
build:
  - {design: case, name: case, stock: case, size: 600 x 1000, depth: %s, top: panel}
"""

SLOTTED = """\
name: slotted
units: mm
stock:
  board: {wood: red-oak, thickness: 19}
build:
  - design: free-form
    name: bench
    parts:
      apron: {stock: board, length: 400, width: 90,
              seen: {top face: concealed, bottom face: concealed}}
      top: {stock: board, length: 400, width: 130}
    joints:
      - {kind: top, board: apron / back edge, meets: top / bottom face, pockets_in: top face,
         pockets: 2, flush: [{face: left end, to: left end},
                             {face: top face, to: front edge, set_back: 40}]}
    changes: {apron to top: {slot: %.9f}}
"""


def slotted(margin: float) -> str:
    """An apron's edge that keeps that much more than 1.5 mm beside its slots.

    Beside the axis in the middle of the edge: half of the slot, and the ellipse of its pilot,
    which clears the screw by 0.2 mm and leans by the slope of the drill.
    """
    beside = 19 / 2 - (r + 0.2) / COSINE - 1.5
    return SLOTTED % (2 * (beside - margin))


PAIRS: dict[str, tuple[str, Callable[[float], str]]] = {
    "wall to a face that shows": ("thin-wall", lambda m: shelf({"position": 3.0 + R + m})),
    "wall to a hidden face": (
        "thin-wall", lambda m: shelf({"position": 1.5 + R + m}, front="concealed"),
    ),
    "breakout": ("breakout", lambda m: shelf({"position": R + m})),
    "cover of the tip": ("tip-cover", tip),
    "two pockets": (
        "too-close",
        lambda m: shelf({"position": 20.0}, {"position": 23.0 + 2 * R + m}, pockets=2),
    ),
    "seat of the head": (
        "seat", lambda m: shelf({"wood_under_screw": (T / 2 - (0.4 * R + m) * COSINE) / SINE}),
    ),
    "depth in the mate": (
        "engagement", lambda m: shelf({"wood_under_screw": LONG - 2 * 2 * r - m}),
    ),
    "length in stock": ("engagement", lambda m: shelf({"screw": LONG + 0.5 - m})),
    "end of a dense board": ("splitting", near_end),
    "room for a pencil line": ("narrow-window", lambda m: shelf(width=2 * (R + 3.0) + 3.0 + m,
                                                                more="")),
    "width for two pockets": (
        "narrow-board", lambda m: shelf(width=7 * R + m, pockets=2, front="concealed"),
    ),
    "driver over the board": ("out-of-reach", driver),
    "two drivers in a channel": ("no-order", rack),
    "a top that moves": ("cross-grain", table),
    "a slot in an edge": ("open-slot", slotted),
    "a head under a board": ("stray-screw", lambda m: COVERED % sunk(m)),
    "a head in sight": (
        "proud-head", lambda m: shelf({"wood_under_screw": sunk(m)}, top="exposed"),
    ),
    "a face in sight": (
        "pocket-in-sight", lambda m: shelf(top="concealed" if m > 0 else "exposed"),
    ),
    "a part longer than its sheet": ("sheet-size", lambda m: SHEET % (f"{2440 - m:.9f}", 1220)),
    "a part wider than its sheet": ("sheet-size", lambda m: SHEET % (2440, f"{1220 - m:.9f}")),
    "two grooves that meet": ("cut-through", lambda m: GROOVED % f"{10.0 - m:.9f}"),
    "a case that may tip": ("tip-over", lambda m: TIPPING % f"{400.0 + m:.9f}"),
    "a piece in its neighbour": ("overlap", lambda m: NEIGHBOURS % f"{400.0 + m:.9f}"),
}  # fmt: skip
NO_CHANGE = ("a head in sight", "a face in sight")
"""Pairs whose recipe has no other face, board or stock: its sizes and faces have to change."""
PROVEN = (
    "thin-wall", "breakout", "tip-cover", "too-close", "overlap", "cut-through", "stray-screw",
)  # fmt: skip


def test_every_rule_that_fails_or_warns_has_a_pair() -> None:
    # `strength` only informs; no design leaves a joint open, so no recipe can bring out a `gap`.
    assert {rule for rule, _ in PAIRS.values()} == set(rules()) - {"strength", "gap"}


@pytest.mark.parametrize(("rule", "text"), PAIRS.values(), ids=PAIRS)
def test_one_recipe_trips_the_rule_and_one_just_passes(
    rule: str, text: Callable[[float], str]
) -> None:
    passes, trips = planned(text(HAIR)), planned(text(-HAIR))
    assert not told(passes, rule)
    assert told(trips, rule)


@pytest.mark.parametrize(
    ("rule", "text"),
    [pair for pair in PAIRS.values() if pair[0] in PROVEN],
    ids=[name for name, pair in PAIRS.items() if pair[0] in PROVEN],
)
def test_the_proof_says_the_same_of_both(rule: str, text: Callable[[float], str]) -> None:
    for margin in (HAIR, -HAIR):
        project = planned(text(margin))
        found = prove(solidify(project))
        assert bool([f for f in found if f.rule == rule]) is (margin < 0)
        assert not [f for f in found if f.rule == "disagreement"]


@pytest.mark.parametrize("name", PAIRS)
def test_what_is_told_to_change_keeps_to_every_rule(name: str) -> None:
    rule, text = PAIRS[name]
    recipe, _, findings = advised(text(-HAIR))
    found = [f for f in findings if f.rule == rule and f.severity != "notes"]
    assert all(bool(finding.changes) is (name not in NO_CHANGE) for finding in found)
    assert hold(recipe, findings) or name in NO_CHANGE
