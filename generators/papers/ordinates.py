"""Running dimensions: every place counted from one reference, its number beside its line.

Numbers keep a distance from each other; a line that has to give way is bent.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..drawing.marks import Running
from ..drawing.plain import REACH

_PITCH = 3.4  # mm of paper between two numbers
HEIGHT = 2.1
ROOM = REACH + 17.0
"""What a row takes beside the drawing, mm of paper."""


def apart(places: Sequence[float], pitch: float = _PITCH) -> list[float]:
    """Sorted places moved as little as may be until no two are closer than the pitch."""
    # Runs of places that touch are spread about their common middle (pool adjacent violators).
    runs: list[list[float]] = []
    for place in places:
        runs.append([place])
        while len(runs) > 1 and _start(runs[-1], pitch) < _end(runs[-2], pitch) + pitch:
            last = runs.pop()
            runs[-1] += last
    return [_start(run, pitch) + pitch * i for run in runs for i in range(len(run))]


def _start(run: Sequence[float], pitch: float) -> float:
    return sum(place - pitch * i for i, place in enumerate(run)) / len(run)


def _end(run: Sequence[float], pitch: float) -> float:
    return _start(run, pitch) + pitch * (len(run) - 1)


def row(
    places: Sequence[tuple[float, str]],
    base: float,
    side: int,
    upright: bool,
    scale: float,
    zero: float = 0.0,
) -> Iterator[Running]:
    """The numbers of places along one side of a drawing.

    Args:
        places: coordinate (real mm) and words.
        base: the drawing's border on that side (real mm).
        side: -1 below or to the left, 1 above or to the right.
        upright: whether places are heights, the numbers to the left or right of the drawing.
        scale: mm of paper per real mm.
        zero: the coordinate that is counted from (real mm).
    """
    known = sorted({round(place, 4): says for place, says in places}.items())
    moved = apart([place * scale for place, _ in known])
    out = (float(side), 0.0) if upright else (0.0, float(side))
    for (place, says), there in zip(known, moved, strict=True):
        at, start = ((base, place), (base, zero)) if upright else ((place, base), (zero, base))
        yield Running(start, at, out, there - place * scale, says, HEIGHT)
