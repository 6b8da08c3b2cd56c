"""Support functions of rods within boards, against sampling and against sums by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slantbore.models.maths.clearance import (
    Rods,
    clipped,
    padded,
    rod_distances,
    trimmed,
)
from slantbore.models.maths.geometry import Array, Plane, Vec, unit
from slantbore.models.maths.walls import Blank, Walls
from slantbore.models.maths.walls import walls as measured

BOX = [
    Plane((1.0, 0.0, 0.0), 100.0),
    Plane((-1.0, 0.0, 0.0), 0.0),
    Plane((0.0, 1.0, 0.0), 40.0),
    Plane((0.0, -1.0, 0.0), 0.0),
    Plane((0.0, 0.0, 1.0), 20.0),
    Plane((0.0, 0.0, -1.0), 0.0),
]


def one(point: Vec, axis: Vec, low: float, high: float, radius: float) -> Rods:
    return Rods(
        np.array([point]),
        np.array([unit(axis)]),
        np.array([low]),
        np.array([high]),
        np.array([radius]),
    )


def walls(rods: Rods, asked: float = -math.inf, cut: tuple[Plane, ...] = ()) -> Walls:
    """Walls to the faces of the box, then to a cut."""
    blank = Blank(tuple(BOX), (cut,) if cut else ())
    whose = np.zeros(len(rods), dtype=np.intp)
    return measured(rods, [blank], whose, np.full((len(rods), len(BOX) + bool(cut)), asked))


def inside(rods: Rods, count: int = 60_000) -> Array:
    """Points of a rod, its rims and its surface among them, drawn with a fixed seed."""
    rng = np.random.default_rng(7)
    axis = rods.axis[0]
    u = np.linalg.svd(axis[None])[2][1:]
    turn, out = rng.uniform(0, 2 * math.pi, count), np.sqrt(rng.uniform(0, 1, count))
    out[: count // 2] = 1.0
    t = rng.uniform(rods.low[0], rods.high[0], count)
    t[::6], t[1::6] = rods.low[0], rods.high[0]
    across = rods.radius[0] * out * np.stack([np.cos(turn), np.sin(turn)])
    points: Array = rods.point[0] + t[:, None] * axis + across.T @ u
    return points


def test_walls_of_a_straight_rod_are_plain_sums() -> None:
    # Along x at mid thickness: a plain hole, 5 mm radius, from 10 to 60.
    found = walls(one((0, 12, 10), (1, 0, 0), 10, 60, 5)).gaps[0]
    assert found == pytest.approx([40, 10, 40 - 17, 12 - 5, 20 - 15, 10 - 5])


def test_walls_of_a_slanted_rod_are_the_textbook_ones() -> None:
    """The lowest point of a flat-ended slanted rod: end less the end disc's half, r cos t."""
    t = math.radians(15)
    rod = one((100, 20, 10), (-math.cos(t), 0, math.sin(t)), 16, 90, 4.7625)
    found = walls(rod).gaps[0]
    assert found[5] == pytest.approx(10 + 16 * math.sin(t) - 4.7625 * math.cos(t))
    assert found[0] == pytest.approx(16 * math.cos(t) - 4.7625 * math.sin(t))
    assert found[2] == found[3] == pytest.approx(20 - 4.7625)


def test_a_rod_that_stands_out_has_a_negative_wall_by_how_far() -> None:
    found = walls(one((50, 3, 10), (1, 0, 0), -20, 20, 5)).gaps[0]
    assert found[3] == pytest.approx(-2.0)


def test_a_rod_that_misses_the_board_leaves_everything() -> None:
    rod = one((50, 80, 10), (1, 0, 0), -5, 5, 3)
    assert np.isinf(np.delete(walls(rod).gaps[0], 2)).all()
    assert walls(rod).gaps[0][2] == pytest.approx(-43.0)
    gone = clipped(rod, *padded([BOX]))
    assert gone.low[0] > gone.high[0]


