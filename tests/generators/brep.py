"""Boards, rods and distances built on the bare kernel, by a second hand.

Nothing here comes from generators/ or from the closed form: a blank is a polygon pushed through its
thickness, a cut is a box, a bore is two cylinders. What agrees with this is not merely consistent.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import cadquery as cq
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.Extrema import Extrema_ExtAlgo_Grad, Extrema_ExtFlag_MIN

from slantbore.models.maths.geometry import Vec
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP

BEYOND = 30.0  # mm that cylinders and boxes reach past the wood
Bounds = tuple[float | None, float | None]


@dataclass(frozen=True)
class Box:
    """A cut: least and greatest x, y and z, None where it runs out of the board."""

    name: str
    x: Bounds
    y: Bounds
    z: Bounds

    def planes(self) -> dict[str, tuple[Vec, float]]:
        """Part to (normal out of the region, offset): what `models.board.cut` takes."""
        found: dict[str, tuple[Vec, float]] = {}
        for i, (low, high) in enumerate((self.x, self.y, self.z)):
            axis = [float(i == j) for j in range(3)]
            if low is not None:
                found[f"{'xyz'[i]} low"] = ((-axis[0], -axis[1], -axis[2]), -low)
            if high is not None:
                found[f"{'xyz'[i]} high"] = ((axis[0], axis[1], axis[2]), high)
        return found

    def holds(self, p: Sequence[float], slack: float = 0.0) -> bool:
        """Whether a point lies in the region."""
        return all(
            (low is None or at >= low - slack) and (high is None or at <= high + slack)
            for at, (low, high) in zip(p, (self.x, self.y, self.z), strict=True)
        )

    def solid(self, length: float, width: float, thickness: float) -> cq.Solid:
        """The region, closed off well outside a board of this size."""
        sides = []
        for (low, high), size in zip(
            (self.x, self.y, self.z), (length, width, thickness), strict=True
        ):
            a = -BEYOND if low is None else low
            b = size + BEYOND if high is None else high
            sides.append((a, b))
        (x0, x1), (y0, y1), (z0, z1) = sides
        return cq.Solid.makeBox(x1 - x0, y1 - y0, z1 - z0, cq.Vector(x0, y0, z0))


@dataclass(frozen=True)
class Prism:
    """A blank as a polygon in plan and a thickness; mitres as `models.board.blank` has them."""

    length: float
    width: float
    thickness: float
    left_mitre: float
    right_mitre: float

    @property
    def plan(self) -> list[tuple[float, float]]:
        """Corners in plan, counter-clockwise from the front left."""
        left = self.width * math.tan(math.radians(self.left_mitre))
        right = self.width * math.tan(math.radians(self.right_mitre))
        return [
            (max(0.0, -left), 0.0),
            (self.length - max(0.0, -right), 0.0),
            (self.length - max(0.0, right), self.width),
            (max(0.0, left), self.width),
        ]

    def corners(self) -> Mapping[str, list[Vec]]:
        """The polygon of every side."""
        a, b, c, d = self.plan
        t = self.thickness
        found: dict[str, list[Vec]] = {
            TOP: [(x, y, t) for x, y in self.plan],
            BOTTOM: [(x, y, 0.0) for x, y in self.plan],
        }
        for side, (p, q) in {FRONT: (a, b), RIGHT: (b, c), BACK: (c, d), LEFT: (d, a)}.items():
            found[side] = [(*p, 0.0), (*q, 0.0), (*q, t), (*p, t)]
        return found

    def solid(self) -> cq.Solid:
        """The blank."""
        wire = polygon([(x, y, 0.0) for x, y in self.plan])
        return cq.Solid.extrudeLinear(wire, [], cq.Vector(0, 0, self.thickness))

    def faces(self) -> Mapping[str, cq.Face]:
        """A flat face on the polygon of every side."""
        return {
            side: cq.Face(BRepBuilderAPI_MakeFace(polygon(corners).wrapped, True).Face())
            for side, corners in self.corners().items()
        }


def polygon(points: Sequence[Vec]) -> cq.Wire:
    """A closed wire."""
    return cq.Wire.makePolygon([cq.Vector(*p) for p in points], close=True)


def cylinder(point: Vec, axis: Vec, low: float, high: float, radius: float) -> cq.Solid:
    """A round rod from `low` to `high` along an axis through a point."""
    start = cq.Vector(*point) + cq.Vector(*axis) * low
    return cq.Solid.makeCylinder(radius, high - low, start, cq.Vector(*axis))


def shared(a: cq.Shape, b: cq.Shape) -> cq.Shape | None:
    """What two solids share; None when that has no volume."""
    common = BRepAlgoAPI_Common(a.wrapped, b.wrapped)
    shape = cq.Shape.cast(common.Shape())
    return shape if shape.Solids() else None


def distance(a: cq.Shape, b: cq.Shape) -> tuple[float, Vec]:
    """Least distance between two shapes, and the point of `a` that attains it."""
    found = BRepExtrema_DistShapeShape(
        a.wrapped, b.wrapped, Extrema_ExtFlag_MIN, Extrema_ExtAlgo_Grad
    )
    near = found.PointOnShape1(1)
    return found.Value(), (near.X(), near.Y(), near.Z())
