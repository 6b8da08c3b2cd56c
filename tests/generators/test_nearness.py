"""Bores against each other on the solids: by the rule, by the proof, and one held to the other."""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import replace

import cadquery as cq
import pytest

from slantbore.generators.solids.nearness import nearness
from slantbore.generators.solids.proof import prove
from slantbore.generators.solids.solids import solidify
from slantbore.models.judging.judge import joined
from slantbore.models.judging.measures import HOLES, WallKey
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


def proven(project: Project) -> list[Finding]:
    told = ("too-close", "disagreement")
    return [f for f in prove(solidify(project)) if f.rule in told]


def promising(patch: pytest.MonkeyPatch, change: Callable[[dict[WallKey, float]], object]) -> None:
    """Let the closed form promise something else."""
    true = Study.__dict__["promised"].func

    def wrong(study: Study) -> dict[WallKey, float]:
        found = dict(true(study))
        change(found)
        return found

    patch.setattr(Study, "promised", property(wrong))


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
        apron = blank(name, "table", name, PINE, 300.0, WIDTH, seen={TOP: "concealed"}, pose=pose)
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
        for found in (by_rule(project), proven(project)):
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
    for found in (by_rule(project), proven(project)):
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
    for found in (by_rule(project), proven(project)):
        assert [f.board for f in found] == (["upright"] if margin < 0 else [])
        for finding in found:
            assert finding.measured == pytest.approx(BETWEEN + margin, abs=SAME)


def test_what_runs_into_each_other_is_nought_apart() -> None:
    """Axes that meet: skins alone might be some way from each other."""
    project = crossing(-2 * SCREW.radius - BETWEEN)
    (near,) = nearness(project)
    assert near.key == ("apron joint pocket", "leg", "short apron joint pocket")
    assert near.gap == 0.0
    (finding,) = proven(project)
    assert finding.measured == 0.0
    # Where the axes meet: 13.47 mm along either screw, on the diagonal of the leg.
    meet = LEG - 13.47 * math.cos(math.radians(15.0))
    assert finding.point == pytest.approx((meet, meet, 300.0 - DOWN), abs=1.5)


def test_a_screw_inside_a_counterbore_is_nought_apart() -> None:
    """One solid wholly within another has no skin in common with it."""
    project = butt(pocket(1), replace(pocket(2), drill=replace(
        pocket().drill, counterbore_radius=2.4, pilot_radius=1.0)))  # fmt: skip
    assert {n.gap for n in nearness(project)} == {0.0}


def test_bores_far_from_each_other_are_not_measured() -> None:
    project = butt(pocket(1, across=12.0), pocket(2, across=WIDTH - 12.0))
    assert nearness(project) == ()
    assert by_rule(project) == []


def test_both_ways_are_told_once() -> None:
    """In a build the words are those of `check`, with the measure and the place of the solids."""
    for name in ("screws that cross", "beside a round hole"):
        project = PAIRS[name].at(-HAIR)
        closed, solid = by_rule(project), proven(project)
        (both,) = joined(closed, solid)
        assert (both.message, both.severity) == (closed[0].message, closed[0].severity)
        assert both.measured == pytest.approx(closed[0].measured, abs=SAME)
        assert both.solid and not closed[0].solid
        assert (both.measured, both.point) == (solid[0].measured, solid[0].point)


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
    promising(monkeypatch, lambda found: found.update({k: v + 1.0 for k, v in found.items()}))
    for project, other in (
        (crossing(-HAIR), "short apron joint pocket"),
        (beside_hole(-HAIR), HOLES),
    ):
        found = proven(project)
        assert [f.rule for f in found[:1]] == ["too-close"]
        (wrong,) = (f for f in found if f.rule == "disagreement" and f.face == other)
        assert (wrong.severity, wrong.face) == ("fails", other)
        assert wrong.measured == pytest.approx(BETWEEN - HAIR, abs=SAME)
        assert wrong.needed == pytest.approx(BETWEEN - HAIR + 1.0, abs=SAME)
        assert other in wrong.message and wrong.point is not None
    # One that passes is compared as well.
    assert {f.rule for f in proven(crossing(HAIR))} == {"disagreement"}


@pytest.mark.parametrize(("more", "said"), [(5e-7, False), (2e-6, True)])
def test_the_compare_allows_a_millionth(
    more: float, said: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    key = ("apron joint pocket", "leg", "short apron joint pocket")
    promising(monkeypatch, lambda found: found.update({key: found[key] + more}))
    assert bool(proven(crossing(HAIR))) is said


def test_a_pair_that_the_closed_form_passed_over_is_a_disagreement(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    key = ("apron joint pocket", "leg", "short apron joint pocket")
    promising(monkeypatch, lambda found: found.pop(key))
    (found,) = proven(crossing(HAIR))
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
        study, measured = Study(project), nearness(project)
        closed = {near.key: near.gap for near in study.nearness}
        closed |= {near.key: near.gap for near in study.beside_holes}
        # No pair that matters is lost to the boxes.
        looked_at = {near.key for near in measured}
        assert {key for key, gap in closed.items() if gap < BETWEEN} <= looked_at
        for near in measured:
            promised = closed[near.key]
            assert promised <= near.gap + SAME, (seed, near)
            alike = abs(promised - near.gap) <= SAME
            what = "runs in" if near.gap == 0.0 else "equal" if alike else "bounded"
            slotted = {bore.name for bore in project.bores if bore.slot > 0}
            if promised < BETWEEN - SAME and not slotted & set(near.key):
                assert alike or near.gap == 0.0, (seed, near, promised)
            seen[f"{what}, {'hole' if HOLES in near.key else near.board.name}"] += 1
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
        own = next((n for n in nearness(butt(*bores)) if n.board.name == "shelf"), None)
        parts = [[shared(rod, shelf) for rod in rods(one)] for one in bores]
        least = min(
            0.0 if shared(p, q) else distance(p, q)[0]
            for p in parts[0] if p for q in parts[1] if q
        )  # fmt: skip
        # What stays further apart than the proof looks is left out of it.
        assert (own.gap if own else least) == pytest.approx(least, abs=SAME)
        assert own or least > BETWEEN
