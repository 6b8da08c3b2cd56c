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
    """A blank as two polygons in plan, one on the bottom face and one on the top face.

    A mitre slants an end in plan, a bevel moves it in by the bevel's tangent times the height,
    square to the mitre's line; positive ones leave the front edge and the bottom face the longer.
    """

    length: float
    width: float
    thickness: float
    left_mitre: float
    right_mitre: float
    left_bevel: float = 0.0
    right_bevel: float = 0.0
    front_bevel: float = 0.0
    back_bevel: float = 0.0

    def plan(self, top: bool) -> list[tuple[float, float]]:
        """Corners in plan of the top or the bottom face, counter-clockwise from the front left."""
        tan = {word: math.tan(math.radians(angle)) for word, angle in vars(self).items()}
        heights = (0.0, self.thickness)
        z = heights[top]

        def edges(z: float) -> tuple[float, float]:
            front, back = tan["front_bevel"], tan["back_bevel"]
            low, high = (min(t * h for h in heights) for t in (front, back))
            return front * z - low, self.width - (back * z - high)

        def taken(end: str, y: float, z: float) -> float:
            slope = tan[f"{end}_mitre"]
            return slope * y + tan[f"{end}_bevel"] * z * math.hypot(1.0, slope)

        def end(word: str, y: float) -> float:
            return taken(word, y, z) - min(taken(word, p, h) for h in heights for p in edges(h))

        front, back = edges(z)
        return [
            (end("left", front), front),
            (self.length - end("right", front), front),
            (self.length - end("right", back), back),
            (end("left", back), back),
        ]

    def corners(self) -> Mapping[str, list[Vec]]:
        """The polygon of every side."""
        low: list[Vec] = [(x, y, 0.0) for x, y in self.plan(top=False)]
        high: list[Vec] = [(x, y, self.thickness) for x, y in self.plan(top=True)]
        found = {TOP: high, BOTTOM: low[::-1]}
        for i, side in enumerate((FRONT, RIGHT, BACK, LEFT)):
            j = (i + 1) % 4
            found[side] = [low[i], low[j], high[j], high[i]]
        return found

    def solid(self) -> cq.Solid:
        """The blank."""
        shell = cq.Shell.makeShell(list(self.faces().values()))
        solid = cq.Solid.makeSolid(shell).fix()
        assert isinstance(solid, cq.Solid) and solid.isValid() and solid.Volume() > 0
        return solid

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
