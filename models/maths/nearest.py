"""The distance between convex bodies: rods within blanks, faces of them, cuts.

The distance of two is the length of the shortest vector of the convex body of all differences, and
every direction w bounds it from below:

    distance >= (min { w . x : x in one } - max { w . y : y in the other }) / |w|

Both extremes are closed form. Starting from one difference, the farthest along -w is added, the
shortest vector of the convex hull of at most four of them is the next w, and the bound meets its
length: the distance algorithm of Gilbert, Johnson and Keerthi (1988), here for many pairs at once.
What is given back is the bound, so that it never says more than there is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .clearance import Rods, Trimmed, trimmed
from .geometry import Array, Ints, crosses

_CLOSE = 1e-8  # mm between bound and length that ends the search
_MOST = 80  # steps; a curved rim takes some fifteen
# Which of three kept points a face, edge or corner of the hull has besides the new point.
_BESIDES = np.array(
    [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 0], [1, 0, 1], [0, 1, 1]], dtype=bool
)
_PAIRS = np.array([[0, 0, 1], [1, 2, 2]])


@dataclass(frozen=True)
class Hull:
    """N convex polytopes by their corners (N, C, 3); a row is padded by repeating one."""

    corners: Array

    def support(self, directions: Array) -> tuple[Array, Array]:
        """The largest values (N, K) of functionals (N, K, 3), and corners (N, K, 3) of them."""
        heights = directions @ np.swapaxes(self.corners, 1, 2)
        best = heights.argmax(axis=2)
        return heights.max(axis=2), self.corners[np.arange(len(best))[:, None], best]

    def take(self, rows: Ints) -> Hull:
        """Some of the polytopes."""
        return Hull(self.corners[rows])


def distances(
    one: Trimmed, other: Trimmed | Hull, start: Array, end: Array, enough: Array | None = None
) -> tuple[Array, Array, Array]:
    """Distances of N pairs of bodies, from below (mm).

    Args:
        one: rods that do not miss their blanks.
        other: likewise, or polytopes.
        start: (N, 3) a point of each of `one`.
        end: (N, 3) a point of each of `other`.
        enough: (N,) mm; a pair ends when it is known whether its distance is less.

    Returns:
        (N,) bounds, within 1e-8 mm of the distance but to a face's plane, where the caller knows
        the exact one; 0 where they share a point; (N, 3) points of both that attain them.
    """
    count = len(start)
    found, places, others = np.zeros(count), start.copy(), end.copy()
    live = np.arange(count)
    near = start - end
    kept, held = np.repeat(near[:, None], 3, axis=1), np.zeros((count, 3), dtype=bool)
    held[:, 0] = True
    for _ in range(_MOST):
        length = _sizes(near)
        way = (near / np.maximum(length, 1e-300)[:, None])[:, None]
        (top, at), (reach, far) = one.support(-way), other.support(way)
        bound = -top[:, 0] - reach[:, 0]
        better = bound > found[live]
        rows = live[better]
        found[rows], places[rows], others[rows] = bound[better], at[better, 0], far[better, 0]
        new = at[:, 0] - far[:, 0]
        apart, shorter, beside = _shortest(new, kept, held)
        size = _sizes(shorter)
        open_ = apart & (size < length) & (length - found[live] > _CLOSE)
        if enough is not None:
            open_ &= (size >= enough[live]) & (found[live] < enough[live])
        if not open_.any():
            break
        still = np.flatnonzero(open_)
        if len(still) < len(live):
            one, other = one.take(still), other.take(still)
        live, near = live[still], shorter[still]
        kept, held = kept[still], beside[still]
        slot, row = held.argmin(axis=1), np.arange(len(live))
        kept[row, slot], held[row, slot] = new[still], True
    return found, places, others


def rods_apart(a: Rods, b: Rods, normals: Array, offsets: Array) -> tuple[Array, Array]:
    """Distances of pairs of rods within one blank a pair, from below (mm), and points halfway.

    Args:
        a: N rods.
        b: N rods.
        normals: (N, M, 3) planes of the blanks; all-zero rows pad.
        offsets: (N, M).

    Returns:
        (N,) as `distances`, inf where either misses the blank; (N, 3).
    """
    one, other = trimmed(a, normals, offsets), trimmed(b, normals, offsets)
    (low, start), (high, end) = one.support(a.axis[:, None]), other.support(b.axis[:, None])
    there = np.flatnonzero(np.isfinite(low[:, 0]) & np.isfinite(high[:, 0]))
    gaps, points = np.full(len(a), np.inf), (start[:, 0] + end[:, 0]) / 2
    found, places, others = distances(
        one.take(there), other.take(there), start[there, 0], end[there, 0]
    )
    gaps[there], points[there] = found, (places + others) / 2
    return gaps, points


def _shortest(
    new: Array, kept: Array, held: NDArray[np.bool_]
) -> tuple[NDArray[np.bool_], Array, NDArray[np.bool_]]:
    """The shortest vector of the hull of a new point (N, 3) and of those held of (N, 3, 3).

    Returns whether it is not the origin itself, the vectors, and which of the kept points the part
    of the hull has that it lies in, besides the new one.
    """
    count = len(new)
    edges = kept - new[:, None]
    found = np.full((count, 7, 3), np.inf)
    found[:, 0] = new
    with np.errstate(divide="ignore", invalid="ignore"):
        square = np.einsum("nki,nki->nk", edges, edges)
        along = -np.einsum("nki,ni->nk", edges, new)
        share = np.clip(along / square, 0.0, 1.0)
        fine = held & np.isfinite(share)
        found[:, 1:4] = np.where(fine[..., None], new[:, None] + share[..., None] * edges, np.inf)
        i, j = _PAIRS
        one, other = edges.take(i, axis=1), edges.take(j, axis=1)
        across = np.einsum("npi,npi->np", one, other)
        det = square[:, i] * square[:, j] - across * across
        a = (along[:, i] * square[:, j] - along[:, j] * across) / det
        b = (along[:, j] * square[:, i] - along[:, i] * across) / det
        inside = held[:, i] & held[:, j] & (a >= 0) & (b >= 0) & (a + b <= 1)
        # Square to both edges, to the last digit: a slant of it would cost wood at far corners.
        normals = crosses(one, other)
        heights = np.einsum("npi,ni->np", normals, new)
        flat = heights / np.einsum("npi,npi->np", normals, normals)
        found[:, 4:] = np.where(inside[..., None], flat[..., None] * normals, np.inf)
        # The origin within all four: its shares of the three edges.
        volume = np.einsum("ni,ni->n", edges[:, 0], normals[:, 2])
        shares = heights * np.array([-1.0, 1.0, -1.0]) / volume[:, None]
        within = held.all(axis=1) & (shares >= 0).all(axis=1) & (shares.sum(axis=1) <= 1)
    size = np.einsum("nki,nki->nk", found, found)
    best = size.argmin(axis=1)
    return ~within, found[np.arange(count), best], _BESIDES[best] & held


def _sizes(vectors: Array) -> Array:
    """Lengths (N,) of vectors (N, 3)."""
    found: Array = np.sqrt(np.einsum("ni,ni->n", vectors, vectors))
    return found
