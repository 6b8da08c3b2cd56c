"""A solid top held to a base: when the rule lets it move, and when it warns."""

from __future__ import annotations

from dataclasses import replace

import pytest

from slantbore.models.advice.remedies import with_joints, with_keys
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge as everything
from slantbore.models.judging.rules.cross_grain import CODE, check
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import Pose, Vec
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, Board, Stock
from slantbore.models.piece.project import (
    Bore,
    Change,
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
        joints.append(Joint(bore.joint, "panel", "rail", BACK, mate, BOTTOM, (bore,)))
    return Project("table", "mm", (rail, *boards), tuple(joints))


def test_a_rigid_top_warns_and_says_how_far_it_moves() -> None:
    (finding,) = check(Study(held([50.0, 350.0], [0.0, 0.0])))
    assert (finding.rule, finding.severity) == (CODE, "warns")
    assert finding.needed == pytest.approx(300 * RATE)  # 4.4 mm
    assert finding.measured == pytest.approx(2 * GIVE)
    assert "moves 4.4 mm" in finding.message and "4 points" in finding.message
    assert "the longest by 4 mm" in finding.remedy


def freed(project: Project, change: Change) -> Project:
    """The project after a change of joints, or of the stock as a recipe would have it."""
    boards = project.boards
    for (table, label, key), value in change.keys:
        assert table == "stock"
        given = {"sawn": value} if value and key == "sawn" else {}
        given |= {"kind": "sheet", "material": value} if key == "sheet" else {}
        boards = tuple(
            replace(b, stock=replace(b.stock, **given)) if b.stock.label == label else b  # type: ignore[arg-type]
            for b in boards
        )
    return with_joints(replace(project, boards=boards), change)


def test_every_remedy_serves() -> None:
    """Slots alone where the wood moves far; slower wood, too, where that is enough."""
    kinds = set()
    for places in ([50.0, 350.0], [150.0, 220.0, 250.0], [180.0, 225.0]):
        project = held(places, [0.0] * len(places))
        (finding,) = check(Study(project))
        assert finding.changes
        for change in finding.changes:
            assert change.says in finding.remedy
            assert not list(check(Study(freed(project, change)))), change.says
            kinds.add(change.keys[-1][0][-1] if change.keys else "slots")
    assert kinds == {"slots", "sawn"}  # the rail is of the top's stock: a sheet will not do


def test_a_panel_of_its_own_stock_may_become_a_sheet() -> None:
    project = held([50.0, 350.0], [0.0, 0.0], replace(OAK, label="top boards"))
    (finding,) = check(Study(project))
    (sheet,) = [c for c in finding.changes if c.keys]
    assert [(path[-1], value) for path, value in sheet.keys] == [
        ("wood", ""), ("sawn", ""), ("sheet", "plywood-3-4"),
    ]  # fmt: skip
    assert not list(check(Study(freed(project, sheet))))


def test_slots_that_would_meet_are_not_named() -> None:
    """Two pockets side by side have room, but not for slots as long as these must be."""
    assert [c for f in check(Study(held([10.0, 30.0, 390.0], [0.0] * 3))) for c in f.changes]
    near = held([10.0, 22.6, 390.0], [0.0] * 3)
    assert not [f for f in everything(near) if f.rule == "too-close"]
    (finding,) = check(Study(near))
    assert finding.changes == () and finding.remedy == ""


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
    text = TABLE % (wood, moisture, size)
    recipe = parse_recipe(text, "table.yaml", piece_models())
    project = plan(recipe)
    before = {(f.rule, f.severity) for f in everything(project)}
    (finding,) = [f for f in everything(project) if f.rule == CODE]
    told = set()
    for change in finding.changes:
        told.add(str(change.keys[-1][0][-1]))
        after = plan(with_keys(recipe, change, piece_models()))
        found = {(f.rule, f.severity) for f in everything(after)}
        assert CODE not in {rule for rule, _ in found}, change.says
        assert not {(r, s) for r, s in found - before if s != "notes"}, change.says
    assert told == kinds


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
