"""How much wood is left: exact distances in closed form, vectorised over bores and faces.

A rod (a counterbore, a pilot, a screw) is a finite cylinder; a board's blank is a convex polytope.
What the rod takes out of the blank is their intersection V, a convex body, and the wall to a face
with outward normal n and offset d is

    wall = d - max { n . x : x in V }

V is a linear slab structure times one disc, so the maximum of a linear functional stands at one of

* a point of the rod's surface where one plane bounds the position along the axis (an ellipse, on
  which the functional has one maximum in closed form),
* a point of the rod's surface where two planes meet (a line and a cylinder: a quadratic),
* a vertex of the polytope inside the rod,

where the planes are the blank's and the rod's two flat ends. All candidates are computed, those
outside V are dropped, the largest is the maximum: no iteration, no sampling.

The wall to a face is taken without that face's own plane, so that a bore that breaks out has a
negative wall: how far it stands out. That keeps the wall a continuous function of the position.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from .geometry import Array, Ints, Plane, choices, crosses

# A candidate this far outside V (mm) still counts: that can only make a wall smaller.
_SLACK = 1e-7
_FLAT = 1e-12
_CAPS = np.array([[0.0, 0.0, -1.0], [0.0, 0.0, 1.0]])  # outward, along the rod


@dataclass(frozen=True)
class Rods:
    """N finite cylinders, all in one frame per row.

    Attributes:
        point: (N, 3) a point of the axis, mm.
        axis: (N, 3) unit direction.
        low: (N,) where the rod starts, mm from `point` along `axis`.
        high: (N,) where it ends.
        radius: (N,) mm.
    """

    point: Array
    axis: Array
    low: Array
    high: Array
    radius: Array

    def __len__(self) -> int:
        return len(self.radius)

    def take(self, rows: Ints) -> Rods:
        """Some of the rods."""
        return Rods(
            self.point[rows], self.axis[rows], self.low[rows], self.high[rows], self.radius[rows]
        )


def joined(*parts: Rods) -> Rods:
    """Rods one after the other, all in one frame."""
    return Rods(
        np.concatenate([part.point for part in parts]),
        np.concatenate([part.axis for part in parts]),
        np.concatenate([part.low for part in parts]),
        np.concatenate([part.high for part in parts]),
        np.concatenate([part.radius for part in parts]),
    )


def padded(rows: Sequence[Sequence[Plane]]) -> tuple[Array, Array]:
    """Planes as normals (N, M, 3) and offsets (N, M); short rows get a plane never reached."""
    width = max(len(row) for row in rows)
    normals, offsets = np.zeros((len(rows), width, 3)), np.ones((len(rows), width))
    given = np.array([(*plane.normal, plane.offset) for row in rows for plane in row]).reshape(
        -1, 4
    )
    filled = np.arange(width) < np.array([len(row) for row in rows])[:, None]
    normals[filled], offsets[filled] = given[:, :3], given[:, 3]
    return normals, offsets


def _cross_axes(axis: Array) -> tuple[Array, Array]:
    """Two unit vectors square to each axis, (N, 3) each."""
    helper = np.zeros_like(axis)
    helper[np.arange(len(axis)), np.argmin(np.abs(axis), axis=1)] = 1.0
    u = crosses(axis, helper)
    u /= np.linalg.norm(u, axis=1, keepdims=True)
    return u, crosses(axis, u)


@dataclass(frozen=True)
class Trimmed:
    """N rods within convex polytopes, each in its own frame, ready to be asked how far they reach.

    Attributes:
        rods: N rods.
        frame: (N, 3, 3) columns are the rod's own axes: two across, one along.
        place: (N, M) where each of the polytope's planes went; planes that a rod does not reach
            cannot bound it, and lie from A on.
        planes: (N, A + 2, 3) normals of the planes that it reaches and of its two ends.
        gaps: (N, A + 2) from the rod's point to them.
        corners: (N, C, 3) where two planes meet on the rod's surface, or three inside it.
        whole: (N, C) whether such a point is one.
        beyond: (N, C, A + 2) which planes it lies outside of.
        uses: (C, A + 2) which planes it lies on.
    """

    rods: Rods
    frame: Array
    place: Ints
    planes: Array
    gaps: Array
    corners: Array
    whole: NDArray[np.bool_]
    beyond: NDArray[np.bool_]
    uses: NDArray[np.bool_]

    def take(self, rows: Ints) -> Trimmed:
        """Some of the rods."""
        return Trimmed(
            self.rods.take(rows),
            self.frame[rows],
            self.place[rows],
            self.planes[rows],
            self.gaps[rows],
            self.corners[rows],
            self.whole[rows],
            self.beyond[rows],
            self.uses,
        )

    def support(self, directions: Array, without: Ints | None = None) -> tuple[Array, Array]:
        """The largest value of linear functionals.

        Args:
            directions: (N, K, 3) functionals.
            without: (N, K) index of the plane to leave out for this functional, or -1.

        Returns:
            The maxima (N, K), -inf where the rod misses the polytope, and points (N, K, 3) that
            attain them.
        """
        goals = directions @ self.frame
        left = self._left(directions, without)
        single, value = self._on_one_plane(goals, left)
        good = self._corners_left(left)
        with np.errstate(invalid="ignore"):
            height = np.where(good, goals @ np.swapaxes(self.corners, 1, 2), -np.inf)
        values = np.concatenate([value, height], axis=2)
        best = values.argmax(axis=2)
        rod, goal = np.arange(len(best))[:, None], np.arange(best.shape[1])
        corner = best - single.shape[2]
        local = np.where(
            (corner < 0)[..., None],
            single[rod, goal, np.minimum(best, single.shape[2] - 1)],
            self.corners[rod, np.maximum(corner, 0)] if self.corners.shape[1] else 0.0,
        )
        world = local @ np.swapaxes(self.frame, 1, 2) + self.rods.point[:, None]
        offset = (directions @ self.rods.point[..., None])[..., 0]
        return values[rod, goal, best] + offset, world

    def _left(self, directions: Array, without: Ints | None) -> Ints | None:
        """`without` by the new places; None where nothing that counts is left out."""
        if without is None:
            return None
        place = self.place[np.arange(len(without))[:, None], without]  # -1: any will do
        return np.where((without < 0) | (place >= self.gaps.shape[1] - 2), -1, place)

    def _on_one_plane(self, goals: Array, left: Ints | None) -> tuple[Array, Array]:
        """Points (N, K, A + 2, 3) on the surface and one plane, where each functional is largest.

        With their values, -inf where they are not in the polytope.
        """
        planes, count = self.planes, self.gaps.shape[1]
        usable, start, rise_x, rise_y = self._crossing
        # By coordinates: numpy is slow along axes of two or three.
        pull_x = goals[:, :, None, 0] - goals[:, :, None, 2] * rise_x
        pull_y = goals[:, :, None, 1] - goals[:, :, None, 2] * rise_y
        size, radius = np.hypot(pull_x, pull_y), self.rods.radius[:, None, None]
        level = size <= _FLAT
        size = np.where(level, 1.0, size)
        x = np.where(level, radius, radius * pull_x / size)
        y = np.where(level, 0.0, radius * pull_y / size)
        t = start - x * rise_x - y * rise_y
        points = np.stack([x, y, t], axis=3)
        rows = points.reshape(len(points), x.shape[1] * count, 3)
        over = rows @ np.swapaxes(planes, 1, 2)
        out = over.reshape(*x.shape, count) - self.gaps[:, None, None] > _SLACK
        fine = usable
        if left is not None:
            own = left[:, :, None] == np.arange(count)  # (N, K, A + 2)
            out &= ~own[:, :, None, :]
            fine = fine & ~own
        fine = fine & ~out.any(axis=3)
        return points, np.where(fine, np.einsum("nkmi,nki->nkm", points, goals), -np.inf)

    @cached_property
    def _crossing(self) -> tuple[NDArray[np.bool_], Array, Array, Array]:
        """(N, 1, A + 2) whether a plane crosses the rod, and where: at the axis, by x and by y."""
        lean = self.planes[:, None, :, 2]
        usable = np.abs(lean) > _FLAT
        slope = np.where(usable, 1.0 / np.where(usable, lean, 1.0), 0.0)
        rise_x, rise_y = (slope * self.planes[:, None, :, i] for i in (0, 1))
        return usable, slope * self.gaps[:, None], rise_x, rise_y

    @cached_property
    def _corners_within(self) -> NDArray[np.bool_]:
        """(N, 1, C): corners in the polytope."""
        return np.asarray((self.whole & ~self.beyond.any(axis=2))[:, None])

    def _corners_left(self, left: Ints | None) -> NDArray[np.bool_]:
        """(N, K or 1, C): corners in the polytope, or beyond the plane alone that is left out."""
        if left is None:
            return self._corners_within
        faults = self.beyond.sum(axis=2)
        rod, some = np.arange(len(left))[:, None], (left >= 0)[..., None]
        allowed = np.swapaxes(self.beyond, 1, 2)[rod, left] & some
        used = self.uses.T[left] & some
        return np.asarray(self.whole[:, None] & (faults[:, None, :] == allowed) & ~used)


def trimmed(rods: Rods, normals: Array, offsets: Array) -> Trimmed:
    """Rods within convex polytopes.

    Args:
        rods: N rods.
        normals: (N, M, 3) outward unit normals of the polytope's planes; an all-zero normal with
            a positive offset pads a row.
        offsets: (N, M) mm.
    """
    normals, offsets, place = _near_planes(rods, normals, offsets)
    n_rods, n_planes = offsets.shape
    u, v = _cross_axes(rods.axis)
    frame = np.stack([u, v, rods.axis], axis=2)
    planes = normals @ frame
    gaps = offsets - np.einsum("nmi,ni->nm", normals, rods.point)
    planes = np.concatenate([planes, np.broadcast_to(_CAPS, (n_rods, 2, 3))], axis=1)
    gaps = np.concatenate([gaps, np.stack([-rods.low, rods.high], axis=1)], axis=1)
    pairs, triples = choices(n_planes + 2)
    two, meets = _on_two_planes(rods, planes, gaps, pairs)
    three, sharp = _on_three_planes(rods, planes, gaps, triples)
    whole = np.concatenate([*meets, sharp], axis=1)
    corners = np.where(whole[..., None], np.concatenate([*two, three], axis=1), 0.0)
    beyond = corners @ np.swapaxes(planes, 1, 2) - gaps[:, None, :] > _SLACK
    return Trimmed(rods, frame, place, planes, gaps, corners, whole, beyond, _uses(n_planes + 2))


@lru_cache(maxsize=64)
def _uses(count: int) -> NDArray[np.bool_]:
    """Which of so many planes (C, count) each corner lies on."""
    pairs, triples = choices(count)
    lies_on = [(choice[..., None] == np.arange(count)).any(axis=1) for choice in (pairs, triples)]
    return np.concatenate([lies_on[0], *lies_on])


def _near_planes(rods: Rods, normals: Array, offsets: Array) -> tuple[Array, Array, Ints]:
    """Per rod only the planes that the rod reaches, first; the others cannot bound it.

    Returns the planes (N, A, 3), offsets (N, A), and where each plane went (N, M).
    """
    lean = np.einsum("nmi,ni->nm", normals, rods.axis)
    middle = np.einsum("nmi,ni->nm", normals, rods.point)
    ends = np.maximum(lean * rods.low[:, None], lean * rods.high[:, None])
    square = np.einsum("nmi,nmi->nm", normals, normals)
    side = rods.radius[:, None] * np.sqrt(np.maximum(square - lean * lean, 0.0))
    near = middle + ends + side > offsets - _SLACK
    keep = int(near.sum(axis=1).max(initial=0))
    order = np.argsort(~near, axis=1, kind="stable")
    place = np.argsort(order, axis=1)
    order = order[:, :keep]
    rod = np.arange(len(order))[:, None]
    return normals[rod, order], offsets[rod, order], place


def _on_two_planes(
    rods: Rods, planes: Array, gaps: Array, pairs: Ints
) -> tuple[list[Array], list[NDArray[np.bool_]]]:
    """Where the line of two planes passes the rod's surface: two points, and whether it does."""
    a, b = (planes.take(some, axis=1) for some in pairs.T)
    da, db = (gaps.take(some, axis=1)[..., None] for some in pairs.T)
    with np.errstate(divide="ignore", invalid="ignore"):
        line = crosses(a, b)
        square = np.einsum("nmi,nmi->nm", line, line)[..., None]
        foot = crosses(da * b - db * a, line) / square
        flat, near = line[..., :2], foot[..., :2]
        qa, qb, qc = (
            np.einsum("nmi,nmi->nm", *both) for both in ((flat, flat), (flat, near), (near, near))
        )
        qc -= rods.radius[:, None] ** 2
        root = np.sqrt(qb * qb - qa * qc)
        meets = (square[..., 0] > 1e-18) & (qa > 1e-18) & np.isfinite(root)
        two = [foot + ((-qb + sign * root) / qa)[..., None] * line for sign in (1.0, -1.0)]
    return two, [meets, meets]


