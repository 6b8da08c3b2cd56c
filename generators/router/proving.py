"""What is left of a stock after a program's run, held against the solids that it should leave."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely import contains_xy

from ...models.maths.geometry import Array
from ..solids.meshing import mesh_of
from ..solids.solids import unbored_solid
from .moves import Program
from .paths import Slot
from .setup import Setup
from .simulate import Fault, Stock, heights_of, run

CELL = 0.5  # mm
GOUGE = 0.1  # mm

Place = tuple[float, float]


@dataclass(frozen=True)
class Proof:
    """What a run says.

    Attributes:
        faults: of the moves, and gouges; with the board that each is on, "" for the moves.
        gouge: deepest cut into wood that should stay, mm.
        left: wood that should be gone and is still there, where nothing says so, mm3.
    """

    faults: tuple[tuple[str, Fault], ...]
    gouge: float
    left: float


def proven(
    program: Program, laid: Sequence[tuple[Setup, Place]], spoil: float, cell: float = CELL
) -> Proof:
    """Run a program and compare with its boards' solids, their pockets as slots.

    Args:
        program: to run.
        laid: the boards on its stock, and where the corner of each one's box lies (mm).
        spoil: how far a cut that goes through may go into the spoil board (mm).
        cell: of the map of heights, mm.
    """
    stock = run(program, Stock.of(program.size, cell, 2.0), spoil)
    faults = [("", fault) for fault in stock.faults]
    deepest, left = 0.0, 0.0
    for setup, place in laid:
        gouge, at, rest = _held(setup, stock, place)
        if gouge > GOUGE:
            name = setup.lying.board.name
            faults.append((name, Fault("cuts into wood that should stay", at, gouge)))
        deepest, left = max(deepest, gouge), left + rest
    return Proof(tuple(faults), deepest, left)


def _held(
    setup: Setup, stock: Stock, place: Place
) -> tuple[float, tuple[float, float, float], float]:
    """Deepest gouge and where it is, and what is left, of one board on the stock."""
    wide, deep, _ = setup.lying.size
    here = stock.part(place, (place[0] + wide, place[1] + deep))
    wanted = target(setup, here, place)
    xs, ys = here.centres()
    x, y = np.meshgrid(xs - place[0], ys - place[1], indexing="ij")
    shape = next((o.shape for o in setup.operations if o.kind == "outline"), None)
    inside = np.isfinite(wanted)
    if shape is not None:
        inside &= contains_xy(shape.buffer(-stock.cell), x, y)
    short = np.where(inside, np.where(inside, wanted, 0.0) - here.heights, 0.0)
    i, j = np.unravel_index(int(short.argmax()), short.shape)
    at = (float(xs[i]), float(ys[j]), float(here.heights[i, j]))
    return max(0.0, float(short[i, j])), at, sum(_left(setup, here, inside, x, y))


def target(setup: Setup, stock: Stock, place: Place) -> Array:
    """Heights that the run may not go below: the solid before drilling, with slots for pockets."""
    lying = setup.lying
    mesh = mesh_of(unbored_solid(lying.board))
    points = np.array([lying.at((p[0], p[1], p[2])) for p in mesh.points.tolist()])
    points[:, :2] += place
    found = heights_of(points, mesh.triangles, stock)
    xs, ys = stock.centres()
    for operation in setup.routed:
        if operation.slot is not None:
            floor = _floor(operation.slot, xs[:, None] - place[0], ys[None, :] - place[1])
            np.minimum(found, floor, out=found)
    return found


def _floor(slot: Slot, x: Array, y: Array) -> Array:
    """The lower side of a bore behind its shoulder, infinite beside it (mm)."""
    bx, by, bz = slot.back
    flat = float(np.hypot(bx, by))
    rx, ry = x - slot.exit[0], y - slot.exit[1]
    run, across = (rx * bx + ry * by) / flat, (ry * bx - rx * by) / flat
    half = np.sqrt(np.maximum(slot.radius**2 - across**2, 0.0))
    z = -slot.depth + run * bz / flat - half / flat
    # The shoulder is square to the axis: in front of it the floor rises along that plane.
    wall = -slot.depth + (slot.shoulder - run * flat) / bz
    floor: Array = np.where(np.abs(across) < slot.radius, np.maximum(z, wall), np.inf)
    return floor


def _left(
    setup: Setup, stock: Stock, inside: NDArray[np.bool_], x: Array, y: Array
) -> Iterator[float]:
    """Wood that is still there in what a cutter could reach of each area (mm3)."""
    for one in setup.routed:
        if one.slot is None and one.kind != "outline" and one.cutter is not None:
            radius = one.cutter.radius
            reached = one.shape.buffer(-radius).buffer(radius - stock.cell)
            mask = inside & contains_xy(reached, x, y)
            over = np.where(mask, stock.heights + one.depth, 0.0)
            yield float(over[over > GOUGE].sum()) * stock.cell**2
