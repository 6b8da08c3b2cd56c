"""What a design lets be changed: written into the recipe, the finding must be gone."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest

from slantbore.models.judging.judge import judge
from slantbore.models.piece.board import BOTTOM
from slantbore.models.piece.lever import Change
from slantbore.models.piece.project import Finding
from slantbore.models.planning import plan
from tests.models.advised import advised, hold, read, written

SHELF = """\
name: shelf
units: %(units)s
stock:
  panel: {sheet: fir-plywood-3-4}
  faced: {sheet: faced-plywood-3-4}
  lip: {wood: red-oak, thickness: 19.05 mm}
  thin: {wood: red-oak, thickness: 6.35 mm}
  pine: {wood: eastern-white-pine, thickness: 19.05 mm}
build:
  - design: edged-shelf
    name: shelf
    length: %(length)s
    depth: 11 in
"""

DRAWER = """\
name: drawer
units: mm
stock:
  box: {%(box)s}
  bottom: {sheet: plywood-1-4}
  front: {wood: hard-maple, thickness: 19}
%(tools)s
build:
  - design: drawer-box
    name: drawer
    stock: box
    bottom: bottom
    opening: %(opening)s
    depth: 300
    %(front)s
"""

CABINET = """\
name: cabinet
units: mm
stock:
  case: {sheet: birch-ply-18}
  box: {%(box)s}
  bottom: {sheet: plywood-1-4}
  front: {wood: hard-maple, thickness: 19}
build:
  - design: case
    name: cabinet
    stock: case
    size: %(size)s
    depth: 400
    drawers:
      stock: box
      bottom: bottom
      heights: %(heights)s
      front: {stock: front, fit: overlay, overlap: 10, reveal: 2}
