"""From an area or a slot to the cutter's path: inward rings, ramps down, tabs, ramped pockets.

Offsets of outlines are shapely's; what is ours is how the cutter goes down and which way round.
The cutter climbs: counter-clockwise inside, clockwise round the outside, the spindle turning
clockwise as seen from above.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from shapely.geometry import LinearRing, MultiPolygon, Polygon
from shapely.geometry.polygon import orient

from ...models.machine.router import Cutter, Machine
from .moves import Move, Point3

Point = tuple[float, float]
_LAP = 0.3  # mm that a ring is closed beyond its start
_SAME = 1e-6
HAIR = 0.005  # mm; what is just as wide as the cutter keeps its middle line
SCALLOP = 0.05  # mm that a smaller ball leaves between passes: common practice, no source
TABS = 4  # that hold a part: common practice, no source
_CORNER = 0.3  # turn of an outline that is a corner of it, radians


@dataclass(frozen=True)
class TooLarge(Exception):
    """A cutter does not go into what it should cut: how wide that is (mm).

    Nor does one that may not go straight down, where there is no room for a ramp; then it is as
    wide as the cutter or wider.
    """

    room: float


def levels(depth: float, cutter: Cutter) -> list[float]:
    """Depths of the passes, all as deep and none deeper than the cutter's, below zero (mm)."""
    count = max(1, math.ceil(depth / cutter.step_down - 1e-9))
    return [-depth * (i + 1) / count for i in range(count)]


def cleared(area: Polygon, depth: float, cutter: Cutter, machine: Machine) -> Iterator[Move]:
    """Clear an area to a depth, from the inside outward, pass by pass.

    Raises:
        TooLarge: the cutter does not go into it anywhere.
    """
    rings = list(_rings(area, cutter))
    if not rings:
        raise TooLarge(2 * inner_radius(area))
    for ring in rings:
        yield from _to(ring[0], machine)
        yield from _down_along(ring, levels(depth, cutter), cutter, machine)
        yield from _away(ring[0], machine)


def _rings(area: Polygon, cutter: Cutter) -> Iterator[list[Point]]:
    """Rings from the innermost to the one along the wall, counter-clockwise."""
    rows: list[list[list[Point]]] = []
    inset = cutter.radius
    while True:
        left = area.buffer(-(inset - HAIR), join_style="mitre", mitre_limit=2.0)
        parts = _parts(left)
        if not parts:
            break
        rows.append([_points(part) for part in parts])
        rows[-1] += [_points(Polygon(hole)) for part in parts for hole in part.interiors]
        inset += cutter.step_over
    for row in reversed(rows):
        yield from row


def _parts(shape: Polygon | MultiPolygon) -> list[Polygon]:
    if shape.is_empty:
        return []
    return list(shape.geoms) if isinstance(shape, MultiPolygon) else [shape]


def _points(shape: Polygon, *, left: bool = True) -> list[Point]:
    ring = orient(shape, 1.0 if left else -1.0).exterior
    return [(x, y) for x, y in list(ring.coords)[:-1]]


def inner_radius(area: Polygon) -> float:
    """Half the width of the widest place of an area, to a thousandth of a mm."""
    low, high = 0.0, 1000.0
    while high - low > 0.0005:
        middle = (low + high) / 2
        low, high = (low, middle) if area.buffer(-middle).is_empty else (middle, high)
    return high


def _to(at: Point, machine: Machine) -> Iterator[Move]:
    yield Move((*at, machine.safe), "rapid")


def _away(at: Point, machine: Machine) -> Iterator[Move]:
    yield Move((*at, machine.safe), "rapid")


def _down_along(
    ring: Sequence[Point], depths: Sequence[float], cutter: Cutter, machine: Machine
) -> Iterator[Move]:
    """Down along a ring, no steeper than the machine's ramp, then once round at the lowest level.

    The way down to a level takes what the way down to the one above it left.
    """
    length = LinearRing(ring).length if len(ring) > 2 else 0.0
    if length < 0.5 or (length < math.pi * cutter.radius and not cutter.centre):
        if not cutter.centre:
            raise TooLarge(2 * cutter.radius)
        # hardly a ring: straight down
        yield from (Move((*ring[0], level), "plunge") for level in depths)
        return
    yield Move((*ring[0], 0.0), "plunge")
    slope = math.tan(math.radians(machine.ramp))
    closed = [*ring, ring[0]]
    for above, level in pairwise([0.0, *depths]):
        laps = max(1, math.ceil((above - level) / (slope * length)))
        gone = 0.0
        for _ in range(laps):
            for a, b in pairwise(closed):
                gone += math.dist(a, b)
                share = min(1.0, gone / (laps * length))
                yield Move((*b, above + (level - above) * share), "feed")
    for b in closed[1:]:
        yield Move((*b, depths[-1]), "feed")


