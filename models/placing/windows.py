"""Where a pocket may go: the windows of positions along a joint that keep every wall.

A bore slides along its joint without turning, so every wall is a convex function of the position
(the support of a convex body cut by a moving convex body is concave in the motion), and so is the
distance to any other bore or screw. Where a convex function is below its limit is one interval;
what is left are the windows. They are bracketed on a grid, with the bound that convexity gives
between grid points, and closed by repeated division.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ..maths.clearance import Rods, balls_apart, clipped, padded, rod_distances
from ..maths.geometry import Array, Ints
from ..maths.walls import most_targets, walls
from ..piece.convex import rod_gaps
from ..piece.project import END_OF_JOINT, OTHER_BORE, Bound, Limits, Window
from .site import Site, Trial

_GRID = 4.0  # mm between the positions tried first
_MOST = 64  # of them, on a long joint
_CLOSE = 1e-4  # mm, how exactly a window's end is found
_FEW = 5  # points of a joint that are looked at first
_AT_ONCE = 3  # ways that are closed without a second look
_WALLS = ("show_wall", "hidden_wall", "wander", "between")
_STRIDE = 5.0  # degrees between swings that are looked at
_LOOKS = 25  # points among which the least bad one is
_STEPS = 32  # parts of a stretch between two places of the grid that needs a closer look
_PARTS, _MORE = 24, 64  # of one that a window ends in: in one go, and each time after that
_BESIDE = (-1e-2, -1e-3, -0.9e-4, 0.05e-4)  # mm


@dataclass(frozen=True)
class Margins:
    """What is left over each limit, for a row of trial bores.

    Attributes:
        values: (N, C) wall less limit, mm.
        bounds: C, which wall each is.
        refined: (N, C) where a wall is the distance itself; else it is at most that.
    """

    values: Array
    bounds: tuple[Bound, ...]
    refined: NDArray[np.bool_]


def margins(
    site: Site,
    positions: Array,
    swings: Array,
    limits: Limits,
    *,
    exactly: bool = False,
    screws: tuple[Sequence[Site], Ints] | None = None,
) -> Margins:
    """Every wall less its limit, for trial bores.

    Args:
        site: the joint.
        positions: (N,) mm from the datum.
        swings: (N,) degrees.
        limits: wood that must stay.
        exactly: whether a wall that lacks is told exactly; else only that it lacks.
        screws: the joint with other screws or exits, and (N,) which of them each trial has.
    """
    count = len(positions)
    turns, where = np.unique(swings, return_inverse=True)
    axes = np.array([site.back(float(b)) for b in turns])[where]
    sites, which = screws or ((site,), np.zeros(count, dtype=np.intp))
    starts = np.array([one.reach[0] for one in sites])[which]
    exits = starts + positions[:, None] * np.array(site.line)

    bodies = site.trials
    # Those bodies for every trial, body by body.
    sizes = np.array([[(*part.stretch, *part.shift) for part in one.trials] for one in sites])
    sizes = np.moveaxis(sizes[which], 1, 0).reshape(-1, 6)
    low, high, radius = sizes[:, :3].T
    shifts = sizes[:, 3:]
    points = np.concatenate([exits] * len(bodies)) + shifts
    rods = Rods(points, np.concatenate([axes] * len(bodies)), low, high, radius)
    whose = np.repeat([int(part.mating) for part in bodies], count)

    questions = site.questions(limits)
    body, column = np.array([row[:2] for row in questions]).T
    needed, bounds = np.array([row[2] for row in questions]), [row[3] for row in questions]
    asked = np.full((len(bodies), sum(most_targets(site.woods))), -np.inf)
    asked[body, column] = needed
    # The two rods at a slot's ends bound its walls, but they do not fill it.
    asked[[part.encloses is False for part in bodies]] = -np.inf
    found = walls(rods, site.woods, whose, np.repeat(asked, count, axis=0), decide=not exactly)
    shape = len(bodies), count, -1
    values = found.gaps.reshape(shape)[body, :, column] - needed[:, None]
    refined = found.exact.reshape(shape)[body, :, column]
    others = [*_other_bores(site, rods, bodies, limits, 2 * _steps(positions))]
    others += _other_boards(sites, which, exits, axes)
    if others:
        values = np.concatenate([values, [gap for _, gap in others]])
        refined = np.concatenate([refined, np.zeros((len(others), count), dtype=bool)])
    return Margins(values.T, (*bounds, *(bound for bound, _ in others)), refined.T)


def _other_bores(
    site: Site, rods: Rods, bodies: Sequence[Trial], limits: Limits, far: Array
) -> Iterator[tuple[Bound, Array]]:
    """How far trial bores are from the rods of other joints, less what must be between.

    Args:
        site: the joint.
        rods: of the bodies, each for every trial.
        bodies: of a trial bore.
        limits: wood that must stay.
        far: (N,) what is plainly farther off than this from a trial is not measured, but counts as
            infinitely far (mm); two steps to the next trial, so that beside one that lacks all are.
    """
    between = limits.between + limits.tolerance
    count = len(rods) // len(bodies)
    for others, mating in ((site.beside, False), (site.ahead, True)):
        if others is None or not len(others):
            continue
        which = [i for i, b in enumerate(bodies) if b.mating == mating and b.encloses is not False]
        rows = np.flatnonzero(np.isin(np.arange(len(rods)) // count, which))
        hull = padded([site.woods[mating].faces])
        mine = clipped(rods.take(rows), *(array.repeat(len(rows), axis=0) for array in hull))
        # The other pocket may be off by a pencil line as well.
        reach = np.tile(far, len(which))[:, None]
        gap = np.full((len(mine), len(others)), np.inf)
        first, second = np.nonzero(balls_apart(mine, others) < between + reach)
        gap[first, second], _ = rod_distances(mine.take(first), others.take(second))
        least = gap.reshape(len(which), count, len(others)) - between
        for near in np.moveaxis(least, 1, 2).reshape(-1, count):
            yield OTHER_BORE, near


def _steps(positions: Array) -> Array:
    """From each of N places to the next other one, on the side where that is farther (mm)."""
    places, which = np.unique(positions, return_inverse=True)
    steps = np.diff(places, prepend=places[0], append=places[-1])
    found: Array = np.maximum(steps[:-1], steps[1:])[which]
    return found


def _other_boards(
    sites: Sequence[Site], which: Ints, exits: Array, axes: Array
) -> Iterator[tuple[Bound, Array]]:
    """How far trial bores (N, 3), (N, 3) are from the boards that are no part of their joint."""
    for rows in zip(*(site.in_the_way() for site in sites), strict=True):
        whats, _, role, piece = rows[0]
        low, high, radius = np.array([row[1] for row in rows])[which].T  # each (S, N)
        gaps = rod_gaps(Rods(exits, axes, low, high, radius), piece)
        yield from zip((Bound(what, "", role) for what in whats), gaps, strict=True)


def windows(site: Site, swing: float, limits: Limits) -> list[Window]:
    """All windows of positions along the joint at one swing, from the datum outward.

    Each window's position is its middle.
    """

    def tried(positions: Array) -> Margins:
        return margins(site, positions, np.full(len(positions), swing), limits)

    length = site.reach[1]
    grid = np.linspace(0.0, length, min(_MOST, max(4, math.ceil(length / _GRID) + 1)))
    found = tried(grid)
    values = found.values
    bad = values < 0
    spoiled = (bad[:-1] & bad[1:]).any(axis=1)  # by one wall, from end to end
    cells = np.flatnonzero((_may_dip(values, found.refined) & ~spoiled) | _may_open(values))
    steps = np.linspace(0.0, 1.0, _STEPS + 1)[1:-1]
    more = (grid[cells, None] + (grid[cells + 1] - grid[cells])[:, None] * steps).ravel()
    parts = _PARTS
    while len(more := np.concatenate([more, _about_ends(grid, values, parts)])):
        grid = np.concatenate([grid, more])
        order = np.argsort(grid, kind="stable")
        grid, values = grid[order], np.concatenate([values, tried(more).values])[order]
        more, parts = np.zeros(0), _MORE

    fine = values.min(axis=1) >= 0
    edges = np.flatnonzero(fine[:-1] != fine[1:])
    binds = values[np.where(fine[edges], edges + 1, edges)].argmin(axis=1)
    good = grid[np.where(fine[edges], edges, edges + 1)]
    ends = [(float(g), found.bounds[b]) for g, b in zip(good, binds, strict=True)]
    if fine[0]:
        ends.insert(0, (0.0, END_OF_JOINT))
    if fine[-1]:
        ends.append((length, END_OF_JOINT))
    return [
        Window(site.datum, (low + high) / 2, low, high, low_binds, high_binds)
        for (low, low_binds), (high, high_binds) in zip(ends[::2], ends[1::2], strict=True)
    ]


def _about_ends(grid: Array, values: Array, parts: int) -> Array:
    """More places between those (N,), with values (N, C), where a window ends in between.

    Even parts, and a few beside where the wall that binds would be used up were it straight. It is
    convex: its true end lies at most a little before that.
    """
    fine = values.min(axis=1) >= 0
    edges = np.flatnonzero((fine[:-1] != fine[1:]) & (np.diff(grid) > _CLOSE))
    inner, outer = (np.where(fine[edges] == side, edges, edges + 1) for side in (True, False))
    good, size = grid[inner, None], (grid[outer] - grid[inner])[:, None]
    binds = values[outer].argmin(axis=1)
    spare, lack = values[inner, binds, None], values[outer, binds, None]
    with np.errstate(invalid="ignore"):  # what is plainly far off was not measured
        used = np.nan_to_num(spare / np.maximum(spare - lack, 1e-30), nan=1.0)
    beside = np.clip(used + np.array(_BESIDE) / np.abs(size), 0.0, 1.0)
    even = np.broadcast_to(np.linspace(0.0, 1.0, parts + 1)[1:-1], (len(edges), parts - 1))
    return np.asarray((good + size * np.hstack([even, beside])).ravel())


def _may_open(values: Array) -> NDArray[np.bool_]:
    """Which of the N - 1 grid cells between two bad points might hold a good one.

    Where one convex column (N, C) is below zero at both ends, it is so all the way between.
    """
    bad = values < 0
    a, b = bad[..., :-1, :], bad[..., 1:, :]
    return np.asarray(a.any(axis=-1) & b.any(axis=-1) & ~(a & b).any(axis=-1))


def _may_dip(values: Array, refined: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which of the N - 1 even grid cells a convex column (N, C) might go below zero inside of.

    A convex function lies above the chords of the cells beside, prolonged into this one; where
    those two lines meet is the least it can be. A refined wall is the distance itself, one that is
    not is a bound of it: each is convex, but a chord from one to the other bounds neither.
    """
    a, b = values[:-1], values[1:]
    with np.errstate(invalid="ignore", divide="ignore"):
        step = np.diff(values, axis=0)
        fall = np.concatenate([np.full((1, step.shape[1]), -np.inf), step[:-1]])
        rise = np.concatenate([step[1:], np.full((1, step.shape[1]), np.inf)])
        u = np.clip((a - b + rise) / (rise - fall), 0.0, 1.0)
        # At the grid's ends one line is missing; the other alone bounds.
        u = np.where(np.isneginf(fall), 0.0, np.where(np.isposinf(rise), 1.0, u))
        left = np.where(np.isneginf(fall), -np.inf, a + fall * u)
        right = np.where(np.isposinf(rise), -np.inf, b - rise * (1 - u))
        least = np.fmax(left, right)
    mixed = refined[:-1] | refined[1:]
    dips = (a >= 0) & (b >= 0) & (mixed | ((least < 0) & (fall < 0) & (rise > 0)))
    return np.asarray(dips.any(axis=1))


