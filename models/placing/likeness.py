"""Which joints are alike: what can matter to their pockets is the same, or its mirror image.

Everything is told in the joint's own directions (out of the joint face, along the joint, out of the
pocket face) from the point that positions start at, and what lies farther off than a bore can reach
is left out: the two ends of a board, and boards of other lengths, are alike wherever their pockets
must come out the same.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import compress, product
from typing import Any

import numpy as np

from ..maths.clearance import Rods, rod_distances
from ..maths.geometry import Array, Plane, Vec, dot
from ..piece.board import Board, Face
from ..piece.held import Held
from ..piece.project import Bound, Limits, Window
from .site import Site
from .windows import hopeless, promising, windows

_MM, _DIRECTION = 6, 9  # decimals that count
_Name = tuple[str, str]
_PAD = 1.0  # mm beyond what the limits ask for


@dataclass(frozen=True)
class Likeness:
    """What a joint's pockets depend on.

    Attributes:
        key: same for joints whose pockets come out the same.
        names: what may bind a window, in the order of the key: face or cut, and board.
    """

    key: Hashable
    names: tuple[_Name, ...]

    def renamed(
        self, windows: Iterable[Window], datum: str, names: Sequence[_Name]
    ) -> list[Window]:
        """Windows of this joint as those of a like joint with other names and another datum."""
        told = dict(zip(self.names, names, strict=True))
        return [
            replace(
                window,
                datum=datum,
                low_binds=_renamed(window.low_binds, told),
                high_binds=_renamed(window.high_binds, told),
            )
            for window in windows
        ]


def _renamed(bound: Bound, told: Mapping[_Name, _Name]) -> Bound:
    face, board = told.get((bound.face, bound.board), (bound.face, bound.board))
    return Bound(bound.body, face, board)


Known = dict[Hashable, Any]
"""What was found along joints, by all that it depends on: like joints are asked once."""


def known_windows(
    known: Known, site: Site, asked: Hashable, limits: Limits, find: Callable[[], list[Window]]
) -> list[Window]:
    """Windows along a joint, as `find` finds them where no like joint was asked the same."""
    first, found = _known(known, site, limits, asked, find)
    told: list[Window] = first.renamed(found, site.datum, likeness(site, limits).names)
    return told


def open_windows(known: Known, site: Site, swing: float, limits: Limits) -> list[Window]:
    """All windows along a joint, as `windows` finds them."""
    return known_windows(known, site, swing, limits, lambda: windows(site, swing, limits))


def open_ways(
    known: Known, sites: Sequence[Site], swings: Sequence[float], limits: Limits
) -> Iterable[tuple[float, Site]]:
    """Ways to bore a joint at which there may be a window that a pencil line fits in.

    Args:
        known: what was found along joints; it is added to.
        sites: the joint with one screw or another, in order of preference.
        swings: likewise, degrees.
        limits: wood that must stay, and the tolerance.
    """
    asked = (tuple(swings), tuple((s.screw, s.shoulder, s.depth) for s in sites))
    width = 2 * limits.tolerance
    _, found = _known(
        known, sites[0], limits, asked, lambda: promising(sites, swings, width, limits)
    )
    return compress(product(swings, sites), found)


def no_hope(known: Known, site: Site, swings: Sequence[float], limits: Limits, off: float) -> bool:
    """Whether a bore takes too much wood everywhere on a joint; see `hopeless`."""
    asked = ("no hope", min(swings), max(swings), round(off, _MM))
    _, found = _known(known, site, limits, asked, lambda: hopeless(site, swings, limits, off))
    return bool(found)


def _known(
    known: Known, site: Site, limits: Limits, what: Hashable, find: Callable[[], Any]
) -> tuple[Likeness, Any]:
    like = likeness(site, limits)
    if (like.key, what) not in known:
        known[like.key, what] = (like, find())
    found: tuple[Likeness, Any] = known[like.key, what]
    return found


def likeness(site: Site, limits: Limits) -> Likeness:
    """What the pockets of a joint depend on, whatever its boards are called.

    It is kept on the joint, as a cached property would be.
    """
    kept: dict[Limits, Likeness] = site.__dict__.setdefault("_likeness", {})
    if limits not in kept:
        kept[limits] = _likeness(site, limits)
    return kept[limits]


def _likeness(site: Site, limits: Limits) -> Likeness:
    start, length = site.reach
    sides = site.board.by_side
    joint, pocket = (sides[s].plane.normal for s in (site.joint_face, site.pocket_face))
    far = reach(site, limits)
    frame = np.array([joint, site.line, pocket])

    def own(plane: Plane) -> Plane:
        """A plane of the bored board in the joint's directions."""
        n = plane.normal
        normal = (dot(n, joint), dot(n, site.line), dot(n, pocket))
        return Plane(normal, plane.offset - dot(n, start))

    def nearest(plane: Plane) -> float:
        """The least gap of the joint's line to a plane in the joint's directions (mm)."""
        return plane.offset - max(0.0, plane.normal[1] * length)

    def blank(board: Board, mating: bool) -> list[tuple[Hashable, _Name]]:
        rows: list[tuple[Hashable, _Name]] = []
        whose = board.role if mating else ""

        def turned(face: Face) -> Plane:
            return own(site.from_mate(face.plane) if mating else face.plane)

        for face in board.faces:
            plane = turned(face)
            if nearest(plane) < far:
                rows.append(((_plane(plane), face.seen), (face.name, whose)))
        for cut in board.cuts:
            planes = [turned(face) for face in cut.faces]
            if all(nearest(plane.flipped) < far for plane in planes):
                key = sorted((_plane(p), f.seen) for p, f in zip(planes, cut.faces, strict=True))
                rows.append((("cut", tuple(key)), (cut.name, whose)))
        return sorted(rows, key=lambda row: (repr(row[0]), row[1]))

    rows = [blank(site.board, False), blank(site.mate, True), _others(site, frame, far)]
    key = (
        tuple(tuple(row[0] for row in part) for part in rows),
        round(length, _MM),
        # The driver matters where something stands already when it comes.
        site.drill if site.driven_past else site.drill.sizes,
        (site.screw, round(site.shoulder, _MM), round(site.depth, _MM)),
        (round(site.slot, _MM), _way(own(Plane(site.slot_along, 0.0)).normal)),
        _rods(site.beside, np.array(start), frame),
        _rods(site.ahead, np.array(start), frame),
        len(site.driven_past),
        limits,
    )
    return Likeness(key, tuple(name for part in rows for _, name in part))