def bored(
    at: Point, radius: float, depth: float, cutter: Cutter, machine: Machine
) -> Iterator[Move]:
    """A round hole: straight down with a drill of its size, else round and down.

    Raises:
        TooLarge: the cutter is wider than the hole.
    """
    if cutter.radius > radius + 1e-3:
        raise TooLarge(2 * radius)
    if cutter.form == "drill" or cutter.radius > radius - 1e-3:
        if not cutter.centre:
            raise TooLarge(2 * radius)
        yield from _to(at, machine)
        for level in levels(depth, cutter):
            yield Move((*at, level), "plunge")
            yield Move((*at, 0.5), "plunge")  # clear the chips
        yield from _away(at, machine)
        return
    count = 48
    turns = [2 * math.pi * i / count for i in range(count)]
    disc = Polygon([(at[0] + radius * math.cos(a), at[1] + radius * math.sin(a)) for a in turns])
    yield from cleared(disc, depth, cutter, machine)


def around(shape: Polygon, radius: float) -> Polygon:
    """Where the middle of a cutter goes that cuts a part free."""
    wider: Polygon = shape.buffer(radius, join_style="mitre", mitre_limit=3.0)
    return wider


def outline(
    shape: Polygon, thick: float, cutter: Cutter, machine: Machine, tabs: int = TABS
) -> Iterator[Move]:
    """Cut a part free along its outside, held by tabs or by an onion skin."""
    ring = _points(around(shape, cutter.radius), left=False)
    depth = thick - machine.onion if machine.onion else thick + machine.spoil
    held = min(0.0, machine.tab[1] - thick)
    depths = levels(depth, cutter)
    free = [level for level in depths if machine.onion or level >= held - _SAME]
    yield from _to(ring[0], machine)
    if free:
        yield from _down_along(ring, free, cutter, machine)
    for above, level in pairwise([0.0, *depths][len(free) :]):
        yield from _over_tabs(ring, above, level, held, cutter, machine, tabs)
    yield from _away(ring[0], machine)


def _tab_run(cutter: Cutter, machine: Machine, deep: float) -> float:
    """How far before a tab a cutter that does not cut at its centre rises to it (mm)."""
    return 0.0 if cutter.centre else deep / math.tan(math.radians(machine.ramp))


def tab_length(cutter: Cutter, machine: Machine) -> float:
    """How much of the way round a part its tabs take, with what a round cutter leaves (mm)."""
    run = _tab_run(cutter, machine, machine.tab[1] + machine.spoil)
    return TABS * (machine.tab[0] + 2 * cutter.radius + 2 * run)


def _tab_places(ring: Sequence[Point], room: float, tabs: int) -> list[float]:
    """Where along a ring tabs stand: evenly, but so far from its corners, where it can (mm)."""
    ends, gone = [0.0], 0.0  # a ring begins at a corner, if it has any
    for before, here, after in zip(ring, [*ring[1:], ring[0]], [*ring[2:], *ring[:2]], strict=True):
        gone += math.dist(before, here)
        ways = (math.atan2(b[1] - a[1], b[0] - a[0]) for a, b in ((before, here), (here, after)))
        if abs(math.remainder(next(ways) - next(ways), math.tau)) > _CORNER:
            ends.append(gone)
    wishes = [gone * (i + 0.5) / tabs for i in range(tabs)]
    sides = [(a + room, b - room) for a, b in pairwise([*ends, gone]) if b - a > 2 * room]
    if not sides:
        return wishes
    return [min((max(a, min(b, w)) for a, b in sides), key=lambda at: abs(at - w)) for w in wishes]