def least_bad(site: Site, swing: float, limits: Limits) -> tuple[float, float]:
    """About where on a joint a pocket comes nearest to keeping every limit; give or take (mm)."""
    grid = np.linspace(0.0, site.reach[1], _LOOKS)
    found = margins(site, grid, np.full(_LOOKS, swing), limits)
    least = np.round(found.values.min(axis=1), 6)  # of places alike the first
    return float(grid[least.argmax()]), float(grid[1])


def empty(
    site: Site, swing: float, rows: Sequence[Sequence[float]], limits: Limits
) -> list[Window]:
    """An empty window at each place of the row of places that lacks the least.

    `high - low` is the worst wall's lack at a place (negative).
    """
    places = np.array(rows)  # (R, P)
    turns = np.full(places.size, swing)
    found = margins(site, places.ravel(), turns, limits, exactly=True)
    least = found.values.min(axis=1).reshape(places.shape)
    best = int(np.round(least.min(axis=1), 6).argmax())
    walls = found.values.argmin(axis=1).reshape(places.shape)[best]
    bounds = [found.bounds[wall] for wall in walls]
    lacks = np.minimum(least[best], -1e-6).tolist()
    return [
        Window(site.datum, place, place, place + lack, bound, bound)
        for place, lack, bound in zip(places[best].tolist(), lacks, bounds, strict=True)
    ]


