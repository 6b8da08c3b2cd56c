"""What is left of a stock after a program's run, held against the solids that it should leave."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from shapely import contains_xy, prepare
from shapely.geometry import Polygon

from ...models.maths.geometry import Array
from ...models.piece.groups import blank_key
from ...models.piece.lie import Lying
from ..solids.meshing import mesh_of
from ..solids.solids import unbored_solid
from .moves import Program
from .operations import reachable
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
    program: Program,
    laid: Sequence[tuple[Setup, Place]],
    spoil: float,
    cell: float = CELL,
    targets: Targets | None = None,
) -> Proof:
    """Run a program and compare with its boards' solids, their pockets as slots.

    Args:
        program: to run.
        laid: the boards on its stock, and where the corner of each one's box lies (mm).
        spoil: how far a cut that goes through may go into the spoil board (mm).
        cell: of the map of heights, mm.
        targets: those that were made already.
    """
    targets = Targets() if targets is None else targets
    stock = run(program, Stock.of(program.size, cell, 2.0), spoil)
    faults = [("", fault) for fault in stock.faults]
    deepest, left = 0.0, 0.0
    for setup, place in laid:
        gouge, at, rest = _held(setup, stock, place, targets)
        if gouge > GOUGE:
            name = setup.lying.board.name
            faults.append((name, Fault("cuts into wood that should stay", at, gouge)))
        deepest, left = max(deepest, gouge), left + rest
    return Proof(tuple(faults), deepest, left)


def _held(
    setup: Setup, stock: Stock, place: Place, targets: Targets
) -> tuple[float, tuple[float, float, float], float]:
    """Deepest gouge and where it is, and what is left, of one board on the stock."""
    wide, deep, _ = setup.lying.size
    here = stock.part(place, (place[0] + wide, place[1] + deep))
    wanted = targets.heights(setup, here, place)
    xs, ys = here.centres()
    x, y = xs[:, None] - place[0], ys[None, :] - place[1]
    shape = next((o.shape for o in setup.operations if o.kind == "outline"), None)
    inside = np.isfinite(wanted)
    if shape is not None:
        inside &= _within(shape.buffer(-stock.cell), x, y)
    short = np.where(inside, np.where(inside, wanted, 0.0) - here.heights, 0.0)
    i, j = np.unravel_index(int(short.argmax()), short.shape)
    at = (float(xs[i]), float(ys[j]), float(here.heights[i, j]))
    return max(0.0, float(short[i, j])), at, sum(_left(setup, here, inside, x, y))


def _within(shape: Polygon, x: Array, y: Array) -> NDArray[np.bool_]:
    """Which of a grid's places lie in a shape; x is a column of it, y a row."""
    prepare(shape)
    found: NDArray[np.bool_] = contains_xy(shape, *np.broadcast_arrays(x, y))
    return found


@dataclass(frozen=True)
class Targets:
    """What runs should leave, the surface of each board made once for all that are like it."""

    _surfaces: dict[Hashable, tuple[Array, NDArray[np.int32]]] = field(default_factory=dict)

    def heights(self, setup: Setup, stock: Stock, place: Place) -> Array:
        """Heights that the run may not go below: the solid undrilled, with slots for pockets."""
        points, triangles = self._surface(setup.lying)
        found = heights_of(points + (*place, 0.0), triangles, stock)
        xs, ys = stock.centres()
        for one in setup.routed:
            if one.slot is not None:
                x0, y0, x1, y1 = one.shape.buffer(one.slot.radius + stock.cell).bounds
                at = stock.window((x0 + place[0], y0 + place[1]), (x1 + place[0], y1 + place[1]))
                x, y = xs[at[0], None] - place[0], ys[None, at[1]] - place[1]
                np.minimum(found[at], _floor(one.slot, x, y), out=found[at])
        return found

    def _surface(self, lying: Lying) -> tuple[Array, NDArray[np.int32]]:
        key = (blank_key(lying.board), lying.side)
        if key not in self._surfaces:
            mesh = mesh_of(unbored_solid(lying.board))
            points = np.array([lying.at((p[0], p[1], p[2])) for p in mesh.points.tolist()])
            self._surfaces[key] = points, mesh.triangles
        return self._surfaces[key]


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
    x0, y0 = x[0, 0] - stock.cell / 2, y[0, 0] - stock.cell / 2
    lying = Stock((x0, y0), stock.cell, stock.heights, stock.thick)  # in the board's own frame
    for one in setup.routed:
        if one.slot is None and one.kind != "outline" and one.cutter is not None:
            reached = reachable(one.shape, one.cutter, -stock.cell)
            if reached.is_empty:
                continue
            low_x, low_y, high_x, high_y = reached.bounds
            at = lying.window((low_x, low_y), (high_x, high_y))
            mask = inside[at] & _within(reached, x[at[0]], y[:, at[1]])
            over = np.where(mask, stock.heights[at] + one.depth, 0.0)
            yield float(over[over > GOUGE].sum()) * stock.cell**2
