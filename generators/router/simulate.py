"""The stock as a map of heights, and what straight moves of flat and ball cutters leave of it.

Every move is swept in closed form: the lowest that any point of the cutter comes over a cell.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ...models.machine.router import Cutter, Machine
from ...models.maths.geometry import Array
from .moves import Point3, Program

_SHRUNK = 0.02  # mm; a wall that a cutter only touches is no gouge
_ROUNDED = 0.005  # mm; numbers of a program are rounded
_OVERCUT = 1.5  # mm beyond its radius that a cutter may run out of the stock
_SEEN = 0.05  # mm; wood that a move takes in less is none


@dataclass
class Stock:
    """Heights of the stock's cells, mm, 0 at its upper face.

    A cell is looked at in one place: its middle, or where a wall passes a place beside that wall.

    Attributes:
        low: the corner of the map, mm.
        cell: side of a cell, mm.
        heights: (X, Y); what is left of the stock.
        x: (X, Y); where in each cell it is looked at, mm.
        y: (X, Y); the same.
        thick: of the stock, mm; deeper it is the spoil board.
    """

    low: tuple[float, float]
    cell: float
    heights: Array
    x: Array
    y: Array
    thick: float
    faults: list[Fault] = field(default_factory=list)

    @classmethod
    def of(cls, size: Point3, cell: float, around: float = 0.0) -> Stock:
        """A whole stock, and as much air around it (mm)."""
        nx, ny = (int(np.ceil((side + 2 * around) / cell)) for side in size[:2])
        xs: Array = np.arange(nx, dtype=np.float64) * cell + (cell / 2 - around)
        ys: Array = np.arange(ny, dtype=np.float64) * cell + (cell / 2 - around)
        inside = ((xs > 0) & (xs < size[0]))[:, None] & ((ys > 0) & (ys < size[1]))[None, :]
        x, y = np.meshgrid(xs, ys, indexing="ij")
        heights = np.where(inside, 0.0, -np.inf)
        return cls((-around, -around), cell, heights, x, y, size[2])

    def look_at(self, places: Array) -> None:
        """Look at places (N, 2; mm) instead of the middles of their cells."""
        i, j = ((places[:, k] - self.low[k]) // self.cell for k in (0, 1))
        nx, ny = self.heights.shape
        on = (i >= 0) & (i < nx) & (j >= 0) & (j < ny)
        at = i[on].astype(int), j[on].astype(int)
        self.x[at], self.y[at] = places[on].T

    def part(
        self, low: tuple[float, float], high: tuple[float, float], zero: tuple[float, float]
    ) -> Stock:
        """The cells between two corners (mm), sharing heights, seen from another zero."""
        at, cell = self.window(low, high), self.cell
        corner = tuple(self.low[k] + at[k].start * cell - zero[k] for k in (0, 1))
        x, y = self.x[at] - zero[0], self.y[at] - zero[1]
        return Stock((corner[0], corner[1]), cell, self.heights[at], x, y, self.thick)

    def window(self, low: tuple[float, float], high: tuple[float, float]) -> tuple[slice, slice]:
        """Where the cells between two corners (mm) are in the map."""
        first = [max(0, int((a - b) / self.cell)) for a, b in zip(low, self.low, strict=True)]
        last = [int(np.ceil((a - b) / self.cell)) for a, b in zip(high, self.low, strict=True)]
        return slice(first[0], max(last[0], 0)), slice(first[1], max(last[1], 0))


@dataclass(frozen=True)
class Fault:
    """Something that a program must not do, and where."""

    what: str
    at: Point3
    by: float


def swept(start: Point3, end: Point3, cutter: Cutter, x: Array, y: Array) -> Array:
    """How low a cutter comes over places (broadcast x and y, mm); infinite where it does not.

    Args:
        start: of its tip.
        end: of its tip.
        cutter: flat (or a drill, taken as flat) or ball.
        x: of the places.
        y: of the places.
    """
    radius = cutter.radius - _SHRUNK
    dx, dy, dz = (b - a for a, b in zip(start, end, strict=True))
    length = float(np.hypot(dx, dy))
    rx, ry = x - start[0], y - start[1]
    if length < 1e-9:
        q = radius**2 - rx**2 - ry**2
        rise = radius - np.sqrt(np.maximum(q, 0.0)) if cutter.form == "ball-nose" else 0.0
        dot: Array = np.where(q >= 0, min(start[2], end[2]) + rise, np.inf)
        return dot
    ux, uy, slope = dx / length, dy / length, dz / length
    u, e = rx * ux + ry * uy, ry * ux - rx * uy
    q = radius**2 - e**2
    half = np.sqrt(np.maximum(q, 0.0))
    first, last = np.maximum(u - half, 0.0), np.minimum(u + half, length)
    hit = (q >= 0) & (first <= last)
    if cutter.form == "ball-nose":
        # The lowest point of the ball over a place is convex in the way gone: one place to look.
        best = np.clip(u - slope * half / np.sqrt(1 + slope**2), first, last)
        low = start[2] + slope * best + radius - np.sqrt(np.maximum(q - (u - best) ** 2, 0.0))
    else:
        low = start[2] + np.minimum(slope * first, slope * last)
    found: Array = np.where(hit, low, np.inf)
    return found


def run(program: Program, stock: Stock, machine: Machine) -> Stock:
    """Run a program on a stock, which is changed; its faults are those of the moves themselves.

    A fault: a rapid move through the stock; a cut deeper than the cutter's pass; a cutter that
    does not cut at its centre going straight down; a drill going sideways; a cut deeper than the
    cutting part; one that goes deeper into the spoil board than the machine's allowance, or runs
    out of the stock; a pass that begins below the safe height; moves wider than the travel.
    """
    stock.faults += _astray(program, machine)
    here: Point3 | None = None
    for one in program.passes:
        for first in one.moves[:1]:
            low = machine.safe - first.to[2]
            if first.kind != "rapid" or low > _ROUNDED:
                stock.faults.append(Fault("begins below the safe height", first.to, low))
        for move in one.moves:
            if here is not None:
                _cut(stock, here, move.to, one.cutter, move.kind == "rapid")
            here = move.to
    return stock


def _astray(program: Program, machine: Machine) -> Iterator[Fault]:
    """The first move of each pass that goes too deep, or too far beyond stock or machine."""
    size, deepest = program.size, -program.size[2] - machine.spoil
    for one in program.passes:
        low = min((move.to for move in one.moves), key=lambda to: to[2], default=(0.0, 0.0, 0.0))
        if low[2] < deepest - _ROUNDED:
            yield Fault("goes too deep into the spoil board", low, deepest - low[2])
        room = one.cutter.radius + _OVERCUT
        for x, y, z in (move.to for move in one.moves if move.to[2] < 0):
            out = max(-x, x - size[0], -y, y - size[1]) - room
            if out > 0:
                yield Fault("runs out of the stock", (x, y, z), out)
                break
    places = [move.to for one in program.passes for move in one.moves]
    for axis, room in enumerate(machine.travel if places else ()):
        far = sorted(places, key=lambda to: to[axis])
        over = far[-1][axis] - far[0][axis] - room
        if over > _ROUNDED:
            yield Fault("moves further than the machine's travel", far[-1], over)


def _cut(stock: Stock, start: Point3, end: Point3, cutter: Cutter, rapid: bool) -> None:
    if min(start[2], end[2]) > 0:
        return
    at = _window(stock, start, end, cutter.radius)
    if at is None:
        return
    x, y, here = stock.x[at], stock.y[at], stock.heights[at]
    low = swept(start, end, cutter, x, y)
    taken = np.where(np.isfinite(here) & np.isfinite(low), here - low, 0.0)
    most = float(taken.max(initial=0.0))
    if most > _SEEN:
        where = np.unravel_index(int(taken.argmax()), taken.shape)
        place = (float(x[where]), float(y[where]), float(low[where]))
        if rapid:
            stock.faults.append(Fault("moves at rapid through wood", place, most))
        flat = float(np.hypot(end[0] - start[0], end[1] - start[1]))
        down = start[2] - end[2]
        if most > cutter.step_down + _SEEN and not rapid:
            stock.faults.append(Fault("cuts deeper than its pass", place, most))
        if cutter.form == "drill" and flat > _SEEN:
            stock.faults.append(Fault("is a drill and cuts sideways", place, flat))
        if not cutter.centre and down > _SEEN and flat < down:
            stock.faults.append(Fault("goes straight down and does not cut there", place, down))
        if -place[2] > cutter.cut + 1e-6:
            stock.faults.append(Fault("cuts deeper than its cutting part", place, -place[2]))
    np.minimum(here, low, out=here)


def _window(stock: Stock, start: Point3, end: Point3, radius: float) -> tuple[slice, slice] | None:
    """The cells that a move may touch; None where it misses the map."""
    slices = []
    for axis in (0, 1):
        low = min(start[axis], end[axis]) - radius - stock.low[axis]
        high = max(start[axis], end[axis]) + radius - stock.low[axis]
        first = max(0, int(low / stock.cell))
        last = min(stock.heights.shape[axis], int(high / stock.cell) + 1)
        if first >= last:
            return None
        slices.append(slice(first, last))
    return slices[0], slices[1]


def heights_of(points: Array, triangles: NDArray[np.int32], like: Stock) -> Array:
    """The upper surface of a closed mesh over the cells of a map (X, Y), -inf where none is.

    Args:
        points: (N, 3) mm.
        triangles: (M, 3) indices, counter-clockwise as seen from outside.
        like: the map whose cells are asked for.
    """
    shape, low, cell = like.heights.shape, like.low, like.cell
    found = np.full(shape, -np.inf)
    for a, b, c in points[triangles]:
        twice = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1])
        if twice < 1e-12:  # it stands upright, or is seen from below
            continue
        corner = np.minimum(np.minimum(a, b), c)[:2]
        far = np.maximum(np.maximum(a, b), c)[:2]
        i0, j0 = (max(0, int(np.floor((corner[k] - low[k]) / cell - 0.5))) for k in (0, 1))
        i1, j1 = (min(shape[k], int(np.ceil((far[k] - low[k]) / cell + 0.5))) for k in (0, 1))
        if i0 >= i1 or j0 >= j1:
            continue
        x, y = like.x[i0:i1, j0:j1], like.y[i0:i1, j0:j1]
        v = ((x - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (y - a[1])) / twice
        w = ((b[0] - a[0]) * (y - a[1]) - (x - a[0]) * (b[1] - a[1])) / twice
        inside = (v >= -1e-9) & (w >= -1e-9) & (v + w <= 1 + 1e-9)
        z = a[2] + v * (b[2] - a[2]) + w * (c[2] - a[2])
        part = found[i0:i1, j0:j1]
        np.copyto(part, np.maximum(part, z), where=inside)
    return found
