"""Where boards share wood, and where their faces lie on each other: in closed form, without bores.

Boards are taken as their convex pieces (convex.py). Two boards overlap as deep as one of them would
have to move for the two only to touch.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ..maths.geometry import Array, Plane, Vec, along, cross, dot, unit, vec
from .board import Board, Side
from .convex import Convex, convex, separation

# What the kernel does not tell from touching either (mm, mm2).
TOUCHING = 1e-6
NO_AREA = 1e-6
_PARALLEL = 1e-9
_FAR = 1e6  # mm; larger than any board


class Overlap(NamedTuple):
    """Two boards that share wood.

    Attributes:
        first: name of the board that stands first in the project.
        second: name of the other one.
        depth: how far one would have to move for them to touch, mm.
        point: in the middle of what they share, project's frame (mm).
    """

    first: str
    second: str
    depth: float
    point: Vec


def overlaps(solids: Mapping[str, Sequence[Convex]]) -> Iterator[Overlap]:
    """Every two boards that share wood, in the order of the boards.

    Args:
        solids: per board its convex pieces where it stands, in the project's order.
    """
    parts = [part for some in solids.values() for part in some]
    owner = np.repeat(np.arange(len(solids)), [len(some) for some in solids.values()])
    deepest: dict[tuple[int, int], tuple[float, Convex, Convex]] = {}
    for i, j in _unparted(parts, *_near(parts, owner)):
        depth = -separation(parts[i], parts[j])
        key = (int(owner[i]), int(owner[j]))
        if depth > TOUCHING and depth > deepest.get(key, (0.0,))[0]:
            deepest[key] = (depth, parts[i], parts[j])
    names = list(solids)
    for (a, b), (depth, one, other) in sorted(deepest.items(), key=lambda item: item[0]):
        yield Overlap(names[a], names[b], depth, _middle(one, other))


def _near(
    parts: Sequence[Convex], owner: NDArray[np.intp]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Numbers of the pieces, pair by pair, of two boards, whose boxes overlap; sorted along x."""
    boxes = np.array([part.box for part in parts]).reshape(-1, 2, 3)
    order = np.argsort(boxes[:, 0, 0], kind="stable")
    starts = boxes[order, 0, 0]
    ends = np.searchsorted(starts, boxes[order, 1, 0] - TOUCHING)
    counts = np.maximum(ends - np.arange(len(order)) - 1, 0)
    first = np.repeat(np.arange(len(order)), counts)
    within = np.arange(len(first)) - np.repeat(np.cumsum(counts) - counts, counts)
    a, b = order[first], order[first + 1 + within]
    low, high = boxes[:, 0], boxes[:, 1]
    meet = ((low[a] < high[b] - TOUCHING) & (low[b] < high[a] - TOUCHING)).all(axis=1)
    meet &= owner[a] != owner[b]
    return np.minimum(a, b)[meet], np.maximum(a, b)[meet]


def _unparted(
    parts: Sequence[Convex], first: NDArray[np.intp], second: NDArray[np.intp]
) -> list[tuple[int, int]]:
    """The pairs of pieces that no face of either keeps apart."""
    if not len(first):
        return []
    faces = max(len(part.offsets) for part in parts)
    spots = max(len(part.corners) for part in parts)
    # Filled up with what changes nothing: a face or a corner that is there already.
    normals = np.array([_filled(part.normals, faces) for part in parts])
    offsets = np.array([_filled(part.offsets, faces) for part in parts])
    corners = np.array([_filled(part.corners, spots) for part in parts])

    def parted(a: NDArray[np.intp], b: NDArray[np.intp]) -> NDArray[np.bool_]:
        nearest = (normals[a] @ np.swapaxes(corners[b], 1, 2)).min(axis=2)
        out: NDArray[np.bool_] = (nearest >= offsets[a] - TOUCHING).any(axis=1)
        return out

    left = ~(parted(first, second) | parted(second, first))
    return [(int(i), int(j)) for i, j in zip(first[left], second[left], strict=True)]


def _filled(rows: Array, count: int) -> Array:
    return np.concatenate([rows, np.repeat(rows[:1], count - len(rows), axis=0)])


def _middle(a: Convex, b: Convex) -> Vec:
    """A point in the middle of what two pieces share."""
    planes = [
        Plane(vec(n), float(d))
        for part in (a, b)
        for n, d in zip(part.normals, part.offsets, strict=True)
    ]
    shared = convex(planes)
    if shared is not None:
        return vec(shared.corners.mean(axis=0))
    low, high = np.maximum(a.box[0], b.box[0]), np.minimum(a.box[1], b.box[1])
    return vec((low + high) / 2)


