"""Bores against each other on the solids: by the rule, by the proof, and one held to the other."""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

import cadquery as cq
import pytest

from slantbore.generators.solids.measure import WallKey
from slantbore.generators.solids.nearness import HOLES, closed_nearness, closed_walls, nearness
from slantbore.generators.solids.proof import prove
from slantbore.generators.solids.solids import solidify
from slantbore.models.judging.judge import joined
from slantbore.models.judging.rules import rules
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import Pose, Vec, unit
from slantbore.models.piece.board import BACK, BOTTOM, LEFT, TOP, Hole
from slantbore.models.piece.project import Bore, Finding, Joint, Limits, PocketId, Project
from tests.boards import Stated, blank
from tests.generators.brep import Prism, cylinder, distance, shared
from tests.generators.limits import (
    APRON,
    DOWN,
    HAIR,
    LEG,
    MAPLE,
    PAIRS,
    PIN,
    UP,
    beside_hole,
    butt,
    crossing,
    pocket,
)
from tests.generators.small import PINE, SCREW, WIDTH, R, T, bore, with_board

BETWEEN = Limits().between
SAME = 1e-6


def by_rule(project: Project) -> list[Finding]:
    return list(rules()["too-close"].check(Study(project)))


def proven(project: Project, closed: Mapping[WallKey, float] | None = None) -> list[Finding]:
    told = ("too-close", "disagreement")
    return [f for f in prove(solidify(project), closed=closed) if f.rule in told]


def corner_of_a_table(rng: random.Random, margin: float) -> Project:
    """Two aprons at a leg with screws of their own that cross in it, 3 mm and a margin apart."""
    high = rng.uniform(200.0, 380.0)
    leg = blank(
        "leg", "table", "leg", MAPLE, 400.0, LEG, thickness=LEG,
        pose=Pose((LEG, 0, 0), (0, 0, 1), (0, 1, 0)),
    )  # fmt: skip
    screws = [
        replace(SCREW, radius=rng.uniform(1.8, 2.6), length=rng.uniform(31.0, 36.0))
        for _ in range(2)
    ]
    # Half of them with a pilot that goes on, thicker than its screw: then that one is measured.
    into = [rng.choice([0.0, screw.length - 16.0]) for screw in screws]
    thick = [
        max(screw.radius, 1.75 if deep else 0.0) for screw, deep in zip(screws, into, strict=True)
    ]
    rise = rng.choice([1.0, -1.0]) * (sum(thick) + BETWEEN + margin)
    poses = {
        "apron": Pose((LEG, APRON, high), (1, 0, 0), (0, 0, -1)),
        "short apron": Pose((APRON, LEG, high - WIDTH), (0, 1, 0), (0, 0, 1)),
    }
    joints, boards = [], [leg]
    for (name, pose), side, across, screw, deep in zip(
        poses.items(), (BOTTOM, BACK), (DOWN, UP + rise), screws, into, strict=True
    ):
        apron = blank(name, "table", name, PINE, 300.0, WIDTH, seen={TOP: "hidden"}, pose=pose)
        exit: Vec = (0.0, across, T / 2)
        one = bore(PocketId(f"{name} joint"), apron, LEFT, exit, "leg", side, into_mate=deep)
        joints.append(
            Joint(one.joint, "butt", name, LEFT, "leg", side, (replace(one, screw=screw),))
        )
        boards.append(apron)
    return Project("corner of a table", "mm", tuple(boards), tuple(joints))


@pytest.mark.parametrize("seed", range(4))
def test_screws_that_cross_in_a_leg_a_hair_apart(seed: int) -> None:
    for margin in (HAIR, -HAIR):
        project = corner_of_a_table(random.Random(f"leg {seed}"), margin)
        for found in (by_rule(project), proven(project, closed_walls(project))):
            assert bool(found) is (margin < 0)
            for finding in found:
                assert (finding.rule, finding.severity, finding.board) == (
                    "too-close", "fails", "leg",
                )  # fmt: skip
                assert finding.measured == pytest.approx(BETWEEN + margin, abs=SAME)
                assert finding.message == "comes too near short apron joint pocket"
                assert finding.point is not None
                # In the leg, at the height of the screws.
                assert all(0.0 < at < LEG for at in finding.point[:2])


@pytest.mark.parametrize("margin", [HAIR, -HAIR])
def test_a_pin_hole_beside_a_pocket(margin: float) -> None:
    project = beside_hole(margin)
    for found in (by_rule(project), proven(project, closed_walls(project))):
        assert [f.message for f in found] == (
            ["comes too near the pin hole of the shelf"] if margin < 0 else []
        )
        for finding in found:
            assert finding.measured == pytest.approx(BETWEEN + margin, abs=SAME)


