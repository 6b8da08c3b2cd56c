"""A board as it lies on the bench or on a machine, a face up: all that is done to it from there.

back                     x to the right, y away from you, 0 at the front left
______________________            corner of the box about the blank; z is 0 on the face
|                      |           that lies up, and below zero in the wood
|      face up         |
|______________________|
(0, 0)     front
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from ..maths.geometry import Plane, Vec, cross, dot
from .board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, Cut, Hole, Side, Work
from .project import Bore

Point = tuple[float, float]

_X: Vec = (1.0, 0.0, 0.0)
_RIGHT: dict[Side, Vec] = {
    TOP: _X, BOTTOM: _X, FRONT: _X, BACK: (-1.0, 0.0, 0.0), LEFT: (0.0, -1.0, 0.0),
    RIGHT: (0.0, 1.0, 0.0),
}  # fmt: skip
"""Which way of the board is to the right with a face up: turned over about its length."""
_UP: dict[Side, Vec] = {
    TOP: (0.0, 0.0, 1.0), BOTTOM: (0.0, 0.0, -1.0), FRONT: (0.0, -1.0, 0.0),
    BACK: (0.0, 1.0, 0.0), LEFT: (-1.0, 0.0, 0.0), RIGHT: _X,
}  # fmt: skip
_SAME = 1e-6  # mm


@dataclass(frozen=True)
class Region:
    """What one piece of work takes out from the face that lies up.

    Attributes:
        work: the work.
        name: of what it takes out.
        outline: on that face, counter-clockwise (mm): on the blank, or as far outside of the box
            about it as was asked.
        depth: below the face (mm).
        through: whether it goes through the board.
        upright: whether all its walls stand upright, so that a straight cutter makes it.
        curve: centre and radius (mm) of the circle that the wood ends at, and whether what is taken
            lies within it; None where the outline says it all.
    """

    work: Work
    name: str
    outline: tuple[Point, ...]
    depth: float
    through: bool
    upright: bool
    curve: tuple[Point, float, bool] | None = None


@dataclass(frozen=True)
class Lying:
    """A board with a face up.

    Attributes:
        board: the board.
        side: that lies up.
    """

    board: Board
    side: Side

    @cached_property
    def axes(self) -> tuple[Vec, Vec, Vec]:
        """Right, away and up, in the board's frame."""
        right, up = _RIGHT[self.side], _UP[self.side]
        return right, cross(up, right), up

    @cached_property
    def beside(self) -> tuple[Side, Side, Side, Side]:
        """The sides to the right, away, to the left and near, as it lies."""
        right, away, _ = self.axes
        ways = (right, away, *(tuple(-a + 0.0 for a in axis) for axis in (right, away)))
        at_right, at_away, at_left, near = (next(s for s in _UP if _UP[s] == way) for way in ways)
        return at_right, at_away, at_left, near

    @cached_property
    def origin(self) -> Vec:
        """The least right and away, and the height of the face, along the axes (mm)."""
        size = (self.board.length, self.board.width, self.board.thickness)
        right, away, up = self.axes

        def least(axis: Vec) -> float:
            return sum(min(0.0, a * s) for a, s in zip(axis, size, strict=True))

        return least(right), least(away), -least((-up[0], -up[1], -up[2]))

    @cached_property
    def size(self) -> Vec:
        """Of the box about the blank: to the right, away, and down (mm)."""
        size = (self.board.length, self.board.width, self.board.thickness)
        wide, deep, thick = (
            sum(abs(a) * s for a, s in zip(axis, size, strict=True)) for axis in self.axes
        )
        return wide, deep, thick

    def at(self, point: Vec) -> Vec:
        """A point of the board's frame as it lies (mm)."""
        x, y, z = (dot(axis, point) - o for axis, o in zip(self.axes, self.origin, strict=True))
        return x, y, z

    def on_board(self, point: Vec) -> Vec:
        """A point as it lies, in the board's frame (mm)."""
        own = [value + start for value, start in zip(point, self.origin, strict=True)]
        x, y, z = (
            sum(a * v for a, v in zip(column, own, strict=True))
            for column in zip(*self.axes, strict=True)
        )
        return x, y, z

    def way(self, direction: Vec) -> Vec:
        """A direction of the board's frame as it lies."""
        x, y, z = (dot(axis, direction) for axis in self.axes)
        return x, y, z

    def plane(self, plane: Plane) -> Plane:
        """A plane of the board's frame as it lies."""
        normal = self.way(plane.normal)
        return Plane(normal, plane.offset - dot(normal, self.origin))

    def section(self, planes: Sequence[Plane], z: float = 0.0, around: float = 0.0) -> list[Point]:
        """Where convex half-spaces, as they lie, meet a level: counter-clockwise points (mm).

        Args:
            planes: outward; what is inside all of them.
            z: the level.
            around: how far the section may reach outside the box about the blank.
        """
        wide, deep, _ = self.size
        points: list[Point] = [
            (-around, -around), (wide + around, -around),
            (wide + around, deep + around), (-around, deep + around),
        ]  # fmt: skip
        for plane in planes:
            points = _clipped(points, plane, z)
        # Where three lines meet in a point, rounding leaves two.
        return [p for i, p in enumerate(points) if math.dist(p, points[i - 1]) > _SAME]

    @cached_property
    def outline(self) -> tuple[Point, ...]:
        """The blank on the face that lies up."""
        planes = [self.plane(f.plane) for f in self.board.faces if f.side != self.side]
        return tuple(self.section(planes))

    def regions(self, around: float = 0.0) -> Iterator[tuple[Region | Hole, Work]]:
        """What the board's work takes out from this face; holes as they are."""
        for work in self.board.work:
            for part in work.removes(self.board):
                if isinstance(part, Hole):
                    if dot(self.axes[2], part.inward) < -1 + 1e-9:
                        yield part, work
                    continue
                region = self._region(work, part, around)
                if region is not None:
                    yield region, work

    def _region(self, work: Work, part: Cut, around: float) -> Region | None:
        """A cut that is open upward; None for one that this face does not reach."""
        planes = [self.plane(face.plane) for face in part.faces]
        floors = [p for p in planes if p.normal[2] < -1e-9]
        if any(p.normal[2] > 1e-9 for p in planes):
            return None
        thick = self.size[2]
        flat = [p for p in floors if p.normal[2] < -1 + 1e-9]
        depth = min((p.offset for p in flat), default=thick)
        walls = [p for p in planes if p not in flat]
        if not around:
            own = [f.plane for f in self.board.faces if f.side != self.side]
            walls += [self.plane(plane) for plane in own]
        outline = tuple(self.section(walls, 0.0, around))
        if len(outline) < 3:
            return None
        through = depth >= thick - 1e-9
        curve = None
        if part.round is not None:
            x, y, _ = self.at(part.round.point)
            curve = (x, y), part.round.radius, part.round.hollow
        upright = len(floors) == len(flat)
        return Region(work, part.name, outline, min(depth, thick), through, upright, curve)

    def mouth(self, bore: Bore, parts: int = 24) -> list[Point]:
        """The outline of a pocket on this face, counter-clockwise (mm).

        An ellipse, cut off by the shoulder where that is high.
        """
        exit_, back = self.at(bore.exit), self.way(bore.back)
        radius = bore.drill.counterbore_radius
        return _ellipse(exit_, back, radius, bore.shoulder, parts)