def widest(found: Sequence[Window]) -> Window | None:
    """The widest window."""
    return max(found, key=lambda w: w.high - w.low, default=None)


def promising(
    sites: Sequence[Site], swings: Sequence[float], width: float, limits: Limits
) -> list[bool]:
    """For which ways, swing by swing and site by site, a window of a width (mm) is possible.

    The sites are one joint with one screw or another. A window of that width holds at least one
    point of a grid that fine; a narrower one, or any on a long joint, may lie between two points
    that no single wall spoils. The rest are out; these are worth closing. Most that are out are so
    on a few points already: a single wall spoils them from end to end. Of a single swing a few
    points are enough, and what little the two ends of the joint leave is closed at once.
    """
    longest = max(site.reach[1] for site in sites)
    fine = min(_MOST, max(3, math.ceil(longest / max(width / 2, 0.5)) + 1))
    # Points, and how many ways are worth closing without a look at so many.
    looks = ((_FEW, 0), (fine, 0))
    if len(swings) == 1:
        looks = ((2, 1), (_FEW, _AT_ONCE if len(sites) > 1 else 0))
    turns = np.repeat(np.asarray(swings, dtype=float), len(sites))
    which = np.tile(np.arange(len(sites)), len(swings))
    still, kept = np.arange(len(which)), np.zeros(len(which), dtype=bool)
    for count, few in looks:
        if len(still) > few:
            good, may = _looked_at(sites, which[still], turns[still], count, limits)
            kept[still[good]] = True
            still = still[may & ~good]
    kept[still] = True
    found: list[bool] = kept.tolist()
    return found