def _over_tabs(
    ring: Sequence[Point], above: float, level: float, held: float,
    cutter: Cutter, machine: Machine, tabs: int,
) -> Iterator[Move]:  # fmt: skip
    """Once round at a level, up over each tab; the tabs stand evenly, none at a corner."""
    closed = LinearRing(ring)
    length = closed.length
    half = machine.tab[0] / 2 + cutter.radius
    middles = _tab_places(ring, half + cutter.radius, tabs)
    places = {0.0, length}
    for middle in middles:
        places |= {max(0.0, middle - half), min(length, middle + half)}
    gone = 0.0
    for a, b in zip([*ring], [*ring[1:], ring[0]], strict=True):
        gone += math.dist(a, b)
        places.add(min(gone, length))
    slope = math.tan(math.radians(machine.ramp))
    down = min(length, (above - level) / slope)
    # A cutter that does not cut at its centre comes off a tab on a ramp.
    run = _tab_run(cutter, machine, held - level)
    places |= {down, *(m + side * (half + run) for m in middles for side in (-1, 1))}
    stops = sorted(place for place in places if 0.0 <= place <= length)

    def height(place: float, over: bool, lap: int) -> float:
        ramp = level if lap else above + (level - above) * min(1.0, place / down)
        off = 0.0 if over else min((abs(place - m) for m in middles), default=length) - half
        return max(ramp, held - slope * off if over or off < run - _SAME else level)

    yield Move((*ring[0], above), "plunge")
    for lap in (0, 1):  # the second lap takes what the ramp left
        for here, stop in pairwise(stops):
            over = any(abs((here + stop) / 2 - m) < half for m in middles)
            for place in (here, stop):
                point = closed.interpolate(place)
                yield Move((point.x, point.y, height(place, over, lap)), "feed")


@dataclass(frozen=True)
class Slot:
    """A pocket as a router cuts it: a ball on the bore's axis, seen on the pocket face.

    Attributes:
        exit: below which point of the face the axis leaves the board, x, y (mm).
        depth: of that exit below the face (mm).
        back: unit direction of the axis in the face's frame, z upward.
        radius: of the counterbore (mm).
        shoulder: from the exit to the shoulder along the axis (mm).
    """

    exit: Point
    depth: float
    back: Point3
    radius: float
    shoulder: float


def ramped(slot: Slot, cutter: Cutter, machine: Machine) -> Iterator[Move]:
    """The ramped slot: down the axis from the air to the shoulder, pass by pass.

    A ball as large as the bore follows the axis; a smaller one runs on the half cylinder about it,
    in passes that leave a scallop of 0.05 mm at most.

    Raises:
        TooLarge: the ball is wider than the bore.
    """
    spare = slot.radius - cutter.radius
    if spare < -1e-3:
        raise TooLarge(2 * slot.radius)
    bx, by, bz = slot.back
    flat = math.hypot(bx, by)
    side = (-by / flat, bx / flat, 0.0)
    down = (bx / flat * bz, by / flat * bz, -flat)  # square to axis and side, downward
    first = slot.shoulder + cutter.radius
    last = (slot.depth + cutter.radius) / bz
    turns = [0.0]
    if spare > 1e-3:
        # Two balls in a half cylinder, an angle of 2 h apart about its axis, leave a ridge of
        # R - spare cos h - sqrt(r^2 - spare^2 sin^2 h), about h^2 spare R / 2 r.
        step = 2 * math.sqrt(2 * cutter.radius * SCALLOP / (spare * slot.radius))
        count = max(2, math.ceil(math.pi / step) + 1)
        turns = [math.pi * (i / (count - 1) - 0.5) for i in range(count)]
    for turn in sorted(turns, key=abs, reverse=True):
        off = [
            spare * (math.sin(turn) * a + math.cos(turn) * b)
            for a, b in zip(side, down, strict=True)
        ]

        def at(place: float, off: Sequence[float] = off) -> Point3:
            x = slot.exit[0] + place * bx + off[0]
            y = slot.exit[1] + place * by + off[1]
            return (x, y, -slot.depth + place * bz + off[2] - cutter.radius)

        yield from _ramp(at(last), at(first), cutter, machine)


def _ramp(high: Point3, low: Point3, cutter: Cutter, machine: Machine) -> Iterator[Move]:
    """From the air down to the low end and back, in passes that follow the slope."""
    lift = max(0.0, 0.2 - high[2])
    over = lift / max(high[2] - low[2], 1e-9)
    start = (
        high[0] + (high[0] - low[0]) * over,
        high[1] + (high[1] - low[1]) * over,
        high[2] + lift,
    )
    yield Move((start[0], start[1], machine.safe), "rapid")
    yield Move((start[0], start[1], start[2]), "plunge")
    for level in levels(max(-low[2], 1e-6), cutter):
        share = min(1.0, (start[2] - level) / (start[2] - low[2]))
        turn = tuple(a + (b - a) * share for a, b in zip(start, low, strict=True))
        yield Move((turn[0], turn[1], turn[2]), "feed")
        if level > low[2] + _SAME:
            yield Move((low[0], low[1], level), "feed")
            yield Move((turn[0], turn[1], turn[2]), "feed")
    yield Move((low[0], low[1], machine.safe), "rapid")