def _on_three_planes(
    rods: Rods, planes: Array, gaps: Array, triples: Ints
) -> tuple[Array, NDArray[np.bool_]]:
    """Corners of three planes, and whether they lie inside the rod's surface."""
    a, b, c = (planes.take(some, axis=1) for some in triples.T)
    da, db, dc = (gaps.take(some, axis=1)[..., None] for some in triples.T)
    with np.errstate(divide="ignore", invalid="ignore"):
        bc = crosses(b, c)
        det = np.einsum("nmi,nmi->nm", a, bc)[..., None]
        corner = (da * bc + crosses(db * c - dc * b, a)) / det
        within = np.hypot(corner[..., 0], corner[..., 1]) <= rods.radius[:, None] + _SLACK
    return corner, (np.abs(det[..., 0]) > _FLAT) & within


def plane_gaps(
    rods: Rods, normals: Array, offsets: Array, cut_normals: Array, cut_offsets: Array
) -> tuple[Array, Array, Array, Array]:
    """Gaps of rods to the planes of their blanks and of its cuts, in one question (mm).

    Args:
        rods: N rods.
        normals: (N, M, 3) planes of the blank; all-zero rows pad.
        offsets: (N, M).
        cut_normals: (N, Q, 3) normals out of the cuts' regions, cut by cut; all-zero rows pad.
        cut_offsets: (N, Q).

    Returns:
        Walls (N, M), negative by how far a rod stands out, inf where it misses the blank, with the
        rod's nearest points (N, M, 3); gaps (N, Q) to the cuts' half-spaces, of which a cut's
        largest is a certified lower bound, with points (N, Q, 3).
    """
    width = offsets.shape[1]
    ways = np.concatenate([normals, -cut_normals], axis=1)
    without = np.full(ways.shape[:2], -1, dtype=np.intp)
    without[:, :width] = np.arange(width)
    top, points = trimmed(rods, normals, offsets).support(ways, without)
    return (
        offsets - top[:, :width],
        points[:, :width],
        -top[:, width:] - cut_offsets,
        points[:, width:],
    )


