"""The distance from a rod within a convex blank to a convex polytope: a face's polygon, a cut.

Both are convex, so their distance is the length of the shortest vector of the convex body of all
differences, and every direction w bounds it from below:

    distance >= (min { w . x : x in rod and blank } - max { w . k : k in polytope }) / |w|

Both extremes are closed form. Starting from one difference, the farthest along -w is added, the
shortest vector of the convex hull of at most four of them is the next w, and the bound meets its
length: the distance algorithm of Gilbert, Johnson and Keerthi (1988), here for many pairs at once.
What is given back is the bound, so that it never says more than there is.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from .clearance import Rods, trimmed
from .geometry import Array, crosses

_CLOSE = 1e-8  # mm between bound and length that ends the search
_MOST = 80  # steps; a curved rim takes some fifteen
# Which of three kept points a face, edge or corner of the hull has besides the new point.
_BESIDES = np.array(
    [[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1], [1, 1, 0], [1, 0, 1], [0, 1, 1]], dtype=bool
)
_PAIRS = np.array([[0, 0, 1], [1, 2, 2]])


def distances(
    rods: Rods,
    normals: Array,
    offsets: Array,
    corners: Array,
    points: Array,
    enough: Array | None = None,
) -> tuple[Array, Array]:
    """Distance from each rod within its blank to a convex polytope, from below (mm).

    Args:
        rods: N rods that do not miss their blanks.
        normals: (N, M, 3) planes of the blanks; all-zero rows pad.
        offsets: (N, M).
        corners: (N, C, 3) of the polytopes; a row is padded by repeating one.
        points: (N, 3) a point of each rod within its blank, to start from.
        enough: (N,) mm; a row ends when it is known whether its distance is less.

    Returns:
        (N,) bounds, within 1e-8 mm of the distance but to a face's plane, where the caller knows
        the exact one; 0 where they share a point; (N, 3) points of the rods that attain them.
    """
    count = len(rods)
    found, places = np.zeros(count), points.copy()
    live = np.arange(count)
    gaps = np.linalg.norm(corners - points[:, None], axis=2)
    near = points - corners[live, gaps.argmin(axis=1)]
    kept, held = np.repeat(near[:, None], 3, axis=1), np.zeros((count, 3), dtype=bool)
    held[:, 0] = True
    bodies = trimmed(rods, normals, offsets)
    for _ in range(_MOST):
        length = np.linalg.norm(near, axis=1)
        way = near / np.maximum(length, 1e-300)[:, None]
        top, at = bodies.support(-way[:, None])
        reach = np.einsum("nci,ni->nc", corners[live], way)
        far = reach.argmax(axis=1)
        bound = -top[:, 0] - reach.max(axis=1)
        better = bound > found[live]
        found[live[better]], places[live[better]] = bound[better], at[better, 0]
        new = at[:, 0] - corners[live, far]
        apart, shorter, beside = _shortest(new, kept, held)
        size = np.linalg.norm(shorter, axis=1)
        open_ = apart & (size < length) & (length - found[live] > _CLOSE)
        if enough is not None:
            open_ &= (size >= enough[live]) & (found[live] < enough[live])
        if not open_.any():
            break
        live, near, bodies = live[open_], shorter[open_], bodies.take(np.flatnonzero(open_))
        kept, held, new = kept[open_], beside[open_], new[open_]
        slot = held.argmin(axis=1)
        row = np.arange(len(live))
        kept[row, slot], held[row, slot] = new, True
    return found, places


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
        square = np.sum(edges * edges, axis=2)
        along = -np.einsum("nki,ni->nk", edges, new)
        share = np.clip(along / square, 0.0, 1.0)
        fine = held & np.isfinite(share)
        found[:, 1:4] = np.where(fine[..., None], new[:, None] + share[..., None] * edges, np.inf)
        i, j = _PAIRS
        across = np.sum(edges[:, i] * edges[:, j], axis=2)
        det = square[:, i] * square[:, j] - across * across
        a = (along[:, i] * square[:, j] - along[:, j] * across) / det
        b = (along[:, j] * square[:, i] - along[:, i] * across) / det
        inside = held[:, i] & held[:, j] & (a >= 0) & (b >= 0) & (a + b <= 1)
        # Square to both edges, to the last digit: a slant of it would cost wood at far corners.
        normals = crosses(edges[:, i], edges[:, j])
        heights = np.einsum("npi,ni->np", normals, new)
        flat = heights / np.sum(normals * normals, axis=2)
        found[:, 4:] = np.where(inside[..., None], flat[..., None] * normals, np.inf)
        # The origin within all four: its shares of the three edges.
        volume = np.sum(edges[:, 0] * normals[:, 2], axis=1)
        shares = heights * np.array([-1.0, 1.0, -1.0]) / volume[:, None]
        within = held.all(axis=1) & (shares >= 0).all(axis=1) & (shares.sum(axis=1) <= 1)
    size = np.sum(found * found, axis=2)
    best = size.argmin(axis=1)
    return ~within, found[np.arange(count), best], _BESIDES[best] & held