def beside_the_screw(margin: float) -> Project:
    """Pin holes in the upright's far face: one beside a screw's tip, one far away."""
    sine, cosine = math.sin(math.radians(15.0)), math.cos(math.radians(15.0))
    one = pocket()
    # Level with the middle of the screw, 150 mm up, T/2 above the shelf's lower face.
    deep = one.engagement * cosine / 2
    low = 150.0 + T / 2 - one.engagement * sine / 2
    apart = SCREW.radius + 2.5 + BETWEEN + margin
    holes = tuple(
        Hole("pin hole", (x, WIDTH / 2 + apart, T), (0.0, 0.0, -1.0), 2.5, T - deep + 2.0)
        for x in (40.0, low)
    )
    project = butt(one)
    return with_board(project, replace(project.board_named["upright"], work=(Stated(holes),)))


@pytest.mark.parametrize("margin", [HAIR, -HAIR])
def test_a_pin_hole_beside_a_screw_in_the_mate(margin: float) -> None:
    project = beside_the_screw(margin)
    for found in (by_rule(project), proven(project, closed_walls(project))):
        assert [f.board for f in found] == (["upright"] if margin < 0 else [])
        for finding in found:
            assert finding.measured == pytest.approx(BETWEEN + margin, abs=SAME)


def test_what_runs_into_each_other_is_nought_apart() -> None:
    """Axes that meet: skins alone might be some way from each other."""
    project = crossing(-2 * SCREW.radius - BETWEEN)
    (near,) = nearness(project)
    assert (near.bore, near.board, near.side) == (
        "apron joint pocket",
        "leg",
        "short apron joint pocket",
    )
    assert near.thickness == 0.0
    (finding,) = proven(project)
    assert finding.measured == 0.0
    # Where the axes meet: 13.47 mm along either screw, on the diagonal of the leg.
    meet = LEG - 13.47 * math.cos(math.radians(15.0))
    assert finding.point == pytest.approx((meet, meet, 300.0 - DOWN), abs=1.5)


def test_a_screw_inside_a_counterbore_is_nought_apart() -> None:
    """One solid wholly within another has no skin in common with it."""
    project = butt(pocket(1), replace(pocket(2), drill=replace(
        pocket().drill, counterbore_radius=2.4, pilot_radius=1.0)))  # fmt: skip
    assert {n.thickness for n in nearness(project)} == {0.0}


def test_bores_far_from_each_other_are_not_measured() -> None:
    project = butt(pocket(1, across=12.0), pocket(2, across=WIDTH - 12.0))
    assert nearness(project) == ()
    assert by_rule(project) == []


def test_both_ways_are_told_once() -> None:
    """In a build the rule's words stay, with the measure and the place of the solids."""
    for name in ("screws that cross", "beside a round hole"):
        project = PAIRS[name].at(-HAIR)
        closed, solid = by_rule(project), proven(project)
        (both,) = joined(closed, solid)
        assert both == replace(closed[0], measured=solid[0].measured, point=solid[0].point)


def test_a_pocket_near_two_others_is_told_of_each() -> None:
    step = 2 * R + BETWEEN - 0.5
    bores = [
        pocket(number, across=WIDTH / 2 + off) for number, off in
        ((1, 0.0), (2, -step), (3, step))
    ]  # fmt: skip
    project = butt(*bores)
    told = [(f.bore, f.message) for f in joined(by_rule(project), proven(project))]
    assert told == [
        ("joint pocket 1", "comes too near joint pocket 2"),
        ("joint pocket 1", "comes too near joint pocket 3"),
    ]


# --- one way held to the other -------------------------------------------------------------------


