"""A solid top held to a base: when the rule lets it move, and when it warns."""

from __future__ import annotations

from dataclasses import replace

import pytest

from slantbore.models.designs import piece_models
from slantbore.models.judging.rules.cross_grain import CODE, check, stiller
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import Pose, Vec
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, Board, Stock
from slantbore.models.piece.project import (
    Bore,
    Drill,
    Joint,
    Limits,
    PocketId,
    Project,
    Screw,
    Window,
)
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.wood.movement import GIVE, Slide, movement_rate
from tests.boards import blank
from tests.models.advised import advised, hold

OAK = Stock("top", "red-oak", "red oak", 19.0, "hardwood")
RATE = 0.00369 * 4  # Wood Handbook Table 13-5, red oak, flat-sawn; 4 points of moisture content
DRILL = Drill("drill", 4.7625, 1.75, 15.0, (125.0,), 3.0, 28.0, 190.0)
SCREW = Screw("#8", "fine", 31.75, 2.08, 4.4, 2.6, "screw")


def held(
    places: list[float], slots: list[float], stock: Stock = OAK, seam: float | None = None
) -> Project:
    """A top 400 mm wide on a rail across its grain, one screw per place (y, mm)."""
    across = Pose((0, 0, -90), (0, 1, 0), (0, 0, 1))
    rail = blank("rail", "table", "rail", OAK, 400.0, 90.0, pose=across)
    widths = [400.0] if seam is None else [seam, 400.0 - seam]
    boards: list[Board] = []
    for i, width in enumerate(widths):
        pose = Pose((0, sum(widths[:i]), 0))
        boards.append(blank(f"top {i + 1}", "table", "top", stock, 900.0, width, pose=pose))
    joints = []
    if seam is not None:
        joints.append(Joint("seam", "edge", "top 1", BACK, "top 2", FRONT))
    for i, (place, slot) in enumerate(zip(places, slots, strict=True)):
        mate = "top 1" if seam is None or place < seam else "top 2"
        back: Vec = (0.0, -0.96592583, -0.25881905)
        bore = Bore(
            PocketId(f"joint {i + 1}"), "rail", BOTTOM, BACK, mate, BOTTOM,
            (place, 90.0, 9.5), back, 15.0, 0.0, 18.0, DRILL, SCREW, Window("", place, 0, 400),
            slot=slot, slot_along=(1.0, 0.0, 0.0),
        )  # fmt: skip
        key = ("build", 0, "changes", bore.joint)
        joints.append(Joint(bore.joint, "top", "rail", BACK, mate, BOTTOM, (bore,), key))
    return Project("table", "mm", (rail, *boards), tuple(joints))


def test_a_rigid_top_warns_and_says_how_far_it_moves() -> None:
    (finding,) = check(Study(held([50.0, 350.0], [0.0, 0.0])))
    assert (finding.rule, finding.severity) == (CODE, "warns")
    assert finding.needed == pytest.approx(300 * RATE)  # 4.4 mm
    assert finding.measured == pytest.approx(2 * GIVE)
    assert "moves 4.43 mm" in finding.message and "4 points" in finding.message


def test_the_slots_that_are_thought_of_let_it_move() -> None:
    """Each as long as its screw needs, so that the middle of the panel stays."""
    for places in ([50.0, 350.0], [150.0, 220.0, 250.0], [180.0, 225.0], [50.0, 200.0, 350.0]):
        project = held(places, [0.0] * len(places))
        (finding,) = check(Study(project))
        (slots,) = [lever for lever in stiller(Study(project), finding) if lever.kind == "slot"]
        (edit,) = slots.edits
        assert edit
        told = {setting.path[-2]: setting.value for setting in edit if setting.value}
        longest = [told.get(f"joint {i + 1}", "0 mm") for i in range(len(places))]
        freed = held(places, [float(slot.removesuffix(" mm")) for slot in longest])
        assert not list(check(Study(freed))), places
    assert longest[1] == "0 mm"  # what is held in the middle needs none


TABLE = """\
name: table
units: mm
stock:
  top: {wood: %s, thickness: 19}
  legs: {wood: hard-maple, thickness: 44}
  aprons: {wood: hard-maple, thickness: 19}
limits: {moisture_change: %s}
build:
  - design: hall-table
    name: table
    size: %s
    height: 750
    top: {stock: top, overhang: 25, fixing: rigid}
    leg_stock: legs
    apron_stock: aprons
    apron_width: 100
    drawers: 0
"""


@pytest.mark.parametrize(
    ("wood", "size", "moisture", "kinds"),
    [
        ("hard-maple", "900 x 400", 4, {"slot", "sheet"}),
        ("red-oak", "900 x 380", 1, {"slot", "sawn", "sheet"}),
        ("white-spruce", "900 x 400", 4, {"sheet"}),  # its shrinkage is not known: no slots
    ],
)
def test_what_is_told_of_a_rigid_table_works(
    wood: str, size: str, moisture: int, kinds: set[str]
) -> None:
    recipe, _, findings = advised(TABLE % (wood, moisture, size))
    (finding,) = [f for f in findings if f.rule == CODE]
    assert {str(change.edit[0].path[-1]) for change in finding.changes} == kinds
    assert hold(recipe, findings)


def test_slots_of_both_pilots_serve() -> None:
    assert not list(check(Study(held([50.0, 350.0], [4.0, 4.0]))))
    assert list(check(Study(held([50.0, 350.0], [3.0, 4.0]))))


def test_one_rigid_line_with_slots_elsewhere_is_free() -> None:
    assert not list(check(Study(held([50.0, 200.0, 350.0], [4.0, 0.0, 4.0]))))
    # All the movement goes one way from the rigid screw.
    assert list(check(Study(held([50.0, 350.0], [0.0, 4.0]))))
    assert not list(check(Study(held([50.0, 350.0], [0.0, 8.0]))))