# --- faces ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Surface:
    """A face of a board where it stands; a cut's face lies within the cut's region.

    Attributes:
        plane: outward.
        region: of its cut, none for a face of the blank.
        parts: the board's convex pieces that have a face on the plane.
    """

    plane: Plane
    region: tuple[Plane, ...]
    parts: tuple[Convex, ...]

    @property
    def corners(self) -> Array:
        """Corners of the pieces on the plane, (N, 3) mm."""
        some = np.concatenate([part.corners for part in self.parts])
        on: Array = some[abs(some @ np.array(self.plane.normal) - self.plane.offset) < TOUCHING]
        return on

    @property
    def bounds(self) -> Iterator[list[Plane]]:
        """Per piece the planes that bound what it has on the plane."""
        for part in self.parts:
            yield [*fences(part, self.plane), *self.region]

    @property
    def area(self) -> float:
        """Of the face, mm2."""
        return sum(area_within(self.plane, bounds) for bounds in self.bounds)


def surface(board: Board, side: Side, parts: Iterable[Convex]) -> Surface:
    """A face of a board by its side, also a cut's.

    Raises:
        KeyError: the board has no such side.
    """
    plane = board.pose.plane(board.outward(side))
    normal = np.array(plane.normal)
    on = (
        part
        for part in parts
        if np.any(
            (part.normals @ normal > 1 - _PARALLEL) & (abs(part.offsets - plane.offset) < TOUCHING)
        )
    )
    return Surface(plane, tuple(map(board.pose.plane, board.region(side))), tuple(on))


def shared_area(a: Surface, b: Surface, enough: float = math.inf) -> float:
    """Area (mm2) that two faces in one plane share; no more is measured than is `enough`."""
    total = 0.0
    for one, other in product(a.bounds, b.bounds):
        total += area_within(a.plane, [*one, *other])
        if total > enough:
            break
    return total


def fences(part: Convex, plane: Plane) -> Iterator[Plane]:
    """The planes of a piece that bound its face on one of them."""
    beside = abs(part.normals @ np.array(plane.normal)) < 1 - _PARALLEL
    for normal, offset in zip(part.normals[beside], part.offsets[beside], strict=True):
        yield Plane(vec(normal), float(offset))


def hanging_together(parts: Sequence[Convex]) -> list[list[Convex]]:
    """The pieces of one board in groups that hang together by faces, the largest group first."""
    groups = [[part] for part in parts]
    for one, other in combinations(parts, 2):
        mine, its = (next(g for g in groups if any(p is part for p in g)) for part in (one, other))
        if mine is not its and _share_a_face(one, other):
            mine += its
            groups = [group for group in groups if group is not its]
    return sorted(groups, key=lambda group: -sum(volume(part) for part in group))


def _share_a_face(a: Convex, b: Convex) -> bool:
    if (a.box[0] > b.box[1] + TOUCHING).any() or (b.box[0] > a.box[1] + TOUCHING).any():
        return False
    facing = a.normals @ b.normals.T < _PARALLEL - 1
    facing &= abs(a.offsets[:, None] + b.offsets) < TOUCHING
    for i in np.flatnonzero(facing.any(axis=1)):
        plane = Plane(vec(a.normals[i]), float(a.offsets[i]))
        if area_within(plane, [*fences(a, plane), *fences(b, plane)]) > NO_AREA:
            return True
    return False


def volume(part: Convex) -> float:
    """Of a convex piece, mm3: a pyramid from its middle to each of its faces."""
    middle = part.corners.mean(axis=0)
    total = 0.0
    for normal, offset in zip(part.normals, part.offsets, strict=True):
        plane = Plane(vec(normal), float(offset))
        total += area_within(plane, fences(part, plane)) * plane.gap(vec(middle)) / 3
    return total


def area_within(plane: Plane, bounds: Iterable[Plane]) -> float:
    """Area (mm2) of that part of a plane that lies inside all of some half-spaces."""
    n = plane.normal
    across = unit(cross(n, (1.0, 0.0, 0.0) if abs(n[0]) < 0.7 else (0.0, 1.0, 0.0)))
    up = cross(n, across)
    middle = along((0.0, 0.0, 0.0), n, plane.offset)
    corners = [
        along(along(middle, across, x * _FAR), up, y * _FAR)
        for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    for bound in bounds:
        corners = _clipped(corners, bound)
    total = (0.0, 0.0, 0.0)
    for p, q in zip(corners[1:], corners[2:], strict=False):
        o = corners[0]
        one = (p[0] - o[0], p[1] - o[1], p[2] - o[2])
        two = (q[0] - o[0], q[1] - o[1], q[2] - o[2])
        total = along(total, cross(one, two), 0.5)
    return abs(dot(total, n))


def _clipped(corners: list[Vec], fence: Plane) -> list[Vec]:
    """A convex polygon cut by a half-space (Sutherland and Hodgman)."""
    kept: list[Vec] = []
    for i, here in enumerate(corners):
        before = corners[i - 1]
        a, b = fence.gap(before), fence.gap(here)
        if (a < 0) != (b < 0):
            way = (here[0] - before[0], here[1] - before[1], here[2] - before[2])
            kept.append(along(before, way, a / (a - b)))
        if b >= 0:
            kept.append(here)
    return kept
