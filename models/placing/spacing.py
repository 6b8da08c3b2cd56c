"""Where along a joint pockets are wished, and how the wishes settle into the windows."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from ..piece.project import NEXT_POCKET, JointKind, Window

# Common practice, no source.
_PER_POCKET = 70.0  # mm of width that one pocket of an end joint serves
_EDGE_STEP = (150.0, 200.0)  # mm between the pockets of a long edge (6 to 8 in)
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

    Args:
        kind: an edge joint has one pocket in the middle and the rest spaced outward from it, 150
            to 200 mm; a panel's edging has pairs at that spacing; other joints share the width.
        length: of the joint, mm.
        count: stated number, or None.
        least: least distance between two pockets, mm.
    """
    if kind == "offset edge" and length >= 4 * least and (count is None or count % 2 == 0):
        if count is None and length <= 2 * _EDGE_STEP[0]:
            count = 2 * max(1, round(length / _EDGE_STEP[0]))
        pairs = wished("edge", length, count and count // 2, 2 * least)
        return [middle + side * max(_PAIR, least) / 2 for middle in pairs for side in (-1, 1)]
    if kind in ("edge", "panel", "offset edge", "box") and length > 2 * _EDGE_STEP[0]:
        if count is None:
            half = math.ceil((length / 2 - _EDGE_STEP[1] / 2) / _EDGE_STEP[1])
            count = 2 * half + 1
        step = min(_EDGE_STEP[1], length / count) if count > 1 else 0.0
    else:
        if count is None:
            count = max(2, round(length / _PER_POCKET)) if length >= 2 * least else 1
        step = max(length / count, least)
    return [length / 2 + (i - (count - 1) / 2) * step for i in range(count)]


def settle(
    found: Sequence[Window],
    wishes: Sequence[float],
    least: float,
    tolerance: float,
    uncrowded: float = 0.0,
) -> list[Window]:
    """Move each wished position as little as needed into the windows, `least` mm apart.

    They are put `uncrowded` mm apart where that is more.

    Returns:
        One window per pocket, in which it may move freely whatever its neighbours do; an empty
        list where they do not all fit.
    """
    places: list[float] = []
    homes: list[Window] = []
    for wish in wishes:
        best: tuple[float, float, Window] | None = None
        # Two pockets that may both be off by the tolerance need that much more between them.
        for apart in (max(least + tolerance, uncrowded), max(least, uncrowded)):
            for window in found:
                for low, high in _without(window.low, window.high, places, apart):
                    inset = min(tolerance, (high - low) / 2)
                    place = min(max(wish, low + inset), high - inset)
                    # A stretch that cannot hold the tolerance is the last resort.
                    cost = abs(place - wish) + (0.0 if inset == tolerance else 1e6)
                    if best is None or cost < best[0] - 1e-9:
                        best = (cost, place, window)
            if best is not None:
                break
        if best is None:
            return []
        places.append(best[1])
        homes.append(best[2])
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
    return sorted(settled, key=lambda w: w.position)


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