"""
OVERLAY = "front: {stock: front, fit: overlay, overlap: 10}"


def shelf(length: str = "60 in", units: str = "inch", **keys: str) -> str:
    told = {"stock": "panel", "edging_stock": "lip", "load": "50 psf", **keys}
    lines = "".join(f"    {key}: {value}\n" for key, value in told.items() if value)
    return SHELF % {"length": length, "units": units} + lines


def drawer(
    opening: str, box: str = "sheet: birch-ply-15", front: str = OVERLAY, tools: str = ""
) -> str:
    return DRAWER % {"opening": opening, "box": box, "front": front, "tools": tools}


def cabinet(size: str, heights: str, box: str = "sheet: birch-ply-15") -> str:
    return CABINET % {"size": size, "heights": heights, "box": box}


BETWEEN = "{stock: lip, height: 40 in, shelves: [4 in, 16 in, 28 in, 39 in]}"

FAULTS = {
    "a long shelf": ("shelf-sag", shelf()),
    "a long shelf in mm": ("shelf-sag", shelf(units="mm")),
    "a long shelf with deep edging": ("shelf-sag", shelf(edging_width="38 mm")),
    "a soft panel": ("shelf-sag", shelf(stock="pine")),
    "a thin panel, glued": ("shelf-sag", shelf(stock="thin", glued="yes", edging_stock="thin")),
    "a stated span": ("shelf-sag", shelf("80 in", span="62 in")),
    "a load for the whole shelf": ("shelf-sag", shelf(load="70 kg")),
    "edging at the ends alone": (
        "shelf-sag", shelf(stock="pine", edges="[left, right]", glued="yes", length="70 in"),
    ),
    "shelves between sides": ("shelf-sag", shelf(load="200 psf", sides=BETWEEN)),
    "one shelf between sides": (
        "shelf-sag", shelf(load="90 kg", sides="{stock: lip, height: 20 in, shelves: [12 in]}"),
    ),
    "ends of a solid panel": ("end-edging", shelf("36 in", stock="pine", edges="[front, left]")),
    "all round a solid panel, glued": (
        "end-edging",
        shelf("30 in", stock="pine", edges="[front, back, left, right]", glued="yes"),
    ),
    "ends of a panel of the edging's stock": (
        "end-edging", shelf("30 in", stock="pine", edging_stock="", edges="[left, right]"),
    ),
    "a panel that is thin for its screws": (
        "no-window", shelf("36 in").replace("fir-plywood-3-4", "plywood-1-2"),
    ),
    "edging that is thin for its screws": (
        "no-screw", shelf("36 in", edging_stock="thin"),
    ),
    "shelves that are thin for their screws": (
        "no-window",
        shelf("30 in", sides="{stock: pine, height: 20 in, shelves: [4 in, 16 in]}").replace(
            "fir-plywood-3-4", "plywood-1-2"
        ),
    ),
    "sides that are thin for a rail": (
        "no-screw",
        shelf(
            "30 in",
            sides="{stock: pine, height: 20 in, shelves: [4 in, 16 in], rail: 3 in}",
        ).replace("eastern-white-pine, thickness: 19.05", "red-oak, thickness: 12"),
    ),
    "a drawer too small for its pockets": ("no-window", drawer("120 x 66")),
    "a drawer of thin ply": ("no-screw", drawer("420 x 160", "sheet: plywood-3-8")),
    "a drawer of thin wood": (
        "no-screw", drawer("420 x 160", "wood: yellow-poplar, thickness: 9", front=""),
    ),
    "a drawer with thick screws": (
        "no-screw", drawer("420 x 160", tools="tools: {drill: 3-8-in, screw_gauge: 10}"),
    ),
    "a case with drawers of thin ply": (
        "no-screw", cabinet("500 x 500", "[160, rest]", "sheet: plywood-3-8"),
    ),
}  # fmt: skip


@pytest.mark.parametrize(("rule", "text"), FAULTS.values(), ids=FAULTS)
def test_what_a_design_may_change_works_in_the_recipe(rule: str, text: str) -> None:
    recipe, project, findings = advised(text)
    found = [f for f in findings if f.rule == rule]
    assert {f.rule for f in project.findings} >= {rule}, "this recipe was meant to have a fault"
    assert found and all(finding.changes for finding in found)
    assert hold(recipe, findings)


def keys(finding: Finding) -> list[str]:
    return [str(change.edit[0].path[-1]) for change in finding.changes]


def test_of_each_kind_of_change_one_is_named() -> None:
    (finding,) = sagging(shelf(stock="thin", glued="yes"))
    assert keys(finding) == ["edging_width", "span", "thickness"]


def sagging(text: str) -> list[Finding]:
    return [f for f in advised(text)[2] if f.rule == "shelf-sag"]


def test_stock_that_other_boards_are_of_stays_as_it_is() -> None:
    """The panel's stock is the sides' as well: it is not made thicker, another one is taken."""
    sides = "{stock: pine, height: 20 in, shelves: [12 in]}"
    (finding,) = sagging(shelf(stock="pine", load="90 kg", sides=sides))
    assert finding.changes
    assert all(s.path[0] != "stock" for change in finding.changes for s in change.edit)


def test_the_least_edging_and_the_longest_span_are_named() -> None:
    """A step less of the one, or more of the other, and the shelf still sags too much."""
    recipe, _, findings = advised(shelf(units="mm"))
    (finding,) = [f for f in findings if f.rule == "shelf-sag"]
    steps = {"edging_width": -1, "span": 1}
    for change in finding.changes:
        setting = change.edit[0]
        if setting.path[-1] not in steps:
            continue
        assert setting.value is not None
        mm = int(setting.value.removesuffix(" mm")) + steps.pop(str(setting.path[-1]))
        nearly = Change((replace(setting, value=f"{mm} mm"),))
        after = plan(written(recipe, nearly))
        assert [f.rule for f in after.findings] == ["shelf-sag"]
    assert not steps


@pytest.mark.parametrize(
    ("opening", "front"),
    [
        *product(["120 x 88", "140 x 100", "165 x 75"], [OVERLAY, ""]),
        ("165 x 66", ""),
    ],
)
def test_placement_alone_serves_a_narrow_drawer(opening: str, front: str) -> None:
    """Fewer pockets, one end's above the other's, or the front's holes elsewhere: none fails."""
    project = plan(read(drawer(opening, front=front)))
    assert not [f for f in judge(project) if f.rule in ("no-window", "narrow-window", "too-close")]
    assert not [f for f in judge(project) if f.severity == "fails" and f.rule != "no-order"]
    holes = len(project.board_named["drawer front"].holes)
    assert holes >= 2 if front else holes == 0
    inside = {bore.pocket_face for bore in project.bores if bore.board == "drawer front"}
    assert front or inside == {BOTTOM}


def test_a_drawer_too_low_for_square_pockets_says_what_helps() -> None:
    """Placement swings no pocket of its own accord; what to change is looked for."""
    recipe, project, findings = advised(drawer("165 x 66", front=OVERLAY))
    assert {bore.swing for bore in project.bores} == {0.0}
    nowhere = [f for f in findings if f.rule == "no-window"]
    assert nowhere and all(f.changes for f in nowhere)
    assert hold(recipe, findings)


THIN_FRAME = """\
name: frame
units: mm
stock:
  frame: {wood: yellow-poplar, thickness: 12}
  other: {wood: yellow-poplar, thickness: %s}
build:
  - design: face-frame
    name: frame
    stock: frame
    size: 700 x 600
    stile: 44
    rail: 38
"""


@pytest.mark.parametrize(("other", "key"), [("11", "thickness"), ("19", "stock")])
def test_other_stock_is_tried(other: str, key: str) -> None:
    recipe, _, findings = advised(THIN_FRAME % other)
    found = [f for f in findings if f.rule == "no-screw"]
    assert found
    for finding in found:
        assert key in keys(finding)
    assert hold(recipe, findings)
