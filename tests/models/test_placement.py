"""Windows against brute force: positions sampled finely never say otherwise."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import compress

import numpy as np
import pytest

from slantbore.models.designs import designs, piece_models
from slantbore.models.maths.geometry import Pose, dot
from slantbore.models.piece.board import BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, Seen, Stock
from slantbore.models.piece.project import Drill, Limits, Screw, Window
from slantbore.models.placing.layout import Bench, Line, Shares, lay_out, shut, swings_up_to
from slantbore.models.placing.site import Site, pitch
from slantbore.models.placing.windows import (
    margins,
    promising,
    widest,
    windows,
)  # fmt: skip
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from tests.boards import blank, cut

STEP = 0.05  # mm between sampled positions
NOISE = 1e-4  # mm; a margin this near zero decides nothing
SEEN: dict[str, Seen] = {TOP: "concealed", LEFT: "concealed", RIGHT: "concealed"}


def rail(
    name: str, width: float, thickness: float, mitre: float, rebate: float, pose: Pose
) -> Board:
    stock = Stock("oak", "red-oak", "red oak", thickness, "hardwood")
    step = cut(
        "rebate",
        {"wall": ((0, -1, 0), rebate - width), "floor": ((0, 0, -1), -thickness * 0.6)},
    )
    return blank(
        name, "frame", name, stock, 700.0, width, left_mitre=mitre, right_mitre=mitre, seen=SEEN,
        names={FRONT: "outside edge"}, cuts=(step,) if rebate else (), pose=pose,
    )  # fmt: skip


def corner(
    width: float,
    *,
    mitre: float = 45.0,
    thickness: float = 19.05,
    rebate: float = 0.0,
    radius: float = 4.7625,
    shoulder: float = 16.0,
    length: float = 31.75,
) -> Site:
    """A mitred corner, positions from the outside corner inward."""
    turn = math.radians(2 * mitre)
    mate = Pose((700.0, 0.0, 0.0), (math.cos(turn), math.sin(turn), 0.0),
                (-math.sin(turn), math.cos(turn), 0.0))  # fmt: skip
    return Site(
        board=rail("first", width, thickness, mitre, rebate, Pose()),
        mate=rail("second", width, thickness, mitre, rebate, mate),
        joint_face=RIGHT,
        pocket_face=TOP,
        mate_face=LEFT,
        toward=(0.0, 1.0, 0.0),
        datum="outside corner",
        drill=Drill("stepped", radius, 1.75, 15.0, (125.0,), 3.6, 28.0, 190.0),
        screw=Screw("#8", "fine", length, 2.1, 4.4, 2.6, "screw"),
        shoulder=shoulder,
    )


def sampled(site: Site, swing: float, limits: Limits) -> tuple[np.ndarray, np.ndarray]:
    """Positions a step apart, and the least margin at each."""
    positions = np.arange(0.0, site.reach[1], STEP)
    found = margins(site, positions, np.full(len(positions), swing), limits)
    return positions, found.values.min(axis=1)


def contradiction(
    found: list[Window], positions: np.ndarray, least: np.ndarray
) -> tuple[float, float] | None:
    """A sampled position, and its margin, that the windows are wrong about."""
    for position, margin in zip(positions, least, strict=True):
        inside = any(w.low <= position <= w.high for w in found)
        if (inside and margin < -NOISE) or (not inside and margin > NOISE):
            return float(position), float(margin)
    return None


def random_site(rng: random.Random) -> tuple[Site, float, Limits]:
    thickness = rng.choice([19.05, rng.uniform(13.0, 30.0)])
    width = rng.uniform(25.0, 90.0)
    shoulder = 0.25 * thickness / math.sin(math.radians(15.0)) * rng.uniform(0.8, 1.0)
    site = corner(
        width,
        mitre=rng.choice([15.0, 22.5, 30.0, 45.0, 45.0, 60.0]),
        thickness=thickness,
        rebate=rng.choice([0.0, rng.uniform(5.0, 0.4 * width)]),
        radius=rng.uniform(3.2, 5.5),
        shoulder=shoulder,
        length=shoulder + rng.uniform(6.0, 20.0),
    )
    limits = Limits(show_wall=rng.uniform(0.5, 4.0), tip_cover=rng.uniform(1.0, 4.0))
    return site, float(rng.choice([0, 0, rng.randint(1, 30)])), limits


@pytest.mark.parametrize("shard", range(4))
def test_no_sampled_position_contradicts_the_windows(shard: int) -> None:
    open_, several = 0, 0
    for number in range(20):
        site, swing, limits = random_site(random.Random(f"windows {shard} {number}"))
        found = windows(site, swing, limits)
        fault = contradiction(found, *sampled(site, swing, limits))
        assert fault is None, f"{shard} {number}: {fault} is not as {found} say"
        for window in found:
            assert 0.0 <= window.low <= window.position <= window.high <= site.reach[1] + 1e-9
        open_ += bool(found)
        several += len(found) > 1
    assert 3 <= open_, "the sites are to be of both kinds"


@pytest.mark.parametrize("width", [round(35.25 + 0.1 * i, 2) for i in range(10)])
def test_a_window_narrower_than_the_grid_is_found(width: float) -> None:
    """Between two bad grid points may lie a good position: a tight place, but no lost case."""
    site, limits = corner(width), Limits()
    fault = contradiction(windows(site, 15.0, limits), *sampled(site, 15.0, limits))
    assert fault is None


@pytest.mark.parametrize("width", [35.45, 35.65, 35.85])
def test_a_layout_too_tight_for_a_pencil_is_open_but_not_wide(width: float) -> None:
    layout = lay_out(Bench(Limits(), "mm"), [corner(width)], [15.0], Shares())
    assert layout and layout.open
    assert not layout.wide(Limits())


def test_every_margin_is_convex_in_the_position() -> None:
    """The ground that windows() stands on: the mean of two margins is never below the middle's.

    So it is of the bounds, and so it is of the distances themselves, which large limits ask for.
    """
    refined = 0
    for number in range(12):
        site, swing, limits = random_site(random.Random(f"convex {number}"))
        positions = np.linspace(0.0, site.reach[1], 201)
        large = replace(limits, show_wall=900.0, hidden_wall=900.0, tip_cover=900.0)
        for some in (replace(limits, show_wall=0.01, hidden_wall=0.01, tip_cover=0.01), large):
            found = margins(site, positions, np.full(201, swing), some, exactly=True)
            values, alike = found.values, found.refined
            with np.errstate(invalid="ignore"):
                bend = values[:-2] + values[2:] - 2 * values[1:-1]
            same = (alike[:-2] == alike[1:-1]) & (alike[2:] == alike[1:-1])
            assert np.nanmin(np.where(np.isfinite(bend) & same, bend, 0.0)) > -1e-6
            refined += int((alike[:-2] & same).sum())
    assert refined > 1000


def test_no_swing_with_a_wide_window_is_dropped() -> None:
    swings = swings_up_to(30.0)
    kept_some = 0
    for number in range(5):
        site, _, limits = random_site(random.Random(f"swings {number}"))
        need = 2 * limits.tolerance
        kept = list(compress(swings, promising([site], swings, need, limits)))
        for swing in swings:
            best = widest(windows(site, swing, limits))
            if best is not None and best.high - best.low >= need:
                assert swing in kept, f"{number}: {swing} has {best}"
                kept_some += 1
    assert kept_some > 10


def test_the_layout_takes_the_smallest_swing_by_fives_that_serves() -> None:
    site, limits = corner(38.1), Limits()
    layout = lay_out(Bench(limits, "mm"), [site], swings_up_to(30.0), Shares())
    assert layout and layout.wide(limits)

    def width(swing: float) -> float:
        best = widest(windows(site, swing, limits))
        return best.high - best.low if best else 0.0

    assert width(layout.swing) >= 2 * limits.tolerance
    assert layout.swing % 5 == 0
    assert max(width(b) for b in range(0, int(layout.swing), 5)) < 2 * limits.tolerance
    window = layout.windows[0]
    assert window.low + limits.tolerance <= window.position <= window.high - limits.tolerance
    # By whole degrees only where no five serves.
    assert swings_up_to(12.0)[:4] == [0.0, 5.0, 10.0, 1.0]


def test_an_end_of_a_window_is_where_its_wall_is_at_the_limit() -> None:
    site, limits = corner(63.5), Limits()
    for swing in (0.0, 15.0):
        (window,) = windows(site, swing, limits)
        for at, binds in ((window.low, window.low_binds), (window.high, window.high_binds)):
            found = margins(site, np.array([at]), np.array([swing]), limits)
            least = found.values[0]
            assert 0.0 <= least.min() < 1e-4
            assert found.values[0, found.bounds.index(binds)] < 1e-4


def test_pockets_that_fit_nowhere_stand_at_the_least_bad_place() -> None:
    site, limits = corner(38.1), Limits()
    assert not windows(site, 0.0, limits)
    (window,) = shut(Bench(limits, "mm"), site, 0.0, Shares()).windows
    _, least = sampled(site, 0.0, limits)
    assert window.low > window.high
    # Looked for by steps of less than a millimetre; no wall changes faster than the place does.
    assert window.high - window.low == pytest.approx(least.max(), abs=0.5)


def test_the_axis_has_slope_and_swing_and_leaves_the_joint_at_mid_thickness() -> None:
    site = corner(63.5)
    normal, up = site.board.face(RIGHT).plane.normal, site.board.face(TOP).plane.normal
    for swing in (-20.0, 0.0, 15.0, 40.0):
        back = site.back(swing)
        assert math.degrees(math.asin(dot(back, up))) == pytest.approx(15.0)
        flat = math.cos(math.radians(15.0))
        assert dot(back, normal) == pytest.approx(-flat * math.cos(math.radians(swing)))
        assert dot(back, site.line) == pytest.approx(flat * math.sin(math.radians(swing)))
    exit = site.exit(20.0)
    assert site.board.face(RIGHT).plane.gap(exit) == pytest.approx(0.0, abs=1e-9)
    assert site.board.face(BOTTOM).plane.gap(exit) == pytest.approx(19.05 / 2)
    # The datum is the outside corner; the mitre is as long as the rail is wide over its cosine.
    assert math.dist(site.exit(0.0), (700.0, 0.0, 19.05 / 2)) == pytest.approx(0.0, abs=1e-9)
    assert site.reach[1] == pytest.approx(63.5 * math.sqrt(2))


def test_shares_of_a_window_are_equal_and_a_pitch_apart() -> None:
    site, limits = corner(120.0), Limits()
    (window,) = windows(site, 15.0, limits)
    step = pitch(site, 15.0, limits)
    # Parallel axes: 2 R + between across them, so more along a mitre that they cross at a slant.
    flat = math.cos(math.radians(15.0)) * math.sin(math.radians(15.0))
    assert step == pytest.approx((2 * 4.7625 + 3.0) / math.sqrt(1 - flat**2))
    line = Line(site, 15.0, [window], step, limits)
    ((places, _),) = Shares(3).wishes(line)
    part = (window.high - window.low - 2 * step) / 3
    assert places == pytest.approx(
        [window.low + part / 2 + i * (part + step) for i in range(3)], abs=1e-9
    )
    assert list(Shares(40).wishes(line)) == []
    layout = lay_out(Bench(limits, "mm"), [site], [15.0], Shares(3))
    assert layout and (layout.windows[0].low, layout.windows[-1].high) == (window.low, window.high)
    for a, b in zip(layout.windows, layout.windows[1:], strict=False):
        assert b.low - a.high == pytest.approx(step)


def test_what_is_plainly_far_off_need_not_be_measured(monkeypatch: pytest.MonkeyPatch) -> None:
    """Measured all the same, every window ends where it does without; on a joint so long that
    other pockets lie between the places that are looked at first."""
    changes = "    changes: {every joint: {pockets: 14, swing: 3}}\n"
    text = designs()["panel"].starter.replace("48 x", "160 x") + changes
    recipe = parse_recipe(text, "crowd.yaml", piece_models())
    bores = plan(recipe).bores
    monkeypatch.setattr(
        "slantbore.models.placing.windows.balls_apart",
        lambda a, b: np.full((len(a), len(b)), -np.inf),
    )
    windows = [bore.window for bore in bores]
    assert windows == [bore.window for bore in plan(recipe).bores]
    assert len({window.low for window in windows}) > 14