def meeting(
    rods: Rods, normals: Array, offsets: Array, cut_normals: Array, cut_offsets: Array
) -> NDArray[np.bool_]:
    """Whether each rod shares wood with a convex cut of its blank; arguments as `plane_gaps`."""
    normals = np.concatenate([normals, cut_normals], axis=1)
    padded = ~cut_normals.any(axis=2)
    offsets = np.concatenate([offsets, np.where(padded, 1.0, cut_offsets)], axis=1)
    top, _ = trimmed(rods, normals, offsets).support(rods.axis[:, None, :])
    met: NDArray[np.bool_] = np.isfinite(top[:, 0])
    return met


def clipped(rods: Rods, normals: Array, offsets: Array) -> Rods:
    """The rods cut down to the stretch of their axis that lies in the polytope (with their sides).

    A rod that misses the polytope comes back with `low > high`.
    """
    along = np.stack([rods.axis, -rods.axis], axis=1)
    top, _ = trimmed(rods, normals, offsets).support(along)
    start = np.sum(rods.axis * rods.point, axis=1)
    return Rods(rods.point, rods.axis, -top[:, 1] - start, top[:, 0] - start, rods.radius)


def balls_apart(a: Rods, b: Rods) -> Array:
    """Distances (N, M) between the balls about N rods and M others (mm), never more than theirs.

    A rod with `low > high` is nowhere near.
    """

    def balls(rods: Rods) -> tuple[Array, Array]:
        there = rods.low <= rods.high
        low, high = (np.where(there, end, 0.0) for end in (rods.low, rods.high))
        centre = rods.point + ((low + high) / 2)[:, None] * rods.axis
        return centre, np.where(there, rods.radius + (high - low) / 2, -np.inf)

    (p, r), (q, s) = balls(a), balls(b)
    apart: Array = np.linalg.norm(p[:, None] - q, axis=2) - r[:, None] - s
    return apart


