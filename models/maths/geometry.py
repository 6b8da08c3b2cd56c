"""Points, planes and poses: the few pieces of vector geometry that everything shares."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Vec = tuple[float, float, float]
Array = NDArray[np.float64]
Ints = NDArray[np.intp]

_ON = 1e-7  # mm that a corner may lie outside a plane
_NEXT, _LAST = np.array([1, 2, 0]), np.array([2, 0, 1])  # axes, for vector products


def vec(values: Array | list[float] | Vec) -> Vec:
    """Three plain floats, so that frozen dataclasses compare and hash."""
    x, y, z = (float(v) for v in values)
    return (x, y, z)


def unit(v: Vec) -> Vec:
    """The vector at length one."""
    size = math.sqrt(v[0] ** 2 + v[1] ** 2 + v[2] ** 2)
    return (v[0] / size, v[1] / size, v[2] / size)


def dot(a: Vec, b: Vec) -> float:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vec, b: Vec) -> Vec:
    """Vector product."""
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def along(p: Vec, direction: Vec, distance: float) -> Vec:
    """The point at a distance (mm) from `p` in a direction."""
    return (
        p[0] + distance * direction[0],
        p[1] + distance * direction[1],
        p[2] + distance * direction[2],
    )


def lean(axis: Vec, normal: Vec) -> float:
    """How far a cylinder reaches past a plane that cuts its axis, in mm per mm of radius."""
    across = abs(dot(axis, normal))
    return float((max(0.0, 1.0 - across * across)) ** 0.5 / across)


def crosses(a: Array, b: Array) -> Array:
    """np.cross along the last axis, without its overhead on small arrays."""
    here: Array = a.take(_NEXT, axis=-1) * b.take(_LAST, axis=-1)
    return here - a.take(_LAST, axis=-1) * b.take(_NEXT, axis=-1)


def vertices(normals: Array, offsets: Array) -> Array:
    """Corners (V, 3) of the polytope within M planes (M, 3), offsets (M,), in mm; V may be 0."""
    triples = choices(len(offsets))[1]
    a, b, c = (normals[triples[:, i]] for i in range(3))
    bc = crosses(b, c)
    det = np.sum(a * bc, axis=1)
    sharp = np.abs(det) > 1e-9
    triples, a, b, c, bc, det = (m[sharp] for m in (triples, a, b, c, bc, det))
    da, db, dc = (offsets[triples[:, i], None] for i in range(3))
    corners = (da * bc + db * crosses(c, a) + dc * crosses(a, b)) / det[:, None]
    fine = (corners @ normals.T - offsets <= _ON).all(axis=1)
    unique: Array = np.unique(np.round(corners[fine], 9), axis=0)
    return unique


@lru_cache(maxsize=64)
def choices(count: int) -> tuple[Ints, Ints]:
    """Index pairs (P, 2) and triples (Q, 3) out of so many."""
    pairs = np.array(list(combinations(range(count), 2)), dtype=np.intp).reshape(-1, 2)
    triples = np.array(list(combinations(range(count), 3)), dtype=np.intp).reshape(-1, 3)
    return pairs, triples


def turned(v: Vec, axis: Vec, degrees: float) -> Vec:
    """`v` turned about a unit axis, right-handed (Rodrigues' formula)."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    k = dot(axis, v) * (1 - c)
    w = cross(axis, v)
    return (
        v[0] * c + w[0] * s + axis[0] * k,
        v[1] * c + w[1] * s + axis[1] * k,
        v[2] * c + w[2] * s + axis[2] * k,
    )


@dataclass(frozen=True)
class Plane:
    """The half-space `normal . x <= offset` (mm); `normal` has length one."""

    normal: Vec
    offset: float

    def gap(self, p: Vec) -> float:
        """Distance (mm) from the point to the plane, positive inside the half-space."""
        return self.offset - dot(self.normal, p)

    @property
    def flipped(self) -> Plane:
        """The half-space on the other side."""
        x, y, z = self.normal
        return Plane((-x, -y, -z), -self.offset)


@dataclass(frozen=True)
class Pose:
    """Where a board stands: its origin and the directions of its x and y axes (length one)."""

    origin: Vec = (0.0, 0.0, 0.0)
    x: Vec = (1.0, 0.0, 0.0)
    y: Vec = (0.0, 1.0, 0.0)

    @cached_property
    def z(self) -> Vec:
        """Direction of the board's z axis (through its thickness)."""
        return cross(self.x, self.y)

    @cached_property
    def matrix(self) -> Array:
        """Rotation (3, 3): columns are the board's axes in the project's frame."""
        return np.array([self.x, self.y, self.z]).T

    def point(self, p: Vec) -> Vec:
        """A point of the board in the project's frame (mm)."""
        d = self.direction(p)
        return (d[0] + self.origin[0], d[1] + self.origin[1], d[2] + self.origin[2])

    def direction(self, v: Vec) -> Vec:
        """A direction of the board in the project's frame."""
        x, y, z = self.x, self.y, self.z
        return (
            v[0] * x[0] + v[1] * y[0] + v[2] * z[0],
            v[0] * x[1] + v[1] * y[1] + v[2] * z[1],
            v[0] * x[2] + v[1] * y[2] + v[2] * z[2],
        )

    def local_point(self, p: Vec) -> Vec:
        """A point of the project's frame in the board's (mm)."""
        o = self.origin
        return self.local_direction((p[0] - o[0], p[1] - o[1], p[2] - o[2]))

    def local_direction(self, v: Vec) -> Vec:
        """A direction of the project's frame in the board's."""
        return (dot(v, self.x), dot(v, self.y), dot(v, self.z))

    def plane(self, plane: Plane) -> Plane:
        """A plane of the board in the project's frame."""
        normal = self.direction(plane.normal)
        return Plane(normal, plane.offset + dot(normal, self.origin))

    def then(self, outer: Pose) -> Pose:
        """This pose carried along when its frame is itself put at `outer`."""
        return Pose(outer.point(self.origin), outer.direction(self.x), outer.direction(self.y))


ORIGIN = Pose()
"""The pose of a board that lies as it is drawn."""
