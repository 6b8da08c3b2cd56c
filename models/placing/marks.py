"""Marks that a tape finds: places along a joint that are a whole step of the ruler from a corner.

What a maker measures is the run of `markout.mark_out`, on the pocket face and from the nearer
corner: along a joint it grows from either end toward the middle, and at a mitre more slowly than
the place along the joint does.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ..piece.markout import mark_out
from ..piece.project import Window
from ..words.lengths import STEPS, Unit
from .site import ANY_POCKET, Site

_PROBES = (0.1, 0.4, 0.6, 0.9)  # of a joint's length
_SAME = 1e-6  # mm
_EVEN = 1e-3  # mm by which gaps may differ and still be even
_MOVED = 0.25  # of their spacing by which pockets are moved to be even


@dataclass(frozen=True)
class Reading:
    """The tape read from one corner: `run = start + slope * place`, from one place to another."""

    low: float
    high: float
    start: float
    slope: float

    def run(self, place: float) -> float:
        """What the tape says at a place along the joint (mm)."""
        return self.start + self.slope * place

    def place(self, run: float) -> float:
        """Where along the joint the tape says so (mm)."""
        return (run - self.start) / self.slope


@dataclass(frozen=True)
class Scale:
    """What the tape says along a joint, and the steps of it that a maker goes by (mm)."""

    steps: tuple[float, ...]
    readings: tuple[Reading, ...]

    def nearest(self, wish: float, low: float, high: float) -> float:
        """The place nearest to a wish on the coarsest step that has one from `low` to `high`.

        The middle of the tape is a mark of its own, if it is on any step. Where there is no mark
        at all, the wish itself, or the end of that stretch that is nearer to it.
        """
        if self.middle(wish) and low <= wish <= high and self.step(wish):
            return wish
        for step in self.steps:
            places = list(self._places(step, wish, low, high))
            if places:
                return min(places, key=lambda place: round(abs(place - wish), 6))
        return min(max(wish, low), high)

    @property
    def centre(self) -> float | None:
        """The place that is as far from one corner as from the other; None with one corner."""
        return self.readings[0].high if len(self.readings) > 1 else None

    def middle(self, place: float) -> bool:
        """Whether a place is as far from one corner as from the other."""
        return self.centre is not None and abs(place - self.centre) < _SAME

    def evenly(self, wishes: Sequence[float], places: Sequence[float]) -> list[float]:
        """Places on marks, evenly spaced where their wishes were: all, or those of each corner.

        Args:
            wishes: along the joint, in order (mm).
            places: the marks nearest to them; they come back where they are not of one step.
        """
        steps = {self.step(place) for place in places if not self.middle(place)}
        step = steps.pop() if len(steps) == 1 else None
        if step is None or len(wishes) < 2:
            return list(places)
        return self._all_even(wishes, step) or self._even_by_corner(wishes, places, step)

    def _all_even(self, wishes: Sequence[float], step: float) -> list[float] | None:
        """Evenly spaced from end to end, none moved by more than its share of the spacing."""
        gaps = [b - a for a, b in pairwise(wishes)]
        if max(gaps) - min(gaps) > _EVEN:
            return None
        first = self.readings[0]
        count, unit = len(wishes), step / abs(first.slope)
        mean = (wishes[-1] - wishes[0]) / (count - 1)
        ways = []
        for gap in (math.ceil(mean / unit - _SAME) * unit, math.floor(mean / unit + _SAME) * unit):
            span = (count - 1) * gap
            if self.centre is not None and abs(wishes[0] + wishes[-1] - 2 * self.centre) < _SAME:
                starts = [self.centre - span / 2]
            else:
                run = first.run(wishes[0]) / step
                starts = [first.place(way(run) * step) for way in (math.floor, math.ceil)]
            for start in starts:
                way = [start + i * gap for i in range(count)]
                moved = max(abs(a - b) for a, b in zip(way, wishes, strict=True))
                if moved <= _MOVED * mean and all(self._is_on(step, place) for place in way):
                    ways.append((round(moved, 6), way))
        return min(ways, key=lambda tried: tried[0])[1] if ways else None

    def _is_on(self, step: float, place: float) -> bool:
        """Whether a place is on a step, or the middle and on any."""
        on = bool(list(self._places(step, place, place, place)))
        return on or (self.middle(place) and self.step(place) is not None)

    def _even_by_corner(
        self, wishes: Sequence[float], places: Sequence[float], step: float
    ) -> list[float]:
        """Evenly spaced from each corner, where the wishes that are measured from it are."""
        even = list(places)
        for reading in self.readings:
            some = [
                (round(reading.run(wish), 6), i)
                for i, wish in enumerate(wishes)
                if reading.low - _SAME <= wish <= reading.high + _SAME and not self.middle(wish)
            ]
            runs = [run for run, _ in sorted(some)]
            gaps = [b - a for a, b in pairwise(runs)]
            if not gaps or max(gaps) - min(gaps) > _EVEN:
                continue
            for run, (_, i) in zip(_progression(runs, step), sorted(some), strict=True):
                even[i] = reading.place(run)
        return even

    def step(self, place: float) -> float | None:
        """The coarsest step that a place is on; None where it is on none."""
        for step in self.steps:
            if list(self._places(step, place, place, place)):
                return step
        return None

    def _places(self, step: float, wish: float, low: float, high: float) -> Iterator[float]:
        """By each reading the place on a step that is nearest to a wish, if it has any."""
        for reading in self.readings:
            first, last = max(low, reading.low) - _SAME, min(high, reading.high) + _SAME
            if first > last:
                continue
            runs = sorted((reading.run(first), reading.run(last)))
            least, most = math.ceil(runs[0] / step), math.floor(runs[1] / step)
            if least <= most:
                number = min(max(round(reading.run(wish) / step), least), most)
                yield min(max(reading.place(number * step), low), high)


def _progression(runs: Sequence[float], step: float) -> list[float]:
    """The runs with even gaps, on multiples of a step: those that move the furthest the least."""
    first, gap = runs[0] / step, (runs[-1] - runs[0]) / (len(runs) - 1) / step
    ways = [
        [(a + k * g) * step for k in range(len(runs))]
        for a in (math.floor(first), math.ceil(first))
        for g in (math.floor(gap), math.ceil(gap))
    ]
    return min(
        ways, key=lambda way: round(max(abs(a - b) for a, b in zip(way, runs, strict=True)), 6)
    )


def scale(site: Site, swing: float, unit: Unit) -> Scale:
    """The tape along a joint whose pockets have a swing (degrees)."""
    length = site.reach[1]
    probes: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for place in (share * length for share in _PROBES):
        bore = site.bore(ANY_POCKET, swing, Window(site.datum, place, place, place))
        try:
            mark = mark_out(site.board, bore)
        except ValueError:  # no line on the pocket face: the place along the joint has to do
            return Scale(STEPS[unit], (Reading(0.0, length, 0.0, 1.0),))
        probes.setdefault((mark.line.side, mark.start.side), []).append((place, mark.run))
    some = list(probes.values())
    (p, run), *_, (q, other) = max(some, key=len)
    slope = round((other - run) / (q - p), 9)
    if len(some) == 1:
        return Scale(STEPS[unit], (Reading(0.0, length, round(run - slope * p, 9), slope),))
    # The run grows from the first corner on, and shrinks toward the other one.
    (p, run), (q, other), slope = some[0][0], some[-1][-1], abs(slope)
    first, last = round(run - slope * p, 9), round(other + slope * q, 9)
    turn = round((last - first) / (2 * slope), 9)
    return Scale(
        STEPS[unit], (Reading(0.0, turn, first, slope), Reading(turn, length, last, -slope))
    )
