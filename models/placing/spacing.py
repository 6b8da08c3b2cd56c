"""Where along a joint pockets are wished, and how the wishes settle into the windows."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from ..piece.project import NEXT_POCKET, JointKind, Window
from .marks import Scale

# Common practice, no source.
_PER_POCKET = 70.0  # mm of width that one pocket of a narrow board's end serves
_NARROW = 3 * _PER_POCKET  # mm of width; wider ends are spaced as edges are
_EDGE_STEP = (150.0, 200.0)  # mm between the pockets of a long edge or a wide end (6 to 8 in)
_HAIR = 1e-9
_ALIKE = 1e-3  # mm that two halves of a joint may differ by and still be alike
_PAIR = 25.0  # mm between the two pockets of a pair: one setting of the guide, two holes


def least_width(count: int, pocket: float) -> float:
    """Width of a board (mm) that leaves half a pocket's width beside and between its pockets.

    Common practice, no source.
    """
    return (3 * count + 1) / 2 * pocket


def most_pockets(width: float, pocket: float) -> int:
    """How many pockets of a width (mm) a board has room for by `least_width`."""
    return int((2 * width / pocket - 1) / 3 + 1e-9)


def wished(kind: JointKind, length: float, count: int | None, least: float) -> list[float]:
    """Positions along a joint that practice asks for, before any wall is looked at (mm).

    One screw for each 70 mm of a narrow board's end; one every 150 to 200 mm of a wide end and of
    an edge, along which one stands in the middle and the rest spaced outward from it; and as many
    in an edging, two by two.

    Args:
        kind: of the joint.
        length: of the joint, mm.
        count: stated number, or None.
        least: least distance between two pockets, mm.
    """
    if kind == "edging" and length >= 4 * least and (count is None or count % 2 == 0):
        pairs = _pairs(length) if count is None else count // 2
        middles = _shared(length, pairs, min(2 * _EDGE_STEP[1], length / pairs))
        return [middle + side * max(_PAIR, least) / 2 for middle in middles for side in (-1, 1)]
    if kind in ("edge", "top", "edging", "box") and length > 2 * _EDGE_STEP[0]:
        if count is None:
            count = _outward(length, _EDGE_STEP[1])
        return _shared(length, count, min(_EDGE_STEP[1], length / count))
    if count is None:
        wide = max(3, math.ceil(length / _EDGE_STEP[1] - _HAIR))
        narrow = max(2, round(length / _PER_POCKET)) if length >= 2 * least else 1
        count = narrow if length <= _NARROW else wide
    return _shared(length, count, max(length / count, least))


def _outward(length: float, step: float) -> int:
    """How many in a row along an edge: one in the middle, and the rest outward from it."""
    return 2 * max(0, math.ceil((length - step) / (2 * step) - _HAIR)) + 1


def _pairs(length: float) -> int:
    """How many pairs along an edging: as many screws as a row has, two by two."""
    if length <= 2 * _EDGE_STEP[0]:
        return max(1, round(length / _EDGE_STEP[0]))
    return max(2, _outward(length, 2 * _EDGE_STEP[1]))


def _shared(length: float, count: int, step: float) -> list[float]:
    """So many about the middle of a joint, a step apart (mm)."""
    return [length / 2 + (i - (count - 1) / 2) * step for i in range(count)]


def settle(
    found: Sequence[Window],
    wishes: Sequence[float],
    least: float,
    tolerance: float,
    tape: Scale,
    uncrowded: float = 0.0,
) -> list[Window]:
    """Move each wished position as little as needed into the windows, then onto a mark.

    Args:
        found: the windows.
        wishes: positions, mm.
        least: distance that two pockets keep, mm.
        tolerance: how far a pencil line may be off, mm.
        tape: what a maker measures along the joint.
        uncrowded: distance at which they are put first, where that is more, mm.

    Returns:
        One window per pocket, in which it may move freely whatever its neighbours do; an empty
        list where they do not all fit.
    """
    seats = _seated(found, wishes, least, tolerance, uncrowded)
    if len(seats) < len(wishes):
        return []
    homes = [home for _, home in seats]
    places = _marked(seats, least, tolerance, tape)
    settled = []
    for i, (place, home) in enumerate(zip(places, homes, strict=True)):
        low, high, low_binds, high_binds = home.low, home.high, home.low_binds, home.high_binds
        for j, other in enumerate(places):
            middle = (place + other) / 2
            if j != i and other < place and middle + least / 2 > low:
                low, low_binds = min(middle + least / 2, place), NEXT_POCKET
            if j != i and other > place and middle - least / 2 < high:
                high, high_binds = max(middle - least / 2, place), NEXT_POCKET
        settled.append(Window(home.datum, place, low, high, low_binds, high_binds))
    return settled


_Seat = tuple[float, Window]
"""A place, and the window that it is in."""


def _seated(
    found: Sequence[Window],
    wishes: Sequence[float],
    least: float,
    tolerance: float,
    uncrowded: float,
) -> list[_Seat]:
    """Each wish as near as it comes to its place, in order along the joint; all that fit."""
    seats: list[_Seat] = []
    for wish in wishes:
        best: tuple[float, float, Window] | None = None
        # Two pockets that may both be off by the tolerance need that much more between them.
        for apart in (max(least + tolerance, uncrowded), max(least, uncrowded)):
            for window in found:
                taken = (place for place, _ in seats)
                for low, high in _without(window.low, window.high, taken, apart):
                    inset = min(tolerance, (high - low) / 2)
                    place = min(max(wish, low + inset), high - inset)
                    # A stretch that cannot hold the tolerance is the last resort.
                    cost = abs(place - wish) + (0.0 if inset == tolerance else 1e6)
                    if best is None or cost < best[0] - _ALIKE:  # of two alike the first
                        best = (cost, place, window)
            if best is not None:
                break
        if best is None:
            break
        seats.append(best[1:])
    return sorted(seats, key=lambda seat: seat[0])


def _marked(seats: Sequence[_Seat], least: float, tolerance: float, tape: Scale) -> list[float]:
    """The seats on marks that keep the tolerance to the ends of their windows, and their distance.

    Where all can be on marks of one step, they are evenly spaced as their wishes were; where the
    wishes and their windows are one half the other's mirror image, so are the marks.
    """
    wishes = [place for place, _ in seats]
    gap = min((b - a for a, b in pairwise(wishes)), default=least)
    # Each may be off by the tolerance, and still has its own where there was room for it.
    apart = least + max(
        off for off in (0.0, tolerance, 2 * tolerance) if off <= gap - least + _HAIR
    )
    ends = [(window.low + tolerance, window.high - tolerance) for _, window in seats]
    last, twice = len(seats) - 1, _mirror(seats, tape.centre)
    if twice is not None:
        images = [(twice - high, twice - low) for low, high in reversed(ends)]
        ends = [(max(a, c), min(b, d)) for (a, b), (c, d) in zip(ends, images, strict=True)]

    def room(i: int, places: Sequence[float]) -> tuple[float, float]:
        """From where to where one may go while the others stay, but for its mirror image."""
        low, high = ends[i]
        before = places[i - 1] + apart if i else low
        after = places[i + 1] - apart if i < last else high
        if twice is not None and i + 1 == last - i:
            after = (twice - apart) / 2
        return max(low, before), min(high, after)

    places = list(wishes)
    for _ in wishes:
        known = list(places)
        for i, wish in enumerate(wishes if twice is None else wishes[: last // 2 + 1]):
            low, high = room(i, places)
            if low <= high:
                places[i] = tape.nearest(wish, low, high)
                if twice is not None and i < last - i:
                    places[last - i] = twice - places[i]
        if places == known:
            break
    even = tape.evenly(wishes, places)
    rooms = [room(i, even) for i in range(len(even))]
    fits = all(a - _HAIR <= p <= b + _HAIR for p, (a, b) in zip(even, rooms, strict=True))
    return even if fits else places


def _mirror(seats: Sequence[_Seat], centre: float | None) -> float | None:
    """Twice the middle where one half of the seats is the other's mirror image, else None.

    A pair in the middle stays a pair, which may take a whole mark on one side of the middle.
    """
    if centre is None or len(seats) < 2:
        return None
    half = len(seats) // 2
    places = [place for place, _ in seats]
    if len(seats) % 2 == 0 and half > 1:
        inner, beside = places[half] - places[half - 1], places[half - 1] - places[half - 2]
        if inner < beside / 2:
            return None
    for (place, window), (image, other) in zip(seats, reversed(seats), strict=True):
        sums = (place + image, window.low + other.high)
        if any(abs(found - 2 * centre) > _ALIKE for found in sums):
            return None
    return 2 * centre


def _without(
    low: float, high: float, taken: Iterable[float], least: float
) -> Iterator[tuple[float, float]]:
    """What is left of a stretch that keeps `least` from every place taken."""
    pieces = [(low, high)]
    for place in taken:
        pieces = [
            part
            for a, b in pieces
            for part in ((a, min(b, place - least)), (max(a, place + least), b))
            if part[0] <= part[1]
        ]
    yield from pieces
