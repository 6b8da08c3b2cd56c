"""How a joint's pockets are laid out: one engine for every joint.

A `Spacing` wishes for places. The engine finds the first swing and screw at which all of them
settle into windows wide enough for a pencil line, and puts them on marks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Protocol

from ..piece.project import JointKind, Limits, Window
from ..words.lengths import Unit
from .likeness import Known, known_windows, likeness, no_hope, open_ways, open_windows
from .marks import scale
from .site import Site, footprint, pitch
from .spacing import most_pockets, settle, wished
from .windows import empty, least_bad, widest

_STEPS = (5, 1)  # degrees, the coarser first: what a guide is set by
_BATCH = 8  # swings looked at in one go
_CROWDED = 0.5  # of the wished distance
_DOUBT = "doubt"  # among what is known: the usual way has failed at some joint
_ABOUT = (-0.8, -0.4, 0.0, 0.4, 0.8)  # looks about the least bad place

Between = Callable[[Site, float, Limits], float]
"""Least distance along a joint between two pockets (mm), by their swing."""


@dataclass(frozen=True)
class Bench:
    """What laying out goes by.

    Attributes:
        limits: wood that must stay, and the tolerance.
        unit: of the ruler.
        known: what was found along joints; it is added to.
    """

    limits: Limits
    unit: Unit
    known: Known = field(default_factory=dict)


@dataclass(frozen=True)
class Layout:
    """Where the pockets of a joint go.

    Attributes:
        site: the joint's line, with the screw.
        swing: degrees, toward growing positions.
        windows: one per pocket, from the datum outward.
        open: whether every pocket has a window.
    """

    site: Site
    swing: float
    windows: tuple[Window, ...]
    open: bool = True

    @property
    def narrowest(self) -> Window:
        """The least window; of empty ones the one that lacks the least."""
        some = min if self.open else max
        return some(self.windows, key=lambda w: w.high - w.low)

    def wide(self, limits: Limits) -> bool:
        """Whether a pencil line that is off by the tolerance still keeps every limit."""
        least = self.narrowest
        return self.open and least.high - least.low >= 2 * limits.tolerance - 1e-9


def swings_up_to(largest: float) -> list[float]:
    """The swings that are tried, from square up: by fives first, then by whole degrees."""
    return list(dict.fromkeys(float(b) for s in _STEPS for b in range(0, int(largest) + 1, s)))


# --- where pockets are wished ---------------------------------------------------------------------


@dataclass(frozen=True)
class Line:
    """A joint's line at one swing.

    Attributes:
        site: the joint.
        swing: degrees.
        found: its windows.
        least: distance between two pockets (mm).
        limits: wood that must stay, and the tolerance.
    """

    site: Site
    swing: float
    found: Sequence[Window]
    least: float
    limits: Limits

    @property
    def length(self) -> float:
        """Of the joint (mm)."""
        return self.site.reach[1]


class Spacing(Protocol):
    """Where along a joint pockets are wished."""

    def wishes(self, line: Line) -> Iterator[tuple[list[float], float]]:
        """Places to try, the best first; with each the distance that is kept at first (mm)."""

    def anyhow(self, line: Line) -> list[list[float]]:
        """Where pockets may stand that fit nowhere (mm): rows, of which the least bad is taken."""


@dataclass(frozen=True)
class Practice:
    """Spaced as is common practice for a kind of joint; fewer where it alone sets their number.

    Attributes:
        kind: of joint.
        count: stated number, or None.
        shift: moves the wishes along the joint (mm).
    """

    kind: JointKind
    count: int | None = None
    shift: float = 0.0

    def wishes(self, line: Line) -> Iterator[tuple[list[float], float]]:
        """As many as practice asks for, then one less at a time."""
        wishes = self._at(line, self.count)
        most = most_pockets(line.length, footprint(line.site, line.swing))
        if self.count is None and 1 <= most < len(wishes):
            wishes = self._at(line, most)
        while True:
            # No two crowd into what should be the places of one.
            step = min((b - a for a, b in pairwise(wishes)), default=0.0)
            yield wishes, 0.0 if self.count else _CROWDED * step
            if self.count is not None or len(wishes) == 1:
                return
            wishes = self._at(line, len(wishes) - 1)

    def anyhow(self, line: Line) -> list[list[float]]:
        """The wished places; even shares of a joint that has no room for as many."""
        wishes = self._at(line, self.count)
        if 0 <= min(wishes) and max(wishes) <= line.length:
            return [sorted(wishes)]
        return [[line.length * (i + 0.5) / len(wishes) for i in range(len(wishes))]]

    def _at(self, line: Line, count: int | None) -> list[float]:
        least = line.least + 2 * line.limits.tolerance
        return [wish + self.shift for wish in wished(self.kind, line.length, count, least)]


@dataclass(frozen=True)
class Shares:
    """In equal shares of the widest window: for a mitre, where practice knows no places."""

    count: int = 1

    def wishes(self, line: Line) -> Iterator[tuple[list[float], float]]:
        """The middle of every share."""
        window = widest(line.found)
        free = window.high - window.low - (self.count - 1) * line.least if window else -1.0
        if window and free >= 0:
            part = free / self.count
            starts = (window.low + i * (part + line.least) for i in range(self.count))
            yield [low + part / 2 for low in starts], 0.0

    def anyhow(self, line: Line) -> list[list[float]]:
        """Side by side about the least bad place."""
        middle, off = least_bad(line.site, line.swing, line.limits)
        span = line.least * (self.count - 1)
        starts = (middle - span / 2 + share * off for share in _ABOUT)
        firsts = (min(max(start, 0.0), line.length) for start in starts)
        return [
            [min(first + i * line.least, line.length) for i in range(self.count)]
            for first in firsts
        ]


@dataclass(frozen=True)
class Near:
    """One pocket as near as it comes to a place (mm)."""

    place: float

    def wishes(self, line: Line) -> Iterator[tuple[list[float], float]]:
        """That place."""
        yield [self.place], 0.0

    def anyhow(self, line: Line) -> list[list[float]]:
        """That place, on the joint."""
        return [[min(max(self.place, 0.0), line.length)]]


# --- the engine -----------------------------------------------------------------------------------


def lay_out(
    bench: Bench,
    sites: Sequence[Site],
    swings: Sequence[float],
    spacing: Spacing,
    *,
    between: Between = pitch,
    end: float = 0.0,
) -> Layout | None:
    """Lay out a joint's pockets at the first swing, and the first site there, that serves.

    Args:
        bench: what is gone by.
        sites: the joint, with one screw or another, in order of preference.
        swings: in order of preference, degrees.
        spacing: where pockets are wished.
        between: what two pockets need between them.
        end: stretch at both ends of the joint that is kept free (mm).

    Returns:
        The first layout whose windows hold the tolerance on both sides; else the one with the
        widest windows; None where the pockets fit nowhere.
    """
    best: Layout | None = None
    for site, swing in _hopeful(bench, sites, swings) if sites else ():
        layout = _settled(bench, site, swing, spacing, between, end)
        if layout and layout.wide(bench.limits):
            return layout
        if layout and (best is None or _width(layout) > _width(best)):
            best = layout
    return best


def _hopeful(
    bench: Bench, sites: Sequence[Site], swings: Sequence[float]
) -> Iterator[tuple[Site, float]]:
    """In order of preference where pockets may find a place; what is plainly hopeless left out.

    The first mostly serves: of a single swing it is looked at closely without a glance before,
    unless it failed at another joint.
    """
    known, limits, usual, square = bench.known, bench.limits, sites[0], swings[:1]
    sure = len(swings) == 1 and _DOUBT not in known
    there = sure or (len(swings) > 1 and any(open_ways(known, [usual], square, limits)))
    if there:
        yield usual, square[0]
    if sure:
        known[_DOUBT] = True
    if len(swings) > 1 and not (there and open_windows(known, usual, square[0], limits)):
        off = _spread([site.shoulder for site in sites]) + _spread([site.depth for site in sites])
        if no_hope(known, usual, swings, limits, off):
            return
    for some in (square, *(swings[i : i + _BATCH] for i in range(1, len(swings), _BATCH))):
        for swing, site in open_ways(known, sites, some, limits):
            if not (there and site is usual and swing == square[0]):
                yield site, swing


def _spread(values: Sequence[float]) -> float:
    return max(values) - min(values)


def shut(
    bench: Bench, site: Site, swing: float, spacing: Spacing, between: Between = pitch
) -> Layout:
    """Pockets that fit nowhere, where they are wished."""

    def found() -> list[Window]:
        line = Line(site, swing, (), between(site, swing, bench.limits), bench.limits)
        return empty(site, swing, spacing.anyhow(line), bench.limits)

    asked = ("shut", swing, spacing, between)
    windows = known_windows(bench.known, site, asked, bench.limits, found)
    return Layout(site, swing, tuple(windows), open=False)


def alike(layout: Layout, site: Site, limits: Limits) -> Layout:
    """The layout of a like joint with its faces, boards and datum called as at this one."""
    names = likeness(site, limits).names
    windows = likeness(layout.site, limits).renamed(layout.windows, site.datum, names)
    return replace(layout, site=site, windows=tuple(windows))


def _settled(
    bench: Bench, site: Site, swing: float, spacing: Spacing, between: Between, end: float
) -> Layout | None:
    """All pockets at one swing, each in its window and on a mark."""
    length = site.reach[1]
    found = [
        replace(window, low=max(window.low, end), high=min(window.high, length - end))
        for window in open_windows(bench.known, site, swing, bench.limits)
        if max(window.low, end) <= min(window.high, length - end)
    ]
    if not found:
        return None
    line = Line(site, swing, found, between(site, swing, bench.limits), bench.limits)
    tape = scale(site, swing, bench.unit)
    for wishes, apart in spacing.wishes(line):
        windows = settle(found, wishes, line.least, bench.limits.tolerance, tape, apart)
        if windows:
            return Layout(site, swing, tuple(windows))
    return None


def _width(layout: Layout) -> float:
    return layout.narrowest.high - layout.narrowest.low
