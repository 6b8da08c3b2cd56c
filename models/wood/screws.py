"""Which screw, and how deep the drill is set: from drill, thicknesses and the tip's cover."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..piece.project import Drill, Screw
from .tables import DrillRow, ScrewKind, Thread, screw_kinds, usual_gauge

# Common practice, no source: the shoulder's centre lies a quarter of the thickness deep.
_SEAT_DEPTH = 0.25
# Least height of wood above the shoulder's centre, in radii: three quarters of the shoulder bear.
_BEARING = 0.4
# Common practice, no source: a screw that bites less than this, in its diameters, holds nothing.
_LEAST_BITE = 1.5
_SUNK = 0.2  # mm that a head lies below the face at least, where a board covers it


@dataclass(frozen=True)
class Fastening:
    """A screw and the shoulder it seats on, at `shoulder` mm from the exit along the axis."""

    screw: Screw
    shoulder: float


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


def sunk_shoulder(drill: Drill, kind: ScrewKind, thickness: float) -> float:
    """Largest distance from exit to shoulder (mm) at which the whole head is below the face."""
    slope = math.radians(drill.slope)
    head = kind.head_radius * math.cos(slope) + kind.head_height * math.sin(slope)
    return max(0.0, (thickness / 2 - head - _SUNK) / math.sin(slope))


def flush_exit(drill: Drill, fastening: Fastening, thickness: float, cover: float) -> float:
    """Depth of an exit below the pocket face (mm) where the mate ends flush with the other face.

    The screw slopes toward that end: the exit moves up from mid thickness as far as the tip needs.
    """
    slope = math.radians(drill.slope)
    lead = fastening.screw.length - fastening.shoulder
    reach = lead * math.sin(slope) + fastening.screw.radius * math.cos(slope)
    return min(thickness / 2, thickness - reach - cover)


def gauge_for(row: DrillRow, thickness: float, wanted: str | None = None) -> ScrewKind:
    """The gauge asked for, else the usual one for the thickness, else the thickest that fits."""
    if wanted is not None:
        return screw_kinds()[wanted]
    usual = usual_gauge(thickness)
    if usual.gauge in row.gauges:
        return usual
    return screw_kinds()[row.gauges[-1]]


def fastenings(
    drill: Drill,
    kind: ScrewKind,
    thread: Thread,
    thickness: float,
    mating_depth: float,
    cover: float,
    *,
    sunk: bool = False,
) -> list[Fastening]:
    """The screws that fit, the preferred one first, then shorter ones.

    Preferred is the longest stocked screw whose tip keeps its cover with the shoulder at its usual
    place; where even the shortest is too long for that, the shortest, with the shoulder drawn back
    as far as it must be while three quarters of it bear.

    Args:
        drill: stepped drill.
        kind: gauge with its stocked lengths.
        thread: coarse or fine.
        thickness: of the bored board, across the pocket face (mm).
        mating_depth: of the mating board, square to the joint (mm).
        cover: least wood past the tip (mm).
        sunk: whether the whole head must lie below the pocket face, for a board to cover it.

    Returns:
        An empty list where no stocked screw fits.
    """
    slope = math.radians(drill.slope)
    deepest = (mating_depth - cover - kind.radius * math.sin(slope)) / math.cos(slope)
    bite = 2 * kind.radius * _LEAST_BITE
    if deepest < bite:
        return []
    usual, longest = usual_shoulder(drill, thickness), longest_shoulder(drill, thickness)
    if sunk:
        longest = min(longest, sunk_shoulder(drill, kind, thickness))
        usual = min(usual, longest)
    found = [
        Fastening(kind.screw(length, thread), usual)
        for length in sorted(kind.lengths, reverse=True)
        if usual + bite <= length <= usual + deepest
    ]
    if found:
        return found
    shortest = min(kind.lengths)
    drawn_back = shortest - deepest
    if usual < drawn_back <= longest:
        return [Fastening(kind.screw(shortest, thread), drawn_back)]
    return []
