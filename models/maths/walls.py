"""The wood between rods and the faces and cuts of convex blanks, exact where it is asked for.

The wall to a face is first that to the face's plane, the wall to a cut first the largest gap to one
of the planes of its region: certified lower bounds, thousands at once. They are the truth where the
nearest point, moved square onto the plane, lands in the face. Where it does not and the bound is
less than what is asked for, the distance to the face's polygon or to the cut's own wood is found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from .clearance import Rods, meeting, padded, plane_gaps, trimmed
from .geometry import Array, Ints, Plane, vertices
from .nearest import Hull, distances

_APART = 1e-6  # mm; a gap below may be none
_ON = 1e-7  # mm that a point may be off its face


@dataclass(frozen=True)
class Blank:
    """A convex blank and the convex regions that are cut out of it.

    Attributes:
        faces: outward planes that bound the blank.
        cuts: per cut the planes that bound its region, normals out of the region.
    """

    faces: tuple[Plane, ...]
    cuts: tuple[tuple[Plane, ...], ...] = ()

    @cached_property
    def corners(self) -> tuple[Array, ...]:
        """Corners (V, 3) of every face, then of what every cut takes out of the blank (mm)."""
        whole = _corners(self.faces)
        on = [np.abs(whole @ np.array(p.normal) - p.offset) <= _APART for p in self.faces]
        return (
            *(whole[held] for held in on),
            *(_corners((*self.faces, *cut)) for cut in self.cuts),
        )

    def planes(self, target: int, width: int) -> tuple[Plane, ...]:
        """The planes of a face's blank, or of a cut within it; cuts are numbered from `width`."""
        return self.faces if target < width else (*self.faces, *self.cuts[target - width])

    def corners_of(self, target: int, width: int) -> Array:
        """The corners of a face, or of a cut; cuts are numbered from `width`."""
        return self.corners[target if target < width else target - width + len(self.faces)]


@dataclass(frozen=True)
class Walls:
    """What N rods leave to T targets each: the faces of their blank, then its cuts.

    Attributes:
        gaps: (N, T) mm; to a face negative by how far the rod stands out, to a cut negative where
            no plane of it keeps clear; inf where rod or cut is not there.
        points: (N, T, 3) of the rod, nearest to the target.
        out: (N, T) whether the rod comes out of the face, or shares wood with the cut.
        exact: (N, T) whether the gap was looked at as a distance; else it is a lower bound.
    """

    gaps: Array
    points: Array
    out: NDArray[np.bool_]
    exact: NDArray[np.bool_]


def most_targets(blanks: Sequence[Blank]) -> tuple[int, int]:
    """The most faces and the most cuts that one of some blanks has."""
    return max(len(b.faces) for b in blanks), max(len(b.cuts) for b in blanks)


def walls(
    rods: Rods, blanks: Sequence[Blank], whose: Ints, asked: Array, *, decide: bool = False
) -> Walls:
    """Every wall of every rod in its blank.

    Args:
        rods: N rods.
        blanks: B blanks.
        whose: (N,) index of each rod's blank.
        asked: (N, T) mm; a gap below is made exact, one above may stay a lower bound. T is the sum
            of `most_targets`: faces first, cuts from the same column on for all.
        decide: whether it is enough to know which gaps are less than asked, not by how much.
    """
    width, deep = most_targets(blanks)
    faces = padded([b.faces for b in blanks])
    regions = padded([[plane for cut in b.cuts for plane in cut] for b in blanks])
    gaps, points, planes, near = plane_gaps(
        rods, *(array[whose] for array in faces), *(array[whose] for array in regions)
    )
    ways, rows = faces[0][whose], np.arange(len(rods))
    owner = np.full(regions[1].shape, -1)
    for blank, some in enumerate(b.cuts for b in blanks):
        flat = [number for number, cut in enumerate(some) for _ in cut]
        owner[blank, : len(flat)] = flat
    of_cuts = owner[whose, None] == np.arange(deep)[:, None]
    bounds = np.where(of_cuts, planes[:, None], -np.inf)
    if deep:
        best = bounds.argmax(axis=2)
        gap = bounds.max(axis=2)
        gaps = np.concatenate([gaps, np.where(np.isneginf(gap), np.inf, gap)], axis=1)
        points = np.concatenate([points, near[rows[:, None], best]], axis=1)
        ways = np.concatenate([ways, -regions[0][whose[:, None], best]], axis=1)
    found = Walls(gaps, points, gaps <= 0, np.zeros(gaps.shape, dtype=bool))
    found.out[:, width:] = False
    less = (gaps < asked) & ~found.out
    if less.any():
        wood = [blanks[b] for b in whose]
        _meet(found, rods, wood, _where(less & (gaps < _APART)), width)
        which = _where(less & ~found.out)
        feet = points[which] + gaps[which][:, None] * ways[which]
        found.exact[which] = _holds(wood, which, width, feet)
        which = _where(less & ~found.out & ~found.exact)
        _refine(found, rods, wood, which, width, asked[which] if decide else None)
    return found


