"""How a joint's pockets are laid out: the smallest swing that opens a window, and the shares."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ..maths.clearance import Rods, rod_distances
from ..maths.geometry import Array, Vec, along, dot
from ..piece.project import Limits, Window
from .placement import ANY_POCKET, Site, least_bad, pitch, promising_swings, spread, widest, windows

_WHOLE_DEGREES = 1


@dataclass(frozen=True)
class Layout:
    """Where the pockets of a joint go.

    Attributes:
        swing: degrees, toward growing positions.
        windows: one per pocket, from the datum outward.
        open: whether every pocket has a window.
    """

    swing: float
    windows: tuple[Window, ...]
    open: bool

    def wide(self, limits: Limits) -> bool:
        """Whether a pencil line that is off by the tolerance still keeps every limit."""
        return self.open and all(w.high - w.low >= 2 * limits.tolerance for w in self.windows)


def swings_up_to(largest: float) -> list[float]:
    """The swings that are tried, whole degrees from square up: what a shop can set."""
    return [float(b) for b in range(0, int(largest) + 1, _WHOLE_DEGREES)]


def lay_out(
    site: Site,
    count: int,
    limits: Limits,
    swings: Sequence[float],
    spacing: Callable[[float], float] | None = None,
) -> Layout:
    """Share the joint's widest window among `count` pockets at the first swing that serves.

    Args:
        site: the joint.
        count: of pockets.
        limits: wood that must stay, and the tolerance.
        swings: in order of preference, degrees.
        spacing: swing to least distance between two pockets along the joint (mm); the pitch of
            equal pockets in one board if None.

    Returns:
        The first layout whose windows hold the tolerance on both sides; else the one with the
        widest windows; else the least bad place, not open.
    """
    between = spacing or (lambda swing: pitch(site, swing, limits))
    need = 2 * limits.tolerance
    best: Layout | None = None
    rest = list(swings)
    while rest:
        tried, rest = (
            rest[:1] if len(rest) == len(swings) else rest[:8],
            (rest[1:] if len(rest) == len(swings) else rest[8:]),
        )
        for swing in promising_swings(site, tried, need, limits):
            window = widest(windows(site, swing, limits))
            shares = spread(window, count, between(swing)) if window else []
            if not shares:
                continue
            layout = Layout(swing, tuple(shares), True)
            if layout.wide(limits):
                return layout
            if best is None or shares[0].high - shares[0].low > best.windows[0].high - (
                best.windows[0].low
            ):
                best = layout
    if best is not None:
        return best
    worst = [(least_bad(site, swing, limits), swing) for swing in _few(swings)]
    window, swing = max(worst, key=lambda pair: pair[0].high - pair[0].low)
    return Layout(swing, _side_by_side(site, window, count, between(swing)), False)


def _few(swings: Sequence[float]) -> Sequence[float]:
    """The ends and the middle of the swings: enough to show a least bad place."""
    return sorted({swings[0], swings[len(swings) // 2], swings[-1]})


def _side_by_side(site: Site, window: Window, count: int, step: float) -> tuple[Window, ...]:
    """Empty windows about the least bad place, held within the joint."""
    length = site.reach[1]
    first = min(max(window.position - step * (count - 1) / 2, 0.0), length)
    lack = min(window.high - window.low, -1e-6)  # one might fit; that many do not
    places = [min(first + i * step, length) for i in range(count)]
    return tuple(
        Window(window.datum, p, p, p + lack, window.low_binds, window.high_binds) for p in places
    )


def crossing_pitch(site: Site, swing: float, limits: Limits) -> float:
    """Least distance along a mitre (mm) between two pockets that are bored from either member.

    The second pocket is the first one's mirror image in the plane of the joint. How near their
    rods come depends on the distance along the joint alone, and is convex in it.
    """
    normal = site.board.face(site.joint_face).plane.normal
    back = site.back(swing)
    mirrored = along(back, normal, -2 * dot(back, normal))
    bore = site.bore(ANY_POCKET, swing, Window(site.datum, 0.0, 0.0, 0.0))
    stretches = [
        (bore.shoulder, bore.run_out(site.board) - 1.0, site.drill.counterbore_radius),
        (-bore.engagement, bore.shoulder, max(site.screw.radius, site.drill.pilot_radius)),
    ]

    first, second = np.divmod(np.arange(4), 2)
    low, high, radius = np.array(stretches).T

    def room(distances: Array) -> Array:
        """What is left between the two pockets, (N,) for distances (N,), mm."""
        count = len(distances)

        def rods(points: Array, axis: Vec, which: Array) -> Rods:
            axes = np.broadcast_to(np.array(axis), points.shape)
            rows = np.tile(which, count)
            return Rods(points, axes, low[rows], high[rows], radius[rows])

        there = np.repeat(distances[:, None] * np.array(site.line), 4, axis=0)
        gaps, _ = rod_distances(
            rods(np.zeros_like(there), back, first), rods(there, mirrored, second)
        )
        least: Array = gaps.reshape(count, 4).min(axis=1)
        return least - limits.between

    # Convex and even in the distance, so it grows with it: one place where there is room enough.
    close, far = 0.0, 50.0
    while room(np.array([far]))[0] < 0:
        close, far = far, far * 2
    while far - close > 1e-6:
        steps = np.linspace(close, far, 33)
        fits = room(steps) >= 0
        fits[-1] = True
        at = int(fits.argmax())
        close, far = float(steps[max(at - 1, 0)]), float(steps[at])
    return far
