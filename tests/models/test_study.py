"""What the rules read: walls and distances of a whole project."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from slantbore.models.judging.judge import judge
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import Pose, Vec
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Cut, Stock
from slantbore.models.piece.project import (
    Bore,
    Drill,
    Finding,
    Joint,
    Limits,
    PocketId,
    Project,
    Screw,
    Window,
)
from tests.boards import blank, cut

T, WIDTH, LENGTH, R, PILOT, SCREW = 19.05, 100.0, 300.0, 4.7625, 1.75, 2.1
SLOPE = math.radians(15.0)
SINE, COSINE = math.sin(SLOPE), math.cos(SLOPE)
OAK = Stock("oak", "red-oak", "red oak", T, "hardwood")
DRILL = Drill("stepped", R, PILOT, 15.0, (150.0,), 3.0, 25.0, 200.0)


def project(
    *ys: float,
    shoulder: float = 16.0,
    length: float = 31.75,
    mate: float = 80.0,
    cuts: tuple[Cut, ...] = (),
    seen: bool = True,
    limits: Limits | None = None,
) -> Project:
    """A shelf whose square right end meets the left end of a second board, bored at each y."""
    hidden = {} if seen else {side: "concealed" for side in (FRONT, BACK, BOTTOM, LEFT, RIGHT)}
    first = blank("first", "piece", "first", OAK, LENGTH, WIDTH, cuts=cuts, seen=hidden)  # type: ignore[arg-type]
    second = blank("second", "piece", "second", OAK, mate, WIDTH, pose=Pose((LENGTH, 0.0, 0.0)))
    screw = Screw("#8", "fine", length, SCREW, 4.0, 2.5, "screw")
    bores = tuple(
        Bore(
            PocketId("joint", n), "first", TOP, RIGHT, "second", LEFT, (LENGTH, y, T / 2),
            (-COSINE, 0.0, SINE), 15.0, 0.0, shoulder, DRILL, screw, Window("front", y, y, y),
        )
        for n, y in enumerate(ys, 1)
    )  # fmt: skip
    joint = Joint("joint", "edge", "first", RIGHT, "second", LEFT, bores)
    return Project("study", "mm", (first, second), (joint,), limits=limits or Limits())


def found(given: Project, rule: str) -> list[Finding]:
    return [finding for finding in judge(given) if finding.rule == rule]


def groove(floor: float) -> Cut:
    """Under the counterbore, from below up to a height."""
    return cut("groove", {"floor": ((0.0, 0.0, 1.0), floor)}, "exposed")


def test_walls_are_those_of_the_sums_by_hand() -> None:
    closed = Study(project(30.0)).closed
    web = T / 2 + 16.0 * SINE - R * COSINE
    assert closed["joint pocket 1", "first", FRONT] == pytest.approx(30.0 - R)
    assert closed["joint pocket 1", "first", BACK] == pytest.approx(70.0 - R)
    # Under the pilot at the joint the wood is thinner than under the shoulder.
    under = T / 2 - SCREW / COSINE
    assert closed["joint pocket 1", "first", BOTTOM] == pytest.approx(min(web, under))
    assert closed["joint pocket 1", "second", RIGHT] == pytest.approx(
        80.0 - 15.75 * COSINE - SCREW * SINE
    )
    assert closed["joint pocket 1", "second", BOTTOM] == pytest.approx(
        T / 2 - 15.75 * SINE - SCREW * COSINE
    )
    assert ("joint pocket 1", "first", TOP) not in closed
    assert ("joint pocket 1", "second", LEFT) not in closed


def test_bores_side_by_side_are_apart_by_their_counterbores() -> None:
    near = Study(project(30.0, 45.0)).nearness
    assert {n.board.name: n.gap for n in near} == pytest.approx(
        {"first": 15.0 - 2 * R, "second": 15.0 - 2 * SCREW}
    )


def test_nothing_changes_when_the_project_stands_elsewhere() -> None:
    here = project(9.0, 20.0, cuts=(groove(6.0),))
    turn = math.radians(37.0)
    pose = Pose(
        (812.0, -40.0, 300.0),
        (math.cos(turn), math.sin(turn), 0.0),
        (-math.sin(turn) * 0.6, math.cos(turn) * 0.6, 0.8),
    )
    there = replace(here, boards=tuple(b.placed(b.pose.then(pose)) for b in here.boards))
    assert Study(there).closed == pytest.approx(Study(here).closed, abs=1e-9)
    for a, b in zip(Study(here).walls, Study(there).walls, strict=True):
        assert pose.point(a.point) == pytest.approx(b.point, abs=1e-7)
    # But for what hangs in the air, which is told by where it stands.
    one, other = ([f.rule for f in judge(p) if f.rule != "tip-over"] for p in (here, there))
    assert one == other


NEAR = 0.05


@pytest.mark.parametrize(
    ("y", "rules"),
    [
        (R + 3.0 + NEAR, set()),
        (R + 3.0 - NEAR, {"thin-wall"}),
        (R + NEAR, {"thin-wall"}),
        (R - NEAR, {"breakout"}),
    ],
)
def test_a_wall_to_an_edge_at_and_past_its_limit(y: float, rules: set[str]) -> None:
    given = project(y)
    assert {f.rule for f in judge(given)} & {"thin-wall", "breakout"} == rules
    for finding in judge(given):
        if finding.rule in rules:
            assert (finding.severity, finding.face, finding.bore) == (
                "fails",
                FRONT,
                "joint pocket 1",
            )
            assert finding.measured == pytest.approx(max(y - R, 0.0))


@pytest.mark.parametrize(("short", "warned"), [(-NEAR, False), (NEAR, True)])
def test_a_thin_wall_that_nobody_sees_warns(short: float, warned: bool) -> None:
    thin = found(project(R + 1.5 - short, seen=False), "thin-wall")
    assert [f.severity for f in thin] == ["warns"] * warned


@pytest.mark.parametrize(("short", "fails"), [(-NEAR, False), (NEAR, True)])
def test_the_cover_of_a_tip_at_and_past_its_limit(short: float, fails: bool) -> None:
    mate = 15.75 * COSINE + SCREW * SINE + 3.0 - short
    thin = [f for f in found(project(50.0, mate=mate), "tip-cover") if f.face == RIGHT]
    assert [f.severity for f in thin] == ["fails"] * fails
    if fails:
        assert thin[0].measured == pytest.approx(3.0 - short)
        assert thin[0].board == "second"


def test_a_tip_that_comes_out_says_so() -> None:
    (out,) = [f for f in found(project(50.0, mate=12.0), "tip-cover") if f.face == RIGHT]
    assert "comes out" in out.message
    assert out.measured == 0.0


@pytest.mark.parametrize(("short", "fails"), [(-NEAR, False), (NEAR, True)])
def test_the_distance_of_two_bores_at_and_past_its_limit(short: float, fails: bool) -> None:
    apart = 2 * R + 3.0 - short
    close = found(project(30.0, 30.0 + apart), "too-close")
    assert [f.severity for f in close] == ["fails"] * fails
    if fails:
        assert close[0].measured == pytest.approx(3.0 - short)


# The lowest wood that the bore takes is under the pilot and screw at the joint.
LOWEST = T / 2 - SCREW / COSINE


@pytest.mark.parametrize(
    ("floor", "rule"),
    [
        (LOWEST - 3.0 - NEAR, None),
        (LOWEST - 3.0 + NEAR, "thin-wall"),
        (LOWEST - NEAR, "thin-wall"),
        (LOWEST + NEAR, "breakout"),
    ],
)
def test_a_wall_to_a_groove_at_and_past_its_limit(floor: float, rule: str | None) -> None:
    given = project(50.0, cuts=(groove(floor),))
    about = [f for f in judge(given) if f.rule in ("thin-wall", "breakout") and f.face == "groove"]
    assert [f.rule for f in about] == ([rule] if rule else [])


def test_a_body_that_meets_a_groove_is_told_before_one_that_only_may() -> None:
    """A bound may be less than nothing where a body keeps clear: that is not to be in the groove.

    Here no plane of the groove keeps the screw out, but its distance is known; the counterbore is
    in the groove, and that is what is told.
    """
    low: Vec = (0.0, 0.0, 1.0)
    seat = LENGTH - 17.0  # the pilot's end reaches over the groove, above its floor
    stopped = cut("slot",
        {"floor": (low, 10.0), "low": ((-1.0, 0.0, 0.0), -(seat - 30.0)),
         "high": ((1.0, 0.0, 0.0), seat)},
        "concealed",
    )  # fmt: skip
    given = project(50.0, shoulder=18.0, cuts=(stopped,))
    walls = [w for w in Study(given).walls if w.target == "slot"]
    met = {w.body for w in walls if w.out}
    (told,) = [w for w in Study(given).thinnest(in_mate=False) if w.target == "slot"]
    assert met == {"counterbore"}
    assert all(wall.gap > 0 for wall in walls if not wall.out)
    assert told.out
    assert [f.rule for f in judge(given) if f.face == "slot"] == ["breakout"]


def test_limits_hold_within_a_millionth() -> None:
    """A wall that is what is needed but for rounding passes."""
    assert not found(project(R + 3.0 - 1e-9), "thin-wall")