def test_the_corner_of_a_board_inside_a_rod_counts() -> None:
    """A thick rod across the corner swallows its vertex: the vertex is the support."""
    planes = padded([BOX])
    rod = one((100, 40, 20), unit((1, -1, 0)), -30, 30, 12)
    goal = np.array([[[1.0, 1.0, 1.0]]])
    top, point = trimmed(rod, *planes).support(goal)
    assert top[0, 0] == pytest.approx(160.0)
    assert point[0, 0] == pytest.approx([100, 40, 20])


@st.composite
def cases(draw: st.DrawFn) -> tuple[Rods, Vec]:
    def number(low: float, high: float) -> float:
        return draw(st.floats(low, high))

    # Whole directions give axes square and parallel to faces: the degenerate cases. Rounding and
    # trigonometry make them nearly so.
    whole = st.tuples(*[st.integers(-2, 2)] * 3).filter(any)
    nearly = st.tuples(*[st.sampled_from([0.0, 1e-16, -1e-13, 1e-11, -1e-9, 1e-7, 1e-5])] * 3)
    tilted = st.tuples(whole, nearly).map(lambda w: tuple(a + b for a, b in zip(*w, strict=True)))
    coarse = st.integers(-1000, 1000).map(lambda n: n / 1000)
    free = st.tuples(*[coarse] * 3).filter(lambda v: sum(x * x for x in v) > 0.01)
    axis, goal = draw(whole | tilted | free), draw(whole | tilted | free)
    point = (number(-5, 105), number(-5, 45), number(-5, 25))
    low = number(-30, 30)
    rod = one(point, (axis[0], axis[1], axis[2]), low, low + number(1, 60), number(0.5, 12))
    return rod, unit((goal[0], goal[1], goal[2]))


@settings(max_examples=150)
@given(cases())
def test_the_support_is_attained_and_no_point_goes_further(case: tuple[Rods, Vec]) -> None:
    rod, goal = case
    normals, offsets = padded([BOX])
    top, point = trimmed(rod, normals, offsets).support(np.array([[goal]]))
    sample = inside(rod, 20_000)
    sample = sample[(sample @ normals[0].T <= offsets[0]).all(axis=1)]
    if not np.isfinite(top[0, 0]):
        assert len(sample) == 0
        return
    assert np.dot(point[0, 0], goal) == pytest.approx(top[0, 0], abs=1e-6)
    # The point that attains it belongs to the rod and to the board.
    away = point[0, 0] - rod.point[0]
    t = float(away @ rod.axis[0])
    assert rod.low[0] - 1e-6 <= t <= rod.high[0] + 1e-6
    assert np.linalg.norm(away - t * rod.axis[0]) <= rod.radius[0] + 1e-6
    assert (normals[0] @ point[0, 0] <= offsets[0] + 1e-6).all()
    if len(sample):
        assert (sample @ np.array(goal)).max() <= top[0, 0] + 1e-6


REBATE = (Plane((0.0, -1.0, 0.0), -30.0), Plane((0.0, 0.0, -1.0), -12.0))  # y >= 30, z >= 12


def test_the_gap_to_a_cut_is_a_bound_until_it_is_asked_for() -> None:
    beside = one((0, 20, 16), (1, 0, 0), 10, 60, 3)
    assert walls(beside, 8.0, REBATE).gaps[0, -1] == pytest.approx(7.0)
    corner = one((0, 24, 6), (1, 0, 0), 10, 60, 1)
    bound, full = walls(corner, 4.0, REBATE), walls(corner, 6.0, REBATE)
    assert bound.gaps[0, -1] == pytest.approx(5.0) and not bound.exact[0, -1]
    # Past the rebate's inner corner: 6 mm off its floor, 6 mm off its wall.
    assert full.gaps[0, -1] == pytest.approx(math.hypot(6, 6) - 1) and full.exact[0, -1]
    assert full.points[0, -1, 1:] == pytest.approx([24 + math.sqrt(0.5), 6 + math.sqrt(0.5)])
    assert not full.out[0, -1]
    assert walls(one((0, 31, 11), (1, 0, 0), 10, 60, 2), 3.0, REBATE).out[0, -1]
    # Level with the cut but outside the blank there is no wood to share.
    assert not walls(one((120, 35, 15), (1, 0, 0), 0, 10, 2), 3.0, REBATE).out[0, -1]


