"""Which screw, and how deep the drill is set: from drill, thicknesses and the tip's cover."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

from ..piece.project import Drill, Screw
from ..words.lengths import Unit
from .strength import TIP
from .tables import DrillRow, ScrewKind, Thread, screw_kinds, usual_gauge

# Common practice, no source: the shoulder's centre lies a quarter of the thickness deep.
_SEAT_DEPTH = 0.25
# Least height of wood above the shoulder's centre, in radii: three quarters of the shoulder bear.
_BEARING = 0.4
# Common practice, no source: a screw that bites less than this, in its diameters, holds nothing.
_LEAST_BITE = 1.5
_SUNK = 0.2  # mm that a head lies below the face: more than a stop collar is off
_HAIR = 1e-6  # mm of cover beyond its limit, so that no rounding takes it below
LEAST_BODY = 6.0  # mm of wood between the shoulder and the joint face; common practice, no source


@dataclass(frozen=True)
class Fastening:
    """A screw and the shoulder it seats on.

    Attributes:
        screw: as stocked.
        shoulder: from the exit along the axis (mm).
        exit_depth: of the exit below the pocket face (mm).
    """

    screw: Screw
    shoulder: float
    exit_depth: float

    def sinks(self, drill: Drill) -> bool:
        """Whether the whole head lies below the pocket face, square to the joint."""
        slope = math.radians(drill.slope)
        return rim(self.screw, slope) <= self.exit_depth - self.shoulder * math.sin(slope)


def shortest(
    drill: Drill, kind: ScrewKind, thread: Thread, thickness: float, unit: Unit
) -> Fastening:
    """The shortest stocked screw at the usual shoulder, whether it fits or not: to be shown."""
    screw = kind.screw(min(kind.lengths), thread, unit)
    return Fastening(screw, usual_shoulder(drill, thickness), thickness / 2)


def rim(screw: Screw | ScrewKind, slope: float) -> float:
    """How high the head's rim rises above its seat's centre, square to the pocket face (mm).

    Args:
        screw: its head.
        slope: of the axis to the pocket face, radians.
    """
    return screw.head_radius * math.cos(slope) + screw.head_height * math.sin(slope)


def usual_shoulder(drill: Drill, thickness: float) -> float:
    """Distance from exit to shoulder (mm) that leaves a quarter of the thickness above its centre.

    Common practice, no source: 12 mm in 13 mm stock, 18 in 19, 25 in 25, 37 in 38.
    """
    return (0.5 - _SEAT_DEPTH) * thickness / math.sin(math.radians(drill.slope))


def longest_shoulder(drill: Drill, thickness: float) -> float:
    """Largest distance from exit to shoulder (mm) at which three quarters of the shoulder bear."""
    slope = math.radians(drill.slope)
    above = _BEARING * drill.counterbore_radius * math.cos(slope)
    return max(0.0, (thickness / 2 - above) / math.sin(slope))


def flush(
    drill: Drill, fit: Fastening, thickness: float, cover: float, step: float = 0.0
) -> Fastening | None:
    """The same screw for a mate that ends flush with the face opposite the pocket.

    The screw slopes toward that end. How deep its tip comes is settled by the stop alone: with the
    stop less deep the exit moves up as well, and the screw is as far in the mate as before.

    Returns:
        None where the shoulder would not bear any more.
    """
    slope = math.radians(drill.slope)
    deepest = (thickness - cover - fit.screw.radius * math.cos(slope)) / math.sin(slope)
    deepest -= fit.screw.length + _HAIR
    if fit.exit_depth / math.sin(slope) - fit.shoulder <= deepest:
        return fit
    stop = _on_step(deepest, step, math.floor)
    if stop * math.sin(slope) < _BEARING * drill.counterbore_radius * math.cos(slope):
        return None
    return replace(fit, exit_depth=(fit.shoulder + stop) * math.sin(slope))


def gauge_for(row: DrillRow, thickness: float, wanted: str | None = None) -> ScrewKind:
    """The gauge asked for, else the usual one for the thickness, else the thickest that fits."""
    if wanted is not None:
        return screw_kinds()[wanted]
    usual = usual_gauge(thickness)
    if usual.gauge in row.gauges:
        return usual
    return screw_kinds()[row.gauges[-1]]


@lru_cache(maxsize=1024)
def fastenings(
    drill: Drill,
    kind: ScrewKind,
    thread: Thread,
    thickness: float,
    mating_depth: float,
    cover: float,
    exit_depth: float | None = None,
    step: float = 0.0,
    unit: Unit = "mm",
) -> tuple[Fastening, ...]:
    """The screws that fit, the preferred one first, then shorter ones; none where none is stocked.

    Preferred is the longest stocked screw whose tip keeps its cover with the shoulder at its usual
    place. Its head is set below the pocket face: by the stop as far as the tip's cover allows, by
    a lower exit for the rest; after it comes the same screw without that. Where even the shortest
    is too long, the shortest, with the shoulder drawn back as far as it must be while three
    quarters of it bear.

    Args:
        drill: stepped drill.
        kind: gauge with its stocked lengths.
        thread: coarse or fine.
        thickness: of the bored board, across the pocket face (mm).
        mating_depth: of the mating board, square to the joint (mm).
        cover: least wood past the tip (mm).
        exit_depth: of the exit below the pocket face, where it is settled (mm).
        step: of the ruler that the drill's stop is set by (mm); 0: any place.
        unit: that the screws are told in.
    """
    slope = math.radians(drill.slope)
    deepest = (mating_depth - cover - kind.radius * math.sin(slope)) / math.cos(slope) - _HAIR
    depth = thickness / 2 if exit_depth is None else exit_depth
    reach, usual = depth / math.sin(slope), usual_shoulder(drill, 2 * depth)
    bite = 2 * kind.radius * _LEAST_BITE
    body = (LEAST_BODY + drill.counterbore_radius * math.sin(slope)) / math.cos(slope)

    def on_stop(shoulder: float, way: Callable[[float], int] = math.floor) -> float:
        """One near it that the stop can be set to: the least from there on, or another way."""
        return reach - _on_step(reach - shoulder, step, way)

    sunk = on_stop(reach - (_rim(drill, kind) + _SUNK) / math.sin(slope), math.ceil)
    found: list[Fastening] = []
    for length in sorted(kind.lengths, reverse=True):
        if bite <= length - usual <= deepest:
            screw, deep = kind.screw(length, thread, unit), max(body, length - deepest)
            tip = on_stop(length - 2 * kind.radius * TIP, math.ceil)
            plain = max(on_stop(deep), min(on_stop(usual, round), tip))
            stop = max(sunk, deep)
            lower = max(0.0, stop - sunk) * math.sin(slope)
            if stop < plain and (lower == 0 or exit_depth is None):
                found.append(Fastening(screw, stop, depth + lower))
            if stop >= plain or lower > 0:
                found.append(Fastening(screw, plain, depth))
    least = kind.screw(min(kind.lengths), thread, unit)
    drawn_back = on_stop(least.length - deepest)
    if not found and bite <= deepest and usual < drawn_back <= longest_shoulder(drill, 2 * depth):
        found = [Fastening(least, drawn_back, depth)]
    return tuple(found)


def _rim(drill: Drill, kind: ScrewKind) -> float:
    """The highest rim of the heads that one setting of the drill should do for (mm)."""
    slope = math.radians(drill.slope)
    usual = (
        k for k in screw_kinds().values() if k.bored and k.head_radius < drill.counterbore_radius
    )
    return max(rim(one, slope) for one in (kind, *usual))


def _on_step(depth: float, step: float, way: Callable[[float], int]) -> float:
    """A depth on the ruler (mm); `way` rounds."""
    return way(round(depth / step, 9)) * step if step else depth