def _rods(found: Rods | None, start: Array, frame: Array) -> Hashable:
    """Rods from a point in a frame (3, 3), whatever their order."""
    if found is None or not len(found):
        return None
    ends = np.stack([found.low, found.high, found.radius], axis=1)
    return _table(np.hstack([(found.point - start) @ frame.T, found.axis @ frame.T, ends]))


def _others(site: Site, frame: Array, far: float) -> list[tuple[Hashable, _Name]]:
    """Pieces of other boards by their planes within reach, with the boards' roles."""
    start, length = site.reach
    rows = []
    for reached, pieces in ((far, site.around), (np.inf, site.driven_past)):
        for role, piece in pieces:
            normals = piece.normals @ frame.T
            offsets = piece.offsets - piece.normals @ np.array(start)
            near = offsets - np.maximum(0.0, normals[:, 1] * length) < reached
            rows.append((_table(np.hstack([normals, offsets[:, None]])[near]), ("", role)))
    return sorted(rows, key=repr)


def _table(rows: Array) -> Hashable:
    return tuple(sorted(map(tuple, (np.round(rows, _MM) + 0.0).tolist())))


def reach(site: Site, limits: Limits) -> float:
    """How far from the joint's line anything can matter to a bore of the joint (mm)."""
    wood = max(limits.any_wall, limits.tip_cover)
    kept = max(wood, limits.between + limits.tolerance) + _PAD
    return (
        max(site.trial.run_out(site.board), site.screw.length)
        + site.drill.counterbore_radius
        + kept
    )


def surrounded(site: Site, held: Held, limits: Limits) -> Site:
    """The joint with the other boards that a bore of it can come near."""
    ends = (site.exit(0.0), site.exit(site.reach[1]))
    far = reach(site, limits) + site.board.thickness
    return site.among(around=held.around(site.board, site.mate, ends, far))


def nearby(site: Site, limits: Limits) -> Site:
    """The joint with those of the other joints' rods alone that a bore of it can come near."""
    far = reach(site, limits)
    return site.among(beside=_near(site, site.beside, far), ahead=_near(site, site.ahead, far))


def _near(site: Site, rods: Rods | None, far: float) -> Rods | None:
    """Those of the rods (bored board's frame) within a distance (mm) of the joint's line."""
    if rods is None:
        return None
    start, length = site.reach
    count = len(rods)
    line = Rods(
        np.tile(np.array(start), (count, 1)),
        np.tile(np.array(site.line), (count, 1)),
        np.zeros(count),
        np.full(count, length),
        np.full(count, far),
    )
    gaps, _ = rod_distances(line, rods)
    near = np.flatnonzero(gaps < 0)
    return rods.take(near) if len(near) else None


def _plane(plane: Plane) -> tuple[float, ...]:
    return (*_way(plane.normal), round(plane.offset, _MM) + 0.0)


def _way(v: Vec) -> tuple[float, ...]:
    return tuple(round(value, _DIRECTION) + 0.0 for value in v)
