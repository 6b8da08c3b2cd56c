"""One piece of work on a face that lies up: the cutter that makes it, and its moves."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Point as Centre
from shapely.geometry import Polygon, box

from ...models.machine.router import Cutter, Form, Router
from ...models.piece.board import BOTTOM, TOP, Hole
from ...models.piece.lie import Lying, Point, Region
from ...models.piece.project import Bore
from .moves import Move, Pass
from .paths import HAIR, Slot, TooLarge, bored, cleared, inner_radius, outline, ramped

OVER = 1.0  # mm that a cutter runs out beyond an open side, more than its radius
CHORD = 0.01  # mm between a curve and the sides that stand for it
_CORNERS = 0.5  # mm2 that a cutter may leave in the corners of a region
_DRILLED = 0.06  # mm on the diameter that a drill may be off its hole
ROOF_WARNS, ROOF_LEFT = 100.0, 400.0
"""Wood above a bore that a router cuts away and a drill leaves, mm3: from which it is worth a
word, and from which the pocket is left for the drill; common practice, no source."""


@dataclass(frozen=True)
class Want:
    """The cutter that a piece of work would take, and that is not at hand (mm).

    Attributes:
        form: of the cutter.
        widest: it may be.
        deep: it has to cut.
    """

    form: Form
    widest: float
    deep: float


@dataclass(frozen=True)
class Operation:
    """One piece of work on a face that lies up; sizes as it lies, mm.

    Attributes:
        kind: `groove`, `hole`, `pocket`, `outline`.
        name: of the work or the bore.
        shape: what is taken out, or for a hole and a pocket its centre as a point of it.
        depth: below the face.
        through: whether it goes through.
        diameter: of a hole or a pocket; 0 for the rest.
        cutter: that makes it; None where it is left for the hand.
        left: what is left for the hand, in words, or "".
        wants: the cutter that would make it, or make it whole, where none at hand does.
        passes: the cutter's moves, zero at the board's own corner.
        slot: of a pocket.
        roof: wood above a pocket that a cutter from above would take with it (mm3).
    """

    kind: str
    name: str
    shape: Polygon
    depth: float
    through: bool
    diameter: float = 0.0
    cutter: Cutter | None = None
    left: str = ""
    wants: Want | None = None
    passes: tuple[Pass, ...] = ()
    slot: Slot | None = None
    roof: float = 0.0

    def cut(self, cutter: Cutter, moves: Iterable[Move], left: str = "") -> Operation:
        """The same, made by a cutter."""
        return replace(
            self, cutter=cutter, left=left, passes=(Pass(self.name, cutter, tuple(moves)),)
        )


def routed_region(lying: Lying, part: Region, router: Router) -> Operation:
    """A region that is cleared by the widest cutter that goes into it."""
    whole, machine = taken(part), router.machine
    word = getattr(type(part.work), "word", part.work.called)
    on_board = whole.intersection(Polygon(lying.outline))
    plain = on_board if isinstance(on_board, Polygon) else whole
    base = Operation(str(word), part.name, plain, part.depth, part.through)
    if not part.upright:
        return replace(base, left="its walls lean: saw or plane it")
    depth = part.depth + machine.spoil if part.through else part.depth
    blank = box(0.0, 0.0, *lying.size[:2])
    for cutter in (cutter for cutter in router.formed("flat") if cutter.cut >= depth):
        out = cutter.radius + OVER
        shape = whole.intersection(blank.buffer(out, join_style="mitre"))
        try:
            moves = tuple(cleared(shape, depth, cutter, machine))
        except TooLarge:
            continue
        # Corners that a cutter leaves round want to be squared where something goes in.
        reached = reachable(shape, cutter, 1e-3)
        rounded = on_board.difference(reached).area >= _CORNERS
        left = f"inside corners stay round, {router.told(cutter.radius)}" if rounded else ""
        return replace(base, shape=shape).cut(cutter, moves, left)
    want = Want("flat", 2 * inner_radius(whole), depth)
    return replace(base, left="no cutter at hand makes it", wants=want)


def taken(part: Region) -> Polygon:
    """What a region really takes: as far as the circle, where the wood ends at one."""
    shape = Polygon(part.outline)
    if part.curve is None:
        return shape
    middle, radius, within = part.curve
    quarter = math.ceil(math.pi / 4 / math.acos(max(0.0, 1 - CHORD / radius)))
    round_ = Centre(middle).buffer(radius, quad_segs=quarter)
    cut: Polygon = shape.intersection(round_) if within else shape.difference(round_)
    return cut


def reachable(shape: Polygon, cutter: Cutter, more: float = 0.0) -> Polygon:
    """What a cutter reaches of a shape without leaving it, and so much more all round (mm)."""
    radius = cutter.radius - HAIR
    reached: Polygon = shape.buffer(-radius).buffer(radius + more)
    return reached


def holed(lying: Lying, hole: Hole, router: Router, at: Point | None = None) -> Operation:
    """A hole: straight down with a drill of its size, else round and down; `at` as it lies."""
    x, y = at or lying.at(hole.mouth)[:2]
    thick = lying.size[2]
    through = hole.depth >= thick - 1e-6
    shape = disc((x, y), hole.radius)
    base = Operation("hole", hole.name, shape, min(hole.depth, thick), through, 2 * hole.radius)
    depth = base.depth + (router.machine.spoil if through else 0.0)
    drills = router.formed("drill")
    fitting = [c for c in drills if abs(2 * (c.radius - hole.radius)) <= _DRILLED]
    for cutter in (*fitting, *router.formed("flat")):
        if cutter.cut < depth or cutter.radius > hole.radius + _DRILLED / 2:
            continue
        radius = max(hole.radius, cutter.radius)
        try:
            return base.cut(cutter, tuple(bored((x, y), radius, depth, cutter, router.machine)))
        except TooLarge:
            continue
    size = 2 * hole.radius
    return replace(
        base, left=f"drill it by hand, {router.told(size)}", wants=Want("drill", size, depth)
    )


def disc(at: Point, radius: float) -> Polygon:
    """A circle of 48 sides."""
    turns = [2 * math.pi * i / 48 for i in range(48)]
    return Polygon([(at[0] + radius * math.cos(a), at[1] + radius * math.sin(a)) for a in turns])


def pocketed(lying: Lying, bore: Bore, router: Router) -> Operation:
    """A pocket as a ramped slot, where that takes little wood above the bore."""
    slot = slot_of(lying, bore)
    parts = math.ceil(math.pi / math.acos(1 - CHORD * slot.back[2] / slot.radius))
    mouth = Polygon(lying.mouth(bore, parts)).buffer(0)
    deep = (
        slot.depth - slot.shoulder * slot.back[2] + slot.radius * math.sqrt(1 - slot.back[2] ** 2)
    )
    lost = roof(lying, bore)
    base = Operation("pocket", bore.name, mouth, deep, False, 2 * slot.radius, slot=slot, roof=lost)
    if lost > ROOF_LEFT:
        taken = router.volume(lost)
        return replace(base, left=f"drill it: a slot would take {taken} of wood above it")
    for cutter in router.formed("ball-nose"):
        if cutter.radius > slot.radius + 1e-3 or cutter.cut < deep:
            continue
        more = f"; it takes {router.volume(lost)} of wood above it" if lost > ROOF_WARNS else ""
        pilot = "run the stepped drill down the slot for pilot and shoulder"
        return base.cut(cutter, ramped(slot, cutter, router.machine), pilot + more)
    return replace(base, left="drill it", wants=Want("ball-nose", 2 * slot.radius, deep))


def outlined(lying: Lying, router: Router) -> Operation:
    """A board cut free, held by tabs or an onion skin."""
    shape, thick = Polygon(lying.outline), lying.size[2]
    base = Operation("outline", lying.board.name, shape, thick, True)
    sides = [lying.plane(f.plane) for f in lying.board.faces if f.side not in (TOP, BOTTOM)]
    if any(abs(plane.normal[2]) > 1e-9 for plane in sides):
        return replace(base, left="saw it to shape: an end or an edge is bevelled")
    left = "saw through the tabs and plane them off"
    if router.machine.onion >= thick:
        return replace(base, left="saw it to shape: it is no thicker than the skin")
    if router.machine.onion:
        left = "cut through the skin that is left all round and trim it"
    for cutter in router.cutting_free(thick):
        made = base.cut(cutter, outline(shape, thick, cutter, router.machine), left)
        return replace(made, passes=tuple(replace(one, about="outline") for one in made.passes))
    deep = thick + router.machine.spoil
    return replace(base, left="saw it to shape", wants=Want("flat", math.inf, deep))


# --- pockets -------------------------------------------------------------------------------------


def roof(lying: Lying, bore: Bore) -> float:
    """Wood above a bore that a cutter from above takes with it (mm3)."""
    slot = slot_of(lying, bore)
    bz = slot.back[2]
    flat = math.sqrt(1 - bz * bz)
    step = 0.2
    across = np.arange(-slot.radius + step / 2, slot.radius, step)
    far = (slot.depth + slot.radius * flat) / bz + slot.radius
    run = np.arange(slot.shoulder * flat, far * flat, step)
    half = np.sqrt(slot.radius**2 - across**2)
    # The upper side of a leaning cylinder over a place, as far as it is behind the shoulder.
    top = -slot.depth + run[:, None] * bz / flat + half[None, :] / flat
    behind = run[:, None] / flat - half[None, :] * bz / flat >= slot.shoulder
    return float(np.where(behind, np.maximum(0.0, -top), 0.0).sum()) * step * step


def slot_of(lying: Lying, bore: Bore) -> Slot:
    """A bore as a ball-nosed cutter makes it from the pocket face."""
    x, y, z = lying.at(bore.exit)
    return Slot((x, y), -z, lying.way(bore.back), bore.drill.counterbore_radius, bore.shoulder)