def test_glued_boards_are_one_panel() -> None:
    assert list(check(Study(held([50.0, 350.0], [0.0, 0.0], seam=200.0))))
    apart = held([50.0, 350.0], [0.0, 0.0], seam=200.0)
    apart = replace(apart, joints=apart.joints[1:])
    assert not list(check(Study(apart)))


def test_sheet_goods_and_little_change_are_no_matter() -> None:
    ply = Stock("top", "birch-ply-18", "ply", 18.0, "sheet")
    assert not list(check(Study(held([50.0, 350.0], [0.0, 0.0], ply))))
    still = replace(held([50.0, 350.0], [0.0, 0.0]), limits=Limits(moisture_change=0.3))
    assert not list(check(Study(still)))


def test_quarter_sawn_moves_less() -> None:
    quarter = replace(OAK, sawn="quarter")
    (flat,), (less,) = (
        list(check(Study(held([50.0, 350.0], [0.0, 0.0], stock)))) for stock in (OAK, quarter)
    )
    assert flat.needed and less.needed and less.needed < 0.6 * flat.needed


def test_an_unknown_wood_is_said() -> None:
    spruce = Stock("top", "white-spruce", "white spruce", 19.0, "softwood")
    (finding,) = check(Study(held([50.0, 350.0], [0.0, 0.0], spruce)))
    assert finding.severity == "notes" and "not checked" in finding.message


def test_slots_of_a_slide_satisfy_the_rule() -> None:
    rate = movement_rate(OAK, 4.0)
    assert rate == pytest.approx(RATE)
    slide = Slide((1.0, 0.0, 0.0), RATE, (200.0, 0.0, 0.0))
    places = [20.0, 90.0, 200.0, 215.0, 260.0, 390.0]
    slots = [slide.slot((place, 90.0, 9.5)) for place in places]
    assert slots[2] == slots[3] == 0.0 and max(slots) == slots[-1] == 6.0
    assert not list(check(Study(held(places, slots))))
    assert list(check(Study(held(places, [max(0.0, slot - 1.0) for slot in slots]))))


SEAT = """\
name: stool
units: mm
stock:
  seat: {wood: red-oak, thickness: 22}
  rails: {%s}
build:
  - design: free-form
    name: stool
    parts:
      seat:
        stock: seat
        length: 400
        width: 300
        faces: {bottom face: underside}
      rail: {stock: rails, length: %s, width: 60}
    joints:
      - kind: %s
        board: rail / back edge
        meets: seat / underside
        pockets_in: bottom face
        flush: [%s]
"""
ACROSS = (
    "{face: left end, to: front edge, set_back: 20}, "
    "{face: bottom face, to: left end, set_back: 60}"
)
ALONG = (
    "{face: left end, to: left end, set_back: 20}, {face: top face, to: front edge, set_back: 60}"
)


@pytest.mark.parametrize("kind", ["frame", "top", "butt"])
@pytest.mark.parametrize(
    ("stock", "length", "lies", "held"),
    [
        ("wood: red-oak, thickness: 19", 260, ACROSS, True),
        ("sheet: birch-ply-18", 260, ACROSS, True),
        ("wood: red-oak, thickness: 19", 360, ALONG, False),  # all screws in one line of the grain
    ],
)
def test_grain_is_seen_whatever_the_joint_is_called(
    kind: str, stock: str, length: int, lies: str, held: bool
) -> None:
    project = plan(parse_recipe(SEAT % (stock, length, kind, lies), "seat.yaml", piece_models()))
    assert len(project.bores) >= 2
    assert [f.rule for f in check(Study(project))] == [CODE] * held


BETWEEN_SIDES = """\
    joints:
      - kind: butt
        board: shelf / left end
        meets: left side / top face
        pockets_in: bottom face
        flush: [{face: front edge, to: front edge}, {face: top face, to: left end, set_back: 90}]
      - kind: butt
        board: shelf / right end
        meets: right side / bottom face
        pockets_in: bottom face
        flush: [{face: front edge, to: front edge}, {face: top face, to: left end, set_back: 90}]
"""
"""A shelf butted between two sides, 90 mm under their ends, its pockets below."""
SHELF = """\
name: shelf
units: mm
stock:
  side: {wood: red-oak, thickness: 19}
  shelf: {%s}
build:
  - design: free-form
    name: shelf
    parts:
      left side: {stock: side, length: 400, width: %s}
      right side: {stock: side, length: 400, width: %s}
      shelf: {stock: shelf, length: 500, width: %s}
"""


@pytest.mark.parametrize(
    ("stock", "width", "held"),
    [
        ("wood: red-oak, thickness: 19", 280, 0),  # both swell from front to back
        ("sheet: birch-ply-18", 280, 2),
        ("sheet: birch-ply-18", 140, 0),  # fixed rigidly, as rails are: common practice, no source
        ("wood: hard-maple, thickness: 19", 280, 0),
    ],
)
def test_what_moves_alike_holds_nothing(stock: str, width: int, held: int) -> None:
    text = SHELF % (stock, width, width, width) + BETWEEN_SIDES
    project = plan(parse_recipe(text, "shelf.yaml", piece_models()))
    found = list(check(Study(project)))
    assert [f.rule for f in found] == [CODE] * held
    if held:  # over the shelf's own width, which does not move
        places = [bore.exit[1] for bore in project.bores if bore.mate.endswith("left side")]
        assert found[0].needed == pytest.approx((max(places) - min(places)) * RATE)
