"""What is left of a stock after a program's run, held against the solids that it should leave."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from shapely import contains_xy, prepare
from shapely.geometry import Polygon

from ...models.machine.router import Cutter, Machine
from ...models.maths.geometry import Array
from ...models.piece.groups import blank_key
from ...models.piece.lie import Lying
from ..solids.meshing import mesh_of
from ..solids.solids import unbored_solid
from .moves import Program
from .operations import Operation, reachable
from .paths import Slot, around, tab_length
from .setup import Setup
from .simulate import Fault, Stock, heights_of, run

CELL = 0.5  # mm
GOUGE = 0.1  # mm
FACE = 0.02  # mm; no more than rounding on the face that lies up
_EXACT = 1e-6  # mm
_BESIDE = 0.05  # mm from a wall, in the wood, that a cell is looked at; chords of meshes are 0.02

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
    machine: Machine,
    cell: float = CELL,
    targets: Targets | None = None,
) -> Proof:
    """Run a program and compare with its boards' solids, their pockets as slots.

    Args:
        program: to run.
        laid: the boards on its stock, and where the corner of each one's box lies (mm).
        machine: that runs it.
        cell: of the map of heights, mm.
        targets: those that were made already.
    """
    targets = Targets() if targets is None else targets
    stock = Stock.of(program.size, cell, 2.0)
    for setup, place in laid:
        stock.look_at(targets.beside_walls(setup, cell) + place)
    run(program, stock, machine)
    faults = [("", fault) for fault in stock.faults]
    deepest, left = 0.0, 0.0
    for setup, place in laid:
        wide, deep, _ = setup.lying.size
        kerf = max((2 * o.cutter.radius for o in setup.routed if o.cutter), default=0.0)
        low = (place[0] - kerf, place[1] - kerf)
        high = (place[0] + wide + kerf, place[1] + deep + kerf)
        here = stock.part(low, high, place)
        wanted = targets.heights(setup, here)
        inside = np.isfinite(wanted)
        short = np.where(inside, np.where(inside, wanted, 0.0) - here.heights, 0.0)
        i, j = np.unravel_index(int(short.argmax()), short.shape)
        scratched = np.where(wanted > -_EXACT, short, 0.0)
        if scratched.max() > FACE and short[i, j] <= GOUGE:
            i, j = np.unravel_index(int(scratched.argmax()), short.shape)
        gouge = max(0.0, float(short[i, j]))
        if gouge > (FACE if wanted[i, j] > -_EXACT else GOUGE):
            at = (float(here.x[i, j]) + place[0], float(here.y[i, j]) + place[1])
            fault = Fault(
                "cuts into wood that should stay", (*at, float(here.heights[i, j])), gouge
            )
            faults.append((setup.lying.board.name, fault))
        deepest, left = max(deepest, gouge), left + sum(_left(setup, here, machine))
    return Proof(tuple(faults), deepest, left)


def _within(shape: Polygon, x: Array, y: Array) -> NDArray[np.bool_]:
    """Which places lie in a shape."""
    prepare(shape)
    found: NDArray[np.bool_] = contains_xy(shape, x, y)
    return found


@dataclass(frozen=True)
class Targets:
    """What runs should leave, the surface of each board made once for all that are like it."""

    _surfaces: dict[Hashable, tuple[Array, NDArray[np.int32]]] = field(default_factory=dict)

    def heights(self, setup: Setup, stock: Stock) -> Array:
        """Heights that the run may not go below: the solid undrilled, with slots for pockets.

        Args:
            setup: the board as it lies.
            stock: the map, zero at the corner of the board's box.
        """
        points, triangles = self._surface(setup.lying)
        found = heights_of(points, triangles, stock)
        for one in setup.routed:
            if one.slot is not None:
                x0, y0, x1, y1 = one.shape.buffer(one.slot.radius + stock.cell).bounds
                at = stock.window((x0, y0), (x1, y1))
                np.minimum(found[at], _floor(one.slot, stock.x[at], stock.y[at]), out=found[at])
        return found

    def beside_walls(self, setup: Setup, cell: float) -> Array:
        """Places (N, 2; mm) in the wood, a hair beside every upright wall, two in every cell."""
        points, triangles = self._surface(setup.lying)
        a, b, c = (points[triangles[:, k]] for k in range(3))
        normal = np.cross(b - a, c - a)
        size = np.linalg.norm(normal, axis=1)
        upright = (size > 0) & (np.abs(normal[:, 2]) < 1e-6 * size)
        out = normal[upright, :2] / size[upright, None]
        corners = np.stack([a, b, c], axis=1)[upright, :, :2]
        ends = np.stack([corners, np.roll(corners, 1, axis=1)], axis=2)  # (M, 3 sides, 2, 2)
        longest = np.linalg.norm(ends[:, :, 1] - ends[:, :, 0], axis=2).argmax(axis=1)
        walls = [
            _along(start, end, cell / 2) - _BESIDE * way
            for (start, end), way in zip(ends[range(len(ends)), longest], out, strict=True)
        ]
        walls += [_beside(one.slot, cell / 2) for one in setup.routed if one.slot is not None]
        return np.concatenate([*walls, np.empty((0, 2))])

    def _surface(self, lying: Lying) -> tuple[Array, NDArray[np.int32]]:
        key = (blank_key(lying.board), lying.side)
        if key not in self._surfaces:
            mesh = mesh_of(unbored_solid(lying.board))
            points = np.array([lying.at((p[0], p[1], p[2])) for p in mesh.points.tolist()])
            self._surfaces[key] = points, mesh.triangles
        return self._surfaces[key]


def _along(start: Array, end: Array, step: float) -> Array:
    """Places between two, no further apart than a step."""
    count = max(1, int(np.ceil(np.linalg.norm(end - start) / step)))
    share = (np.arange(count) + 0.5)[:, None] / count
    between: Array = start + (end - start) * share
    return between


def _beside(slot: Slot, step: float) -> Array:
    """Places (N, 2; mm) a hair beside both walls of a slot."""
    bx, by, bz = slot.back
    flat = float(np.hypot(bx, by))
    way, across = np.array([bx, by]) / flat, np.array([-by, bx]) / flat
    off = across * (slot.radius + _BESIDE)
    ends = [
        np.array(slot.exit) + way * run for run in (slot.shoulder * flat, slot.depth * flat / bz)
    ]
    middle = _along(ends[0], ends[1], step)
    return np.concatenate([middle + off, middle - off])


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


def _left(setup: Setup, stock: Stock, machine: Machine) -> Iterator[float]:
    """Wood that is still there in what a cutter could reach of each piece of work (mm3)."""
    cell, board = stock.cell, Polygon(setup.lying.outline)
    for one in setup.routed:
        assert one.cutter is not None
        if one.kind == "outline":
            yield _holds(one, one.cutter, stock, machine)
            continue
        shape = one.shape if one.slot else reachable(one.shape, one.cutter, -cell)
        if not one.diameter:  # beyond the board a cutter only runs out
            shape = shape.intersection(board)
        if shape.is_empty:
            continue
        x0, y0, x1, y1 = shape.bounds
        at = stock.window((x0, y0), (x1, y1))
        x, y, heights = stock.x[at], stock.y[at], stock.heights[at]
        if one.slot is None:
            mask, floor = _within(shape, x, y), np.full(x.shape, -one.depth)
        else:
            floor = _floor(one.slot, x, y)
            mask = _behind(one.slot, x, y, floor, cell)
        over = np.where(mask, heights - np.where(mask, floor, 0.0), 0.0)
        yield float(over[over > GOUGE].sum()) * cell**2


def _behind(slot: Slot, x: Array, y: Array, floor: Array, cell: float) -> NDArray[np.bool_]:
    """Where a ball cuts a slot as deep as the bore: clear of its walls, the shoulder, the mouth."""
    bx, by, bz = slot.back
    flat = float(np.hypot(bx, by))
    rx, ry = x - slot.exit[0], y - slot.exit[1]
    run, across = (rx * bx + ry * by) / flat, (ry * bx - rx * by) / flat
    floor = np.where(np.isfinite(floor), floor, 0.0)
    along = run * flat + (floor + slot.depth) * bz
    clear: NDArray[np.bool_] = (
        (floor < -GOUGE)
        & (np.abs(across) < slot.radius - cell)
        & (along > slot.shoulder + slot.radius + cell)
    )
    return clear


def _holds(outline: Operation, cutter: Cutter, stock: Stock, machine: Machine) -> float:
    """Wood in the cut around a part beyond the tabs or the skin that hold it (mm3)."""
    ring = around(outline.shape, cutter.radius).exterior.buffer(cutter.radius - stock.cell)
    if ring.is_empty:
        return 0.0
    x0, y0, x1, y1 = ring.bounds
    at = stock.window((x0, y0), (x1, y1))
    here = np.where(_within(ring, stock.x[at], stock.y[at]), stock.heights[at], -np.inf)
    floor = machine.onion - outline.depth
    if machine.onion:
        over = here - floor
        return float(over[over > GOUGE].sum()) * stock.cell**2
    high = here - min(0.0, floor + machine.tab[1])
    more = float(high[high > GOUGE].sum()) * stock.cell**2
    tabs = float((here - floor > GOUGE).sum()) * stock.cell**2
    spare = tabs - 2 * cutter.radius * tab_length(cutter, machine)
    return more + max(0.0, spare) * machine.tab[1]