def test_a_crossing_that_the_closed_form_does_not_see_is_a_disagreement(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def too_much(project: Project) -> Mapping[WallKey, float]:
        return {key: gap + 1.0 for key, gap in closed_nearness(project).items()}

    monkeypatch.setattr("slantbore.generators.solids.nearness.closed_nearness", too_much)
    for project, other in (
        (crossing(-HAIR), "short apron joint pocket"),
        (beside_hole(-HAIR), HOLES),
    ):
        found = proven(project, closed_walls(project))
        assert [f.rule for f in found] == ["too-close", "disagreement"]
        wrong = found[1]
        assert (wrong.severity, wrong.face) == ("fails", other)
        assert wrong.measured == pytest.approx(BETWEEN - HAIR, abs=SAME)
        assert wrong.needed == pytest.approx(BETWEEN - HAIR + 1.0, abs=SAME)
        assert other in wrong.message and wrong.point is not None
    # One that passes is compared as well.
    assert [f.rule for f in proven(crossing(HAIR), closed_walls(crossing(HAIR)))] == [
        "disagreement"
    ]


@pytest.mark.parametrize(("more", "said"), [(5e-7, False), (2e-6, True)])
def test_the_compare_allows_a_millionth(more: float, said: bool) -> None:
    project = crossing(HAIR)
    closed = closed_walls(project)
    closed["apron joint pocket", "leg", "short apron joint pocket"] += more
    assert bool(proven(project, closed)) is said


def test_a_pair_that_the_closed_form_passed_over_is_a_disagreement() -> None:
    project = crossing(HAIR)
    closed = closed_walls(project)
    del closed["apron joint pocket", "leg", "short apron joint pocket"]
    (found,) = proven(project, closed)
    assert found.rule == "disagreement" and "did not look at it" in found.message


def _random_bore(rng: random.Random, number: int) -> Bore:
    """A pocket of the shelf anywhere along its end, swung, with a drill and a screw of its own."""
    one = pocket(number, across=rng.uniform(14.0, 26.0) + 15.0 * number)
    turn = math.radians(rng.choice([0.0, 0.0, rng.uniform(-35.0, 35.0)]))
    slope = math.radians(rng.choice([15.0, 15.0, rng.uniform(10.0, 25.0)]))
    back = unit((
        math.cos(slope) * math.cos(turn), math.cos(slope) * math.sin(turn), math.sin(slope)
    ))  # fmt: skip
    drill = replace(one.drill, counterbore_radius=rng.uniform(3.0, 5.0))
    screw = replace(SCREW, radius=rng.uniform(1.5, 2.6))
    slot = rng.choice([0.0, 0.0, rng.uniform(1.0, 5.0)])
    return replace(
        one, back=back, drill=drill, screw=screw, shoulder=rng.uniform(10.0, 20.0), slot=slot,
        slot_along=(0.0, 1.0, 0.0),
    )  # fmt: skip


def test_the_closed_form_never_says_more_than_the_solids() -> None:
    """Random bores and pin holes: a lower bound, and the truth where it is less than is asked.

    A slotted pilot stands in one sheath, so that its distances stay bounds.
    """
    seen: Counter[str] = Counter()
    for seed in range(30):
        rng = random.Random(f"near {seed}")
        project = butt(*(_random_bore(rng, n) for n in range(2)))
        # Half of the pieces have slanting holes, which begin before their mouths' centres.
        lean = 0.4 * (seed % 2)
        holes = tuple(
            replace(
                PIN,
                mouth=(rng.uniform(20.0, 45.0), y, T),
                inward=unit((rng.uniform(-lean, lean), rng.uniform(-lean, lean), -1.0)),
            )
            for y in (8.0, 31.0, 55.0)
        )
        project = with_board(project, replace(project.board_named["shelf"], work=(Stated(holes),)))
        closed = closed_nearness(project)
        measured = nearness(project)
        # No pair that matters is lost to the boxes.
        looked_at = {(near.bore, near.board, near.side) for near in measured}
        assert {key for key, gap in closed.items() if gap < BETWEEN} <= looked_at
        for near in measured:
            promised = closed[near.bore, near.board, near.side]
            assert promised <= near.thickness + SAME, (seed, near)
            alike = abs(promised - near.thickness) <= SAME
            what = "runs in" if near.thickness == 0.0 else "equal" if alike else "bounded"
            slotted = {bore.name for bore in project.bores if bore.slot > 0}
            if promised < BETWEEN - SAME and not slotted & {near.bore, near.side}:
                assert alike or near.thickness == 0.0, (seed, near, promised)
            seen[f"{what}, {'hole' if near.side == HOLES else near.board}"] += 1
    # Every branch of the compare is reached, or it would compare nothing.
    for what in ("runs in", "equal", "bounded"):
        for where in ("hole", "shelf"):
            assert seen[f"{what}, {where}"] >= 2, seen
    assert seen["bounded, upright"] + seen["equal, upright"] >= 3, seen


def rods(one: Bore) -> tuple[cq.Solid, cq.Solid]:
    """A counterbore, and a pilot or its screw, as plain cylinders in the bored board's frame."""
    thick = max(one.screw.radius, one.drill.pilot_radius)
    wide = one.drill.counterbore_radius
    return (
        cylinder(one.exit, one.back, one.shoulder, 80.0, wide),
        cylinder(one.exit, one.back, -10.0, one.shoulder, thick),
    )


def test_the_kernel_measures_cylinders_of_a_second_hand_alike() -> None:
    """The same two pockets as plain cylinders within the shelf: no code in common."""
    shelf = Prism(250.0, WIDTH, T, 0.0, 0.0).solid()
    for seed in range(6):
        rng = random.Random(f"second hand {seed}")
        bores = [replace(_random_bore(rng, n), slot=0.0) for n in range(2)]
        own = next((n for n in nearness(butt(*bores)) if n.board == "shelf"), None)
        parts = [[shared(rod, shelf) for rod in rods(one)] for one in bores]
        least = min(
            0.0 if shared(p, q) else distance(p, q)[0]
            for p in parts[0] if p for q in parts[1] if q
        )  # fmt: skip
        # What stays further apart than the proof looks is left out of it.
        assert (own.thickness if own else least) == pytest.approx(least, abs=SAME)
        assert own or least > BETWEEN
