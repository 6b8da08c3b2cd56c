"""Each rule a hair to either side of its limit, its words, and how it groups what is alike."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from slantbore.models.judging.rules import rules
from slantbore.models.judging.rules import strength as rule
from slantbore.models.judging.rules.seat import share
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import Pose
from slantbore.models.piece.board import LEFT, TOP, Stock
from slantbore.models.piece.project import Joint, PocketId, Project, Window
from slantbore.models.wood.movement import GIVE
from slantbore.models.wood.tables import species
from tests.boards import blank
from tests.generators.limits import HAIR, MAPLE, PAIRS, Pair, butt, pocket
from tests.generators.small import SCREW, T, bore, corner
from tests.models.advised import advised, hold
from tests.models.test_cross_grain import RATE, held


def told(project: Project, rule: str) -> list[str]:
    return [f.message for f in rules()[rule].check(Study(project))]


@pytest.mark.parametrize("pair", PAIRS.values(), ids=PAIRS)
def test_a_hair_decides(pair: Pair) -> None:
    rule = rules()[pair.rule]
    good, bad = pair.at(HAIR), pair.at(-HAIR)
    assert not pair.told(tuple(rule.check(Study(good))))
    found = pair.told(tuple(rule.check(Study(bad))))
    assert found
    for finding in found:
        assert finding.bore and finding.point is not None
        if pair.measures:
            assert finding.measured is not None and finding.needed is not None
            assert finding.needed - finding.measured == pytest.approx(HAIR, abs=1e-6)


@pytest.mark.parametrize("code", [code for code, rule in rules().items() if rule.numbers])
def test_numbers_agree_with_the_verdict(code: str) -> None:
    """A rule that finds nothing has no number short of what it needs, and the other way about."""
    if code == "splitting":
        pytest.skip("advice: its numbers need nothing")
    for pair in PAIRS.values():
        for margin in (HAIR, -HAIR):
            project = pair.at(margin)
            study = Study(project)
            rule = rules()[code]
            assert rule.numbers is not None
            short = {
                bore.name
                for bore in project.bores
                for number in rule.numbers(study, bore)
                if number.margin is not None and number.margin < -1e-6
            }
            named = {
                f.bore
                for f in rule.check(study)
                if f.severity != "notes" and f.measured is not None
            }
            if code == "thin-wall":
                named |= {f.bore for f in rules()["breakout"].check(study)}
            if code == "too-close" and named:
                assert named <= short
                continue
            assert short == named


# --- sight ---------------------------------------------------------------------------------------


def test_a_pocket_that_shows_fails() -> None:
    project = butt(pocket(), pocket="exposed")
    (finding,) = rules()["pocket-in-sight"].check(Study(project))
    assert finding.severity == "fails" and finding.message == (
        "pockets in the top face are seen in use"
    )


def test_a_pocket_that_nobody_sees_is_passed() -> None:
    assert not told(butt(pocket()), "pocket-in-sight")


@pytest.mark.parametrize(
    ("pose", "whom"),
    [
        (Pose(), "with a drawer pulled out or a lid up"),
        (Pose(x=(1, 0, 0), y=(0, -1, 0)), "by whoever looks from below"),
        (Pose(x=(-1, 0, 0), y=(0, 0, 1)), "from behind"),
        (Pose(x=(1, 0, 0), y=(0, 0, 1)), "with a drawer pulled out or a door opened"),
    ],
)
def test_who_sees_a_concealed_pocket(pose: Pose, whom: str) -> None:
    project = butt(pocket(), pocket="semi-exposed")
    boards = tuple(b.placed(pose) if b.name == "shelf" else b for b in project.boards)
    found = list(rules()["pocket-in-sight"].check(Study(replace(project, boards=boards))))
    assert [f.severity for f in found] == ["notes"]
    assert whom in found[0].message


FREE = """\
name: shelf
units: mm
stock:
  board: {wood: red-oak, thickness: 19}
