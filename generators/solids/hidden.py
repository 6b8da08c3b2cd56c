"""Views of solids as lines: what is in sight and what is hidden, by the kernel's own removal.

A view is square: the eye is far away, so lengths across the view are true to scale.
"""

from __future__ import annotations

from .kernel import cq  # first, for it says what is missing where the kernel does not load

# isort: split
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from OCP.BRepAdaptor import BRepAdaptor_Curve
from OCP.BRepLib import BRepLib
from OCP.GCPnts import GCPnts_QuasiUniformDeflection
from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
from OCP.HLRAlgo import HLRAlgo_Projector
from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape
from OCP.TopoDS import TopoDS_Shape

from ...models.maths.geometry import Pose, Vec, cross, unit

Point = tuple[float, float]
Path = tuple[Point, ...]


@dataclass(frozen=True)
class Look:
    """Where a view is seen from.

    Attributes:
        towards_eye: direction from the piece to the eye.
        up: direction that points upward in the view, roughly.
    """

    towards_eye: Vec
    up: Vec = (0.0, 0.0, 1.0)

    @property
    def frame(self) -> tuple[Vec, Vec, Vec]:
        """Unit directions in the view: to the right, upward, to the eye."""
        eye = unit(self.towards_eye)
        right = unit(cross(self.up, eye))
        return right, cross(eye, right), eye

    def on(self, stand: Pose) -> Look:
        """The same look at a piece that stands otherwise."""
        return Look(stand.direction(self.towards_eye), stand.direction(self.up))

    def at(self, point: Vec) -> Point:
        """Where a point is seen (mm)."""
        right, up, _ = self.frame
        x, y = (sum(a * b for a, b in zip(axis, point, strict=True)) for axis in (right, up))
        return (x, y)


FRONT, TOP, RIGHT = (
    Look((0.0, -1.0, 0.0)), Look((0.0, 0.0, 1.0), (0.0, 1.0, 0.0)), Look((1.0, 0.0, 0.0)),
)  # fmt: skip
CORNER = Look((0.62, -1.0, 0.52))
"""From the front, the right and above; what stands upright is upright in the view."""


@dataclass(frozen=True)
class Lines:
    """A solid's edges in a view, mm; `outline` and `hidden` are paths of points."""

    outline: tuple[Path, ...]
    hidden: tuple[Path, ...]


def seen(solids: Mapping[str, cq.Shape], look: Look, chord: float = 0.5) -> Mapping[str, Lines]:
    """Every solid's lines in a view of all of them.

    Args:
        solids: placed, by name.
        look: where from.
        chord: how far a path may lie off a curve, mm.
    """
    right, _, eye = look.frame
    algorithm = HLRBRep_Algo()
    for solid in solids.values():
        algorithm.Add(solid.wrapped)
    axes = gp_Ax2(gp_Pnt(0.0, 0.0, 0.0), gp_Dir(*eye), gp_Dir(*right))
    algorithm.Projector(HLRAlgo_Projector(axes))
    algorithm.Update()
    algorithm.Hide()
    shapes = HLRBRep_HLRToShape(algorithm)
    return {
        name: Lines(
            tuple(_paths(shapes, ("VCompound", "OutLineVCompound"), solid, chord)),
            tuple(_paths(shapes, ("HCompound", "OutLineHCompound"), solid, chord)),
        )
        for name, solid in solids.items()
    }


def _paths(shapes: Any, kinds: tuple[str, ...], solid: cq.Shape, chord: float) -> Iterator[Path]:
    for kind in kinds:
        found: TopoDS_Shape | None = getattr(shapes, kind)(solid.wrapped)
        if found is None or found.IsNull():
            continue
        BRepLib.BuildCurves3d_s(found)
        for edge in cq.Shape.cast(found).Edges():
            curve = BRepAdaptor_Curve(edge.wrapped)
            if edge.geomType() == "LINE":
                ends = (curve.Value(curve.FirstParameter()), curve.Value(curve.LastParameter()))
                yield tuple((p.X(), p.Y()) for p in ends)
            else:
                points = GCPnts_QuasiUniformDeflection(curve, chord)
                yield tuple(
                    (p.X(), p.Y()) for p in (points.Value(i + 1) for i in range(points.NbPoints()))
                )