def _looked_at(
    sites: Sequence[Site], which: Ints, turns: Array, count: int, limits: Limits
) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Of the ways, on so many points of the joint: which have a good one; which may have one."""
    grids = np.linspace(0.0, [site.reach[1] for site in sites], count).T
    asked = (grids[which].ravel(), np.repeat(turns, count))
    found = margins(sites[0], *asked, limits, screws=(sites, np.repeat(which, count)))
    values = found.values.reshape(len(which), count, -1)
    good: NDArray[np.bool_] = (values.min(axis=2) >= 0).any(axis=1)
    return good, np.asarray(_may_open(values).any(axis=1))


def hopeless(site: Site, swings: Sequence[float], limits: Limits, off: float) -> bool:
    """Whether at any swing from the least to the largest no place on a joint serves.

    Told by a few swings and places.

    Args:
        site: the joint.
        swings: degrees.
        limits: wood that must stay.
        off: how far the bore may be moved, or its wide part be set back, besides (mm).
    """
    low, high = min(swings), max(swings)
    turns = np.linspace(low, high, 1 + math.ceil((high - low) / _STRIDE))
    # To turn about the exit moves no point of the bore farther than its distance from there.
    turn = math.radians((high - low) / (2 * max(len(turns) - 1, 1)))
    here, there = off + turn * site.trial.run_out(site.board), off + turn * site.screw.length
    less = replace(limits, tip_cover=limits.tip_cover - there)
    less = replace(less, **{key: getattr(limits, key) - here for key in _WALLS})
    grid = np.linspace(0.0, site.reach[1], _FEW)
    asked = (np.tile(grid, len(turns)), np.repeat(turns, _FEW))
    found = margins(site, *asked, less)
    walls = [bool(bound.face) for bound in found.bounds]  # other boards have no limit to lessen
    values = found.values[:, walls].reshape(len(turns), _FEW, -1)
    good = (values.min(axis=2) >= 0).any()
    return not (good or _may_open(values).any())