build:
  - design: free-form
    name: shelf
    parts:
      shelf: {stock: board, length: 400, width: 150, seen: {bottom face: concealed}}
      upright: {stock: board, length: 400, width: 150}
    joints:
      - {kind: butt, board: shelf / left end, meets: upright / bottom face, pockets_in: top face,
         flush: [{face: front edge, to: front edge}, {face: bottom face, to: left end}]}
"""


def test_the_recipe_is_told_which_face_to_bore() -> None:
    recipe, _, findings = advised(FREE)
    found = [f for f in findings if f.rule == "pocket-in-sight"]
    assert found and all(f.severity == "fails" for f in found)
    at = ("build", 0, "changes", "shelf to upright", "pockets_in")
    assert [(s.path, s.value) for s in found[0].changes[0].edit] == [(at, "bottom face")]
    assert hold(recipe, findings)


# --- seat and engagement ------------------------------------------------------------------------


def test_share_of_a_shoulder_is_a_disc_less_a_segment() -> None:
    """Textbook: half at the centre, nothing below, all above; by counting points between."""
    assert share(0.0, 5.0) == pytest.approx(0.5)
    assert share(5.0, 5.0) == 1.0 and share(-5.0, 5.0) == pytest.approx(0.0)
    n = 2000
    ticks = [-1 + (2 * i + 1) / n for i in range(n)]
    wide = sum(2 * math.sqrt(1 - y * y) for y in ticks if y < 0.4) / n * 2
    assert share(2.0, 5.0) == pytest.approx(wide / math.pi, abs=1e-3)
    assert share(2.0, 5.0) == pytest.approx(0.75, abs=0.005)


def test_a_screw_that_does_not_reach_fails() -> None:
    short = replace(SCREW, length=15.0)
    project = butt(replace(pocket(), screw=short))
    found = [f for f in rules()["engagement"].check(Study(project)) if f.severity == "fails"]
    assert "does not reach" in found[0].message


@pytest.mark.parametrize(("off", "stocked"), [(0.45, True), (0.55, False)])
def test_a_length_that_is_not_stocked_warns(off: float, stocked: bool) -> None:
    project = butt(replace(pocket(), screw=replace(SCREW, length=SCREW.length + off)))
    found = [m for m in told(project, "engagement") if "not stocked" in m]
    assert bool(found) is not stocked
    if found:
        assert "25.4 mm, 31.75 mm" in found[0]


def rail_and_stile(bored: str) -> Project:
    """A rail's end against a stile's edge, bored from one or the other."""
    rail = blank("rail", "frame", "rail", MAPLE, 300.0, 60.0, seen={TOP: "concealed"})
    stile = blank(
        "stile", "frame", "stile", MAPLE, 400.0, 60.0, seen={TOP: "concealed"},
        pose=Pose((0.0, -170.0, 0.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0)),
    )  # fmt: skip
    if bored == "rail":
        one = bore(PocketId("joint"), rail, LEFT, (0.0, 30.0, T / 2), "stile", "front edge",
                   shoulder=18.0)  # fmt: skip
    else:
        one = bore(PocketId("joint"), stile, "front edge", (200.0, 0.0, T / 2), "rail", LEFT,
                   shoulder=18.0)  # fmt: skip
    joint = Joint("joint", "frame", "rail", LEFT, "stile", "front edge", (one,))
    return Project("frame", "mm", (rail, stile), (joint,))


def test_end_grain_is_left_for_side_grain_where_it_can_be() -> None:
    assert not told(rail_and_stile("rail"), "engagement")
    project = rail_and_stile("stile")
    (finding,) = rules()["engagement"].check(Study(project))
    assert "end grain" in finding.message and finding.severity == "warns"


def across_the_grain(margin: float) -> Project:
    """A top on slots that let it move as much as it wants to between two screws, and a margin."""
    moves = 300.0 * RATE
    slot = moves - 2 * GIVE + margin
    return held([50.0, 350.0], [slot, slot])


def test_a_hair_decides_whether_a_top_may_move() -> None:
    assert not told(across_the_grain(HAIR), "cross-grain")
    (finding,) = rules()["cross-grain"].check(Study(across_the_grain(-HAIR)))
    assert finding.needed is not None and finding.measured is not None
    assert finding.needed - finding.measured == pytest.approx(HAIR, abs=1e-9)


# --- room, splitting, strength ------------------------------------------------------------------


@pytest.mark.parametrize(("width", "narrow"), [(3.0 - 0.05, True), (3.0 + 0.05, False)])
def test_a_window_under_a_pencil_line_warns(width: float, narrow: bool) -> None:
    window = Window("front edge", 30.0, 30.0 - width / 2, 30.0 + width / 2)
    project = butt(replace(pocket(across=30.0), window=window))
    assert bool(told(project, "narrow-window")) is narrow


def test_pine_and_prebored_maple_only_note() -> None:
    near = PAIRS["end of a dense board"].at(-HAIR)
    one = near.bores[0]
    drilled = replace(one, pilot_into_mate=one.engagement)
    prebored = replace(near, joints=(replace(near.joints[0], bores=(drilled,)),))
    assert [f.severity for f in rules()["splitting"].check(Study(near))] == ["warns"]
    assert [f.severity for f in rules()["splitting"].check(Study(prebored))] == ["notes"]
    pine = replace(near, boards=tuple(replace(b, stock=replace(b.stock, material="red-alder"))
                                      for b in near.boards))  # fmt: skip
    assert [f.severity for f in rules()["splitting"].check(Study(pine))] == ["notes"]


def test_sheet_goods_are_not_held_to_guidance_for_wood() -> None:
    sheet = Stock("sheet", "birch-ply-18", "birch multi-ply 18 mm", T, "sheet")
    project = butt(pocket(), stock=sheet, up=2.0)
    assert not told(project, "splitting")


def test_strength_says_like_screws_once_and_one_caution() -> None:
    said = told(corner(), "strength")
    assert len(said) == 2
    (caution,) = (m for m in said if "licensed engineer" in m)
    assert "trial joint" in caution
    assert told(replace(corner(), joints=()), "strength") == []


def test_strength_of_a_thick_joint_has_design_values() -> None:
    """2-1/2 in of #8 from 38 mm stock stands more than 6 diameters deep: the NDS rates it."""
    thick = replace(MAPLE, thickness=38.1, material="white-oak", title="white oak")
    one = pocket(shoulder=36.0)
    screw = replace(SCREW, gauge="#8", length=63.5, radius=0.164 * 25.4 / 2)
    one = replace(one, screw=screw, exit=(0.0, 30.0, 19.05))
    boards = tuple(
        blank(b.name, b.piece, b.role, thick, b.length, b.width, pose=b.pose,
              seen={TOP: "concealed"}) for b in butt().boards
    )  # fmt: skip
    project = Project("thick", "mm", boards, (replace(butt().joints[0], bores=(one,)),))
    (said,) = (m for m in told(project, "strength") if "diameters" in m)
    assert "side grain of white oak" in said and "NDS reference value" in said
    oak = species()["white-oak"]
    # By hand: 2850 * 0.73^2 * 0.164 lbf per inch over 27.5 mm of screw, all of it thread.
    by_hand = 2850 * 0.73**2 * 0.164 * (63.5 - 36.0) / 25.4 * 4.4482216
    assert rule.design_withdrawal(one, oak) == pytest.approx(by_hand, rel=1e-6)
    lateral = rule.design_lateral(one, oak, oak, "side grain")
    end = rule.design_lateral(one, oak, oak, "end grain")
    assert lateral is not None and end is not None
    assert end.value == pytest.approx(0.67 * lateral.value)


@pytest.mark.parametrize("code", rules())
def test_a_rule_has_nothing_to_say_of_no_bores(code: str) -> None:
    assert not list(rules()[code].check(Study(butt())))