def rod_distances(a: Rods, b: Rods) -> tuple[Array, Array]:
    """Certified lower bound on the distance between pairs of rods (mm), and a point between them.

    The distance of the two axes' stretches less both radii: exact where the rods pass each other
    sideways, smaller than the truth past a flat end. A rod with `low > high` is nowhere near.

    Returns:
        (N,) bounds and (N, 3) points halfway.
    """
    absent = (a.low > a.high) | (b.low > b.high)
    low, high, other_low, other_high = (
        np.where(absent, 0.0, end) for end in (a.low, a.high, b.low, b.high)
    )
    p, q = a.point + low[:, None] * a.axis, b.point + other_low[:, None] * b.axis
    d, e = (high - low)[:, None] * a.axis, (other_high - other_low)[:, None] * b.axis
    r = p - q
    dd, ee = np.sum(d * d, axis=1), np.sum(e * e, axis=1)
    de, dr, er = np.sum(d * e, axis=1), np.sum(d * r, axis=1), np.sum(e * r, axis=1)
    best = np.full(len(dd), np.inf)
    middle = np.zeros_like(p)

    def consider(s: Array, t: Array) -> None:
        s, t = np.clip(s, 0.0, 1.0)[:, None], np.clip(t, 0.0, 1.0)[:, None]
        x, y = p + s * d, q + t * e
        gap = np.linalg.norm(x - y, axis=1)
        closer = gap < best
        best[closer] = gap[closer]
        middle[closer] = ((x + y) / 2)[closer]

    with np.errstate(divide="ignore", invalid="ignore"):
        det = dd * ee - de * de
        inner = np.nan_to_num((de * er - ee * dr) / det, nan=0.0, posinf=0.0, neginf=0.0)
        zero, one = np.zeros_like(dd), np.ones_like(dd)
        safe_dd, safe_ee = np.where(dd > 0, dd, 1.0), np.where(ee > 0, ee, 1.0)
    s = np.clip(inner, 0.0, 1.0)
    consider(s, (de * s + er) / safe_ee)
    for t in (zero, one):
        consider((de * t - dr) / safe_dd, t)
    for s in (zero, one):
        consider(s, (de * s + er) / safe_ee)
    return np.where(absent, np.inf, best - a.radius - b.radius), middle