_Which = tuple[Ints, Ints]
"""Rows and columns of some walls."""


def _where(mask: NDArray[np.bool_]) -> _Which:
    rows, columns = np.nonzero(mask)
    return rows, columns


def _meet(found: Walls, rods: Rods, blanks: Sequence[Blank], which: _Which, width: int) -> None:
    """Which rods share wood with a cut, where no plane keeps them apart."""
    rows, columns = (index[which[1] >= width] for index in which)
    if len(rows):
        found.out[rows, columns] = meeting(
            rods.take(rows),
            *padded([blanks[i].faces for i in rows]),
            *padded([blanks[i].cuts[c - width] for i, c in zip(rows, columns, strict=True)]),
        )


def _holds(blanks: Sequence[Blank], which: _Which, width: int, feet: Array) -> NDArray[np.bool_]:
    """Which of the feet (F, 3) of gaps on planes land in the face, or in the cut's own wood."""
    if not len(feet):
        return np.zeros(0, dtype=bool)
    normals, offsets = padded([blanks[i].planes(c, width) for i, c in zip(*which, strict=True)])
    out = np.einsum("fmi,fi->fm", normals, feet) > offsets + _ON
    return np.asarray(~out.any(axis=1))


def _refine(
    found: Walls,
    rods: Rods,
    blanks: Sequence[Blank],
    which: _Which,
    width: int,
    enough: Array | None,
) -> None:
    """The distance itself; the face or cut may not be there at all."""
    found.exact[which] = True
    corners = [blanks[i].corners_of(c, width) for i, c in zip(*which, strict=True)]
    there = np.array([len(some) > 0 for some in corners], dtype=bool)
    rows, columns = (index[~there] for index in which)
    found.gaps[rows, columns] = np.inf
    if not there.any():
        return
    rows, columns = (index[there] for index in which)
    corners = [some for some in corners if len(some)]
    most = max(len(some) for some in corners)
    stacked = np.array([some[np.minimum(np.arange(most), len(some) - 1)] for some in corners])
    start = found.points[rows, columns]
    far = np.linalg.norm(stacked - start[:, None], axis=2)
    gaps, points, _ = distances(
        trimmed(rods.take(rows), *padded([blanks[i].faces for i in rows])),
        Hull(stacked),
        start,
        stacked[np.arange(len(rows)), far.argmin(axis=1)],
        None if enough is None else enough[there],
    )
    # Of both bounds the larger one: to a face's own plane the first is exact.
    more = gaps > found.gaps[rows, columns]
    rows, columns = rows[more], columns[more]
    found.gaps[rows, columns], found.points[rows, columns] = gaps[more], points[more]


def _corners(planes: Sequence[Plane]) -> Array:
    return vertices(np.array([p.normal for p in planes]), np.array([p.offset for p in planes]))