def test_a_cut_that_takes_no_wood_is_nowhere_near() -> None:
    past = (Plane((0.0, -1.0, 0.0), -41.0),)  # y >= 41, the box ends at 40
    found = walls(one((0, 20, 10), (1, 0, 0), 10, 60, 3), 100.0, past)
    assert math.isinf(found.gaps[0, -1]) and not found.out[0, -1]


def test_to_decide_gives_the_same_verdict_as_to_measure() -> None:
    rng = np.random.default_rng(5)
    rods = [
        one(tuple(rng.uniform((5, 5, 2), (95, 38, 18))), tuple(rng.normal(size=3)), -9, 9, 2.0)
        for _ in range(200)
    ]
    blank, whose = Blank(tuple(BOX), (REBATE,)), np.zeros(200, dtype=np.intp)
    fields = [np.concatenate([getattr(r, f) for r in rods]) for f in Rods.__dataclass_fields__]
    asked = np.full((200, 7), 4.0)
    full = measured(Rods(*fields), [blank], whose, asked)
    sign = measured(Rods(*fields), [blank], whose, asked, decide=True)
    assert ((full.gaps < 4.0) == (sign.gaps < 4.0)).all()
    assert (sign.gaps <= full.gaps + 1e-9).all()
    assert (sign.out == full.out).all()
    assert 20 < (full.gaps[:, -1] < 4.0).sum() < 180


@settings(max_examples=80)
@given(cases(), cases())
def test_rods_are_never_nearer_than_their_distance(
    a: tuple[Rods, Vec], b: tuple[Rods, Vec]
) -> None:
    bound = rod_distances(a[0], b[0])[0][0]
    p, q = inside(a[0], 300), inside(b[0], 300)
    least = np.linalg.norm(p[:, None] - q[None], axis=2).min()
    assert bound <= least + 1e-9
    # And of their axes it is the distance itself, but for the step of the sampling.
    ends = [r.point + np.linspace(r.low[0], r.high[0], 200)[:, None] * r.axis for r in (a[0], b[0])]
    axes = np.linalg.norm(ends[0][:, None] - ends[1][None], axis=2).min()
    assert bound + a[0].radius[0] + b[0].radius[0] == pytest.approx(axes, abs=0.31)


def test_rods_that_pass_sideways_have_the_textbook_distance() -> None:
    """Skew lines: |(q - p) . (d x e)| / |d x e|, less both radii."""
    a = one((0, 0, 0), (1, 0, 0), -50, 50, 2)
    b = one((5, 0, 9), (1, 1, 0), -50, 50, 3)
    assert rod_distances(a, b)[0] == pytest.approx([9 - 5])
    parallel = one((300, 0, 9), (-1, 0, 0), -50, 350, 3)
    assert rod_distances(a, parallel)[0] == pytest.approx([4])


def test_a_clipped_rod_reaches_to_where_its_side_leaves_the_board() -> None:
    t = math.radians(30)
    rod = one((50, 20, 10), (math.cos(t), 0, math.sin(t)), -100, 100, 4)
    cut = clipped(rod, *padded([BOX]))
    # The upper side meets the face z = 20 sooner, the lower one later by r / tan t.
    assert cut.high[0] == pytest.approx(10 / math.sin(t) + 4 / math.tan(t))
    assert cut.low[0] == pytest.approx(-10 / math.sin(t) - 4 / math.tan(t))
