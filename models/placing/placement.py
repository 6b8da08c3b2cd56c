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
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..maths.clearance import Rods, clipped, padded, rod_distances
from ..maths.geometry import Array, Plane, Vec, along, cross, dot, unit
from ..maths.walls import Blank, most_targets, walls
from ..piece.board import OPPOSITE, Board, Side
from ..piece.bodies import Body, Stretch, driver_rods, rods_of, screw_rods, sheath
from ..piece.convex import Convex, rod_gaps
from ..piece.project import (
    END_OF_JOINT,
    NEXT_POCKET,
    OTHER_BORE,
    Bore,
    Bound,
    Drill,
    Limits,
    PocketId,
    Screw,
    Window,
)

_Wall = tuple[int, int, float, Bound]
ANY_POCKET = PocketId("")

_GRID = 1.5  # mm between the positions tried first
_MOST = 96  # of them, on a long joint
_CLOSE = 1e-5  # mm, how exactly a window's end is found
_PARTS = 16  # a bracket is cut into so many at a time: one vectorised question instead of four


@dataclass(frozen=True)
class Trial:
    """A body of a bore that may sit anywhere on a joint.

    Attributes:
        body: which.
        stretch: along the axis from the exit.
        shift: from the bore's axis to the body's, at the ends of a slot (mm).
        mating: whether it is in the mate, not in the bored board.
        encloses: whether it stands for a slotted pilot in distances to cuts and other bores
            (True), only in walls (False), or in both (None).
    """

    body: Body
    stretch: Stretch
    shift: Vec = (0.0, 0.0, 0.0)
    mating: bool = False
    encloses: bool | None = None