def _clipped(points: Sequence[Point], plane: Plane, z: float) -> list[Point]:
    """A convex polygon at a level, cut by a half-space (Sutherland and Hodgman)."""
    a, b, c = plane.normal
    room = plane.offset - c * z
    kept: list[Point] = []
    for i, here in enumerate(points):
        before = points[i - 1]
        p, q = (room - a * x - b * y for x, y in (before, here))
        if (p < -1e-9) != (q < -1e-9) and abs(p - q) > 1e-12:
            t = p / (p - q)
            x, y = (m + (n - m) * t for m, n in zip(before, here, strict=True))
            kept.append((x, y))
        if q >= -1e-9:
            kept.append(here)
    return kept


def _ellipse(exit_: Vec, back: Vec, radius: float, shoulder: float, parts: int) -> list[Point]:
    """The section of a round bore with z = 0, from its shoulder outward."""
    flat = math.hypot(back[0], back[1])
    ux, uy = back[0] / flat, back[1] / flat
    middle = -exit_[2] / back[2]  # along the axis, where it comes out
    cx, cy = exit_[0] + middle * back[0], exit_[1] + middle * back[1]
    long = radius / back[2]
    # Along the face the shoulder's plane cuts where the axis' distance is the shoulder's.
    least = (shoulder - middle) / flat
    points = []
    for i in range(parts):
        a = 2 * math.pi * i / parts
        along, across = max(long * math.cos(a), least), radius * math.sin(a)
        if long * math.cos(a) < least:
            # On the shoulder's straight edge: as wide as the ellipse is there.
            share = max(0.0, 1 - (least / long) ** 2) ** 0.5 if abs(least) < long else 0.0
            across = max(-radius * share, min(radius * share, across))
        points.append((cx + along * ux - across * uy, cy + along * uy + across * ux))
    return points
