"""A program's stock after its run, held against the solid that it should leave."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import contains_xy

from ...models.maths.geometry import Array, along, cross, unit
from ...models.piece.lie import Lying
from ..solids.kernel import cq
from ..solids.meshing import mesh_of
from ..solids.solids import turned_solid, unbored_solid
from .cutters import Machine
from .moves import Program
from .paths import Slot
from .setup import Setup
from .simulate import Fault, Stock, heights_of, run

CELL = 0.5  # mm
GOUGE = 0.1  # mm
_HIGH = 60.0  # mm above the face


@dataclass(frozen=True)
class Proof:
    """What a run says.

    Attributes:
        faults: of the moves, and gouges.
        gouge: deepest cut into wood that should stay, mm.
        left: wood that should be gone and is still there, where nothing says so, mm3.
    """

    faults: tuple[Fault, ...]
    gouge: float
    left: float


def proven(setup: Setup, program: Program, machine: Machine, margin: float) -> Proof:
    """Run a program and compare with the board's solid, its pockets as slots.

    Args:
        setup: what was programmed.
        program: to run.
        machine: that it is for.
        margin: of stock around the board, mm.
    """
    stock = run(program, Stock.of(program.size, CELL, 2.0))
    wanted = target(setup, stock, margin)
    xs, ys = stock.centres()
    x, y = np.meshgrid(xs - margin, ys - margin, indexing="ij")
    shape = setup.operations[-1].shape if setup.operations else None
    inside = contains_xy(shape.buffer(-CELL), x, y) if shape is not None else wanted > -np.inf
    known = inside & np.isfinite(wanted)
    short = np.where(known, np.where(known, wanted, 0.0) - stock.heights, 0.0)
    gouge = float(short.max(initial=0.0))
    faults = list(stock.faults)
    if gouge > GOUGE:
        i, j = np.unravel_index(int(short.argmax()), short.shape)
        place = (float(xs[i]), float(ys[j]), float(stock.heights[i, j]))
        faults.append(Fault("cuts into wood that should stay", place, gouge))
    return Proof(tuple(faults), gouge, _left(setup, stock, inside, x, y))


def target(setup: Setup, stock: Stock, margin: float) -> Array:
    """Heights that the run may not go below: the solid before drilling, with slots for pockets."""
    lying = setup.lying
    slots = [o.slot for o in setup.routed if o.slot is not None]
    mesh = mesh_of(unbored_solid(lying.board))
    points = np.array([lying.at((p[0], p[1], p[2])) for p in mesh.points.tolist()])
    points[:, :2] += margin
    shape = (stock.heights.shape[0], stock.heights.shape[1])
    found = heights_of(points, mesh.triangles, stock.low, stock.cell, shape)
    xs, ys = stock.centres()
    for slot in slots:
        floor = _slot_floor(slot, xs[:, None] - margin, ys[None, :] - margin)
        np.minimum(found, floor, out=found)
    return found


def _slot_floor(slot: Slot, x: Array, y: Array) -> Array:
    """The lower side of a bore behind its shoulder, infinite beside it (mm)."""
    bx, by, bz = slot.back
    flat = float(np.hypot(bx, by))
    ux, uy = bx / flat, by / flat
    rx, ry = x - slot.exit[0], y - slot.exit[1]
    run, across = rx * ux + ry * uy, ry * ux - rx * uy
    half = np.sqrt(np.maximum(slot.radius**2 - across**2, 0.0))
    z = -slot.depth + run * bz / flat - half / flat
    # The shoulder is square to the axis: below it the floor rises along that plane.
    wall = -slot.depth + (slot.shoulder - run * flat) / bz
    floor: Array = np.where(np.abs(across) < slot.radius, np.maximum(z, wall), np.inf)
    return floor


def _left(setup: Setup, stock: Stock, inside: NDArray[np.bool_], x: Array, y: Array) -> float:
    """Wood that is still there in what a cutter could reach of its areas (mm3)."""
    total = 0.0
    for one in setup.routed:
        if one.slot is not None or one.kind == "outline" or one.cutter is None:
            continue
        radius = one.cutter.radius
        reached = one.shape.buffer(-radius).buffer(radius - stock.cell)
        mask = inside & contains_xy(reached, x, y)
        over = np.where(mask, stock.heights + one.depth, 0.0)
        total += float(over[over > GOUGE].sum()) * stock.cell**2
    return total


def slotted(lying: Lying, solid: cq.Solid, slots: tuple[Slot, ...]) -> cq.Shape:
    """A solid in the board's frame with slots instead of bores, for those who want to look."""
    shape: cq.Shape = solid
    right, away, up = lying.axes
    for slot in slots:
        places = zip((*slot.exit, -slot.depth), lying.origin, strict=True)
        at = (0.0, 0.0, 0.0)
        for axis, (p, o) in zip((right, away, up), places, strict=True):
            at = along(at, axis, p + o)
        back = (0.0, 0.0, 0.0)
        for axis, share in zip((right, away, up), slot.back, strict=True):
            back = along(back, axis, share)
        side = unit(cross(back, up))
        rod = turned_solid(at, back, [(slot.shoulder, slot.radius), (_HIGH, slot.radius)])
        corners = [
            along(along(at, back, a), side, r * slot.radius)
            for a, r in ((slot.shoulder, -1), (_HIGH, -1), (_HIGH, 1), (slot.shoulder, 1))
        ]
        wire = cq.Wire.makePolygon([cq.Vector(*c) for c in corners], close=True)
        above = cq.Solid.extrudeLinear(wire, [], cq.Vector(*along((0.0, 0.0, 0.0), up, _HIGH)))
        shape = shape.cut(rod, above)
    return shape