@dataclass(frozen=True)
class Site:
    """A joint's line in the bored board, along which bores may sit.

            e  (positions, from the datum)
            ^
            |  ______________________
            | /         m
            |/ ------->          bored board, seen on its pocket face
            /________________________
        joint face

    Attributes:
        board: the bored board, placed.
        mate: the mating board, placed.
        joint_face: side of `board` that meets the mate.
        pocket_face: side of `board` that the drill enters.
        mate_face: side of `mate` that is met.
        toward: rough direction (board frame) in which positions grow from the datum.
        datum: what positions are measured from, for print.
        drill: stepped drill.
        screw: screw.
        shoulder: distance from exit to shoulder, mm.
        exit_depth: of the exit below the pocket face, mm; half the board's size there if None.
        beside: rods of other joints in the bored board, in its frame, to keep clear of.
        ahead: rods of other joints in the mate, in the bored board's frame.
        around: convex pieces of other boards near the line, each with its board's role, in the
            bored board's frame.
        driven_past: pieces of boards that the driver finds there, likewise.
        slot: how much longer than wide the pilots may have to be, mm.
        slot_along: unit vector in the joint plane that slots run along.
    """

    board: Board
    mate: Board
    joint_face: Side
    pocket_face: Side
    mate_face: Side
    toward: Vec
    datum: str
    drill: Drill
    screw: Screw
    shoulder: float
    exit_depth: float | None = None
    beside: Rods | None = None
    ahead: Rods | None = None
    around: tuple[tuple[str, Convex], ...] = ()
    driven_past: tuple[tuple[str, Convex], ...] = ()
    slot: float = 0.0
    slot_along: Vec = (0.0, 0.0, 0.0)

    @cached_property
    def _planes(self) -> tuple[Plane, Plane]:
        return self.board.face(self.joint_face).plane, self.board.face(self.pocket_face).plane

    @cached_property
    def line(self) -> Vec:
        """Unit direction e of the joint's line, board frame."""
        joint, pocket = self._planes
        e = unit(cross(joint.normal, pocket.normal))
        return e if dot(e, self.toward) >= 0 else (-e[0], -e[1], -e[2])

    @cached_property
    def depth(self) -> float:
        """Depth of the exit below the pocket face, mm."""
        if self.exit_depth is not None:
            return self.exit_depth
        pocket = self._planes[1]
        under = self.board.face(OPPOSITE[self.pocket_face]).plane
        return (pocket.offset + under.offset) / 2

    @cached_property
    def reach(self) -> tuple[Vec, float]:
        """Start of the joint's line (the datum) and its length (mm), where both boards' faces meet.

        Raises:
            ValueError: the two faces share nothing on that line.
        """
        joint, pocket = self._planes
        n, p = joint.normal, pocket.normal
        c = dot(n, p)
        a, b = joint.offset, pocket.offset - self.depth
        # The point on both planes that is nearest the origin.
        foot_n, foot_p = (a - c * b) / (1 - c * c), (b - c * a) / (1 - c * c)
        foot = along(along((0.0, 0.0, 0.0), n, foot_n), p, foot_p)
        low, high = -math.inf, math.inf
        fences = [f.plane for f in self.board.faces if f.side != self.joint_face]
        fences += [self.from_mate(f.plane) for f in self.mate.faces if f.side != self.mate_face]
        for plane in fences:
            lean, gap = dot(plane.normal, self.line), plane.gap(foot)
            if lean > 1e-9:
                high = min(high, gap / lean)
            elif lean < -1e-9:
                low = max(low, gap / lean)
            elif gap < -1e-6:
                high = low  # this fence shuts out the whole line
        if low >= high:
            raise ValueError(
                f"{self.board.name} and {self.mate.name} do not meet where the screws would leave"
            )
        return along(foot, self.line, low), high - low

    def from_mate(self, plane: Plane) -> Plane:
        """A plane of the mate in the bored board's frame."""
        world = self.mate.pose.plane(plane)
        pose = self.board.pose
        normal = pose.local_direction(world.normal)
        return Plane(normal, world.offset - dot(world.normal, pose.origin))

    def back(self, swing: float) -> Vec:
        """Direction of the axis from the exit up to the pocket face, board frame.

        Args:
            swing: degrees, positive turns the pocket toward growing positions.
        """
        joint, pocket = self._planes
        n, p = joint.normal, pocket.normal
        c = dot(n, p)
        m = unit((c * p[0] - n[0], c * p[1] - n[1], c * p[2] - n[2]))
        t, b = math.radians(self.drill.slope), math.radians(swing)
        e = self.line
        plan = along(along((0.0, 0.0, 0.0), m, math.cos(b)), e, math.sin(b))
        return along(along((0.0, 0.0, 0.0), plan, math.cos(t)), p, math.sin(t))

    def exit(self, position: float) -> Vec:
        """The exit at a position along the joint (mm), board frame."""
        return along(self.reach[0], self.line, position)

    @cached_property
    def woods(self) -> tuple[Blank, Blank]:
        """The bored board and the mate, in the bored board's frame."""
        mate = self.mate.wood
        faces = tuple(self.from_mate(plane) for plane in mate.faces)
        cuts = tuple(tuple(self.from_mate(plane) for plane in cut) for cut in mate.cuts)
        return self.board.wood, Blank(faces, cuts)

    def questions(self, limits: Limits) -> tuple[list[Trial], list[_Wall]]:
        """What must keep clear of what, for a bore anywhere on this joint.

        The bodies; per wall its body, the column of its face or cut in `walls` of the two woods,
        the limit and a label.
        """
        trial = self.bore(ANY_POCKET, 0.0, Window(self.datum, 0.0, 0.0, 0.0))
        board, mate = self.board, self.mate
        own = rods_of(trial, board)
        pilot, screw = own["pilot"], own["screw"]
        bodies = [Trial("counterbore", own["counterbore"])]
        if self.slot > 0:
            bodies += [Trial("pilot", pilot, shift, encloses=False) for shift in trial.pilot_shifts]
            bodies.append(Trial("pilot", sheath(trial, pilot), encloses=True))
        else:
            thicker: Body = "screw" if screw > pilot else "pilot"
            bodies.append(Trial(thicker, max(pilot, screw)))
        for body, stretch in rods_of(trial, mate, as_mate=True).items():
            bodies.append(Trial(body, stretch, mating=True))
        found: list[_Wall] = []
        first_cut = max(len(board.faces), len(mate.faces))
        for which, part in enumerate(bodies):
            name, mating = part.body, part.mating
            target = mate if mating else board
            leaves = [self.mate_face] if mating else [self.pocket_face]
            if name != "counterbore" and not mating:
                leaves.append(self.joint_face)
            whose = mate.role if mating else ""
            for column, face in enumerate(target.faces):
                if face.side not in leaves and part.encloses is not True:
                    need = limits.tip_cover if mating else limits.wall(face.seen)
                    found.append((which, column, need, Bound(name, face.name, whose)))
            for index, cut in enumerate(target.cuts if part.encloses is not False else ()):
                need = limits.tip_cover if mating else limits.wall(cut.seen)
                found.append((which, first_cut + index, need, Bound(name, cut.name, whose)))
        return bodies, found

    def in_the_way(self) -> Iterator[tuple[str, Stretch, str, Convex]]:
        """What keeps clear of which piece of another board.

        The screw of every board; of one that stands there already, pocket and driver as well.

        Yields:
            What it is, its stretch, the other board's role and the piece.
        """
        trial = self.bore(ANY_POCKET, 0.0, Window(self.datum, 0.0, 0.0, 0.0))
        for role, piece in self.around:
            for stretch in screw_rods(self.screw, self.shoulder):
                yield "screw", stretch, role, piece
        for role, piece in self.driven_past:
            yield "pocket", rods_of(trial, self.board)["counterbore"], role, piece
            for stretch in driver_rods(trial, self.board).values():
                yield "driver", stretch, role, piece

    def bore(self, pocket: PocketId, swing: float, window: Window) -> Bore:
        """The bore at the window's position."""
        return Bore(
            pocket,
            self.board.name,
            self.pocket_face,
            self.joint_face,
            self.mate.name,
            self.mate_face,
            self.exit(window.position),
            self.back(swing),
            self.drill.slope,
            swing,
            self.shoulder,
            self.drill,
            self.screw,
            window,
            slot=self.slot,
            slot_along=self.slot_along,
        )


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
    site: Site, positions: Array, swings: Array, limits: Limits, *, exactly: bool = False
) -> Margins:
    """Every wall less its limit, for trial bores.

    Args:
        site: the joint.
        positions: (N,) mm from the datum.
        swings: (N,) degrees.
        limits: wood that must stay.
        exactly: whether a wall that lacks is told exactly; else only that it lacks.
    """
    count = len(positions)
    turns, where = np.unique(swings, return_inverse=True)
    axes = np.array([site.back(float(b)) for b in turns])[where]
    exits = np.array(site.reach[0]) + positions[:, None] * np.array(site.line)

    bodies, questions = site.questions(limits)
    # Those bodies for every trial, body by body.
    low, high, radius = np.repeat(np.array([part.stretch for part in bodies]).T, count, axis=1)
    shifts = np.repeat(np.array([part.shift for part in bodies]), count, axis=0)
    times = (len(bodies), 1)
    rods = Rods(np.tile(exits, times) + shifts, np.tile(axes, times), low, high, radius)
    whose = np.repeat([int(part.mating) for part in bodies], count)

    asked = np.full((len(bodies), sum(most_targets(site.woods))), -np.inf)
    for body, column, needed, _ in questions:
        # The two rods at a slot's ends bound its walls, but they do not fill it.
        if bodies[body].encloses is not False:
            asked[body, column] = needed
    found = walls(rods, site.woods, whose, np.repeat(asked, count, axis=0), decide=not exactly)
    gaps = found.gaps.reshape(len(bodies), count, -1)
    exact = found.exact.reshape(gaps.shape)
    values = [gaps[body, :, column] - needed for body, column, needed, _ in questions]
    refined = [exact[body, :, column] for body, column, _, _ in questions]
    bounds = [bound for *_, bound in questions]
    hulls = [array[whose] for array in padded([wood.faces for wood in site.woods])]
    for others, mating in ((site.beside, False), (site.ahead, True)):
        if others is None or not len(others):
            continue
        which = [i for i, b in enumerate(bodies) if b.mating == mating and b.encloses is not False]
        rows = np.flatnonzero(np.isin(np.arange(len(rods)) // count, which))
        mine = clipped(rods.take(rows), *(array[rows] for array in hulls))
        first, second = np.divmod(np.arange(len(mine) * len(others)), len(others))
        gap, _ = rod_distances(mine.take(first), others.take(second))
        # The other pocket may be off by a pencil line as well.
        least = gap.reshape(len(which), count, len(others)) - limits.between - limits.tolerance
        for near in np.moveaxis(least, 1, 2).reshape(-1, count):
            values.append(near)
            refined.append(np.zeros(count, dtype=bool))
            bounds.append(OTHER_BORE)
    for bound, gap in _other_boards(site, exits, axes):
        values.append(gap)
        refined.append(np.zeros(count, dtype=bool))
        bounds.append(bound)
    return Margins(np.stack(values, axis=1), tuple(bounds), np.stack(refined, axis=1))


def _other_boards(site: Site, exits: Array, axes: Array) -> Iterator[tuple[Bound, Array]]:
    """How far trial bores (N, 3), (N, 3) are from the boards that are no part of their joint."""
    for name, stretch, role, piece in site.in_the_way():
        low, high, radius = np.repeat(np.array(stretch)[:, None], len(exits), axis=1)
        yield Bound(name, "", role), rod_gaps(Rods(exits, axes, low, high, radius), piece)


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
    cells = np.flatnonzero(_may_dip(values, found.refined) | _may_open(values))
    if len(cells):
        steps = np.linspace(0.0, 1.0, 32, endpoint=False)[1:]
        extra = (grid[cells, None] + (grid[cells + 1] - grid[cells])[:, None] * steps).ravel()
        order = np.argsort(np.concatenate([grid, extra]), kind="stable")
        values = np.concatenate([values, tried(extra).values])[order]
        grid = np.concatenate([grid, extra])[order]

    fine = values.min(axis=1) >= 0
    edges = np.flatnonzero(fine[:-1] != fine[1:])
    good = np.where(fine[edges], grid[edges], grid[edges + 1])
    bad = np.where(fine[edges], grid[edges + 1], grid[edges])
    kept, lost = values[np.where(fine[edges], [edges, edges + 1], [edges + 1, edges])]
    binds = lost.argmin(axis=1)
    parts = np.linspace(0.0, 1.0, _PARTS + 1)[1:]
    row = np.arange(len(edges))
    while len(edges) and float(np.max(np.abs(good - bad))) > _CLOSE:
        # Even parts, and two places on either side of where a straight wall would be used up.
        size = np.maximum(np.abs(bad - good), _CLOSE)
        # Of the wall that binds: another may be near its limit all along the joint.
        spare, lack = kept[row, binds], lost[row, binds]
        used = np.clip(spare / np.maximum(spare - lack, 1e-30), 0.0, 1.0)
        beside = np.clip(used[:, None] + _CLOSE / size[:, None] * np.array([-0.4, 0.4]), 0.0, 1.0)
        shares = np.sort(np.hstack([np.tile(parts, (len(edges), 1)), beside]), axis=1)
        trial = good[:, None] + (bad - good)[:, None] * shares
        at = tried(trial.ravel()).values.reshape(*trial.shape, -1)
        least = at.min(axis=2)
        failed = least < 0
        failed[:, -1] = True
        first = failed.argmax(axis=1)
        kept = np.where((first > 0)[:, None], at[row, first - 1], kept)
        good = np.where(first > 0, trial[row, first - 1], good)
        bad, lost = trial[row, first], at[row, first]
        binds = lost.argmin(axis=1)
    ends = [(float(g), found.bounds[b]) for g, b in zip(good, binds, strict=True)]
    if fine[0]:
        ends.insert(0, (0.0, END_OF_JOINT))
    if fine[-1]:
        ends.append((length, END_OF_JOINT))
    return [
        Window(site.datum, (low + high) / 2, low, high, low_binds, high_binds)
        for (low, low_binds), (high, high_binds) in zip(ends[::2], ends[1::2], strict=True)
    ]


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


def least_bad(site: Site, swing: float, limits: Limits) -> Window:
    """The position that comes nearest to keeping every limit, as a window that is empty.

    `high - low` is the worst wall's lack (negative), `low_binds` says which wall.
    """
    length = site.reach[1]
    grid = np.linspace(0.0, length, min(2 * _MOST, max(3, math.ceil(length / 0.5) + 1)))
    found = margins(site, grid, np.full(len(grid), swing), limits, exactly=True)
    least = found.values.min(axis=1)
    best = int(np.argmax(least))
    position, lack = float(grid[best]), float(least[best])
    why = found.bounds[int(found.values[best].argmin())]
    return Window(site.datum, position, position, position + min(lack, 0.0), why, why)


def empty(site: Site, swing: float, position: float, limits: Limits) -> Window:
    """An empty window at a place; `high - low` is the worst wall's lack there (negative)."""
    found = margins(site, np.array([position]), np.array([swing]), limits)
    worst = int(found.values[0].argmin())
    lack, why = min(float(found.values[0, worst]), -1e-6), found.bounds[worst]
    return Window(site.datum, position, position, position + lack, why, why)


def footprint(site: Site, swing: float) -> float:
    """What a pocket takes of the board's width along the joint (mm)."""
    return 2 * site.drill.counterbore_radius / _across(site, swing)


def pitch(site: Site, swing: float, limits: Limits) -> float:
    """Least distance between two equal bores side by side on one joint (mm).

    Their axes are parallel, so it is the distance across the axis that counts.
    """
    pilot = site.bore(ANY_POCKET, swing, Window(site.datum, 0.0, 0.0, 0.0)).pilot_radius
    widest = max(site.drill.counterbore_radius, pilot + site.slot / 2)
    return (2 * widest + limits.between) / _across(site, swing)


def _across(site: Site, swing: float) -> float:
    """Distance across the axis per distance along the joint."""
    c = dot(site.back(swing), site.line)
    return math.sqrt(1 - c * c)


def spread(window: Window, count: int, least_pitch: float) -> list[Window]:
    """Share one window among `count` bores so that each may move in its own part freely.

    Returns an empty list where they do not fit.
    """
    free = window.high - window.low - (count - 1) * least_pitch
    if free < 0:
        return []
    part = free / count
    shares = []
    for i in range(count):
        low = window.low + i * (part + least_pitch)
        shares.append(
            replace(
                window,
                position=low + part / 2,
                low=low,
                high=low + part,
                low_binds=window.low_binds if i == 0 else NEXT_POCKET,
                high_binds=window.high_binds if i == count - 1 else NEXT_POCKET,
            )
        )
    return shares


def widest(found: Sequence[Window]) -> Window | None:
    """The widest window."""
    return max(found, key=lambda w: w.high - w.low, default=None)


def promising_swings(
    site: Site, swings: Sequence[float], width: float, limits: Limits
) -> list[float]:
    """Those of the swings for which a window of a width (mm) is possible.

    A window of that width holds at least one point of a grid that fine; a narrower one may lie
    between two points that no single wall spoils. The rest are out; these are worth closing.
    """
    length = site.reach[1]
    count = max(3, math.ceil(length / max(width / 2, 0.5)) + 1)
    grid = np.linspace(0.0, length, count)
    positions = np.tile(grid, len(swings))
    turns = np.repeat(np.asarray(swings, dtype=float), count)
    values = margins(site, positions, turns, limits).values.reshape(len(swings), count, -1)
    possible = (values.min(axis=2) >= 0).any(axis=1) | _may_open(values).any(axis=1)
    return [swing for swing, may in zip(swings, possible, strict=True) if may]
