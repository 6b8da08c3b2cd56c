"""What a router does to a board with a face up, with which cutter; what is left for the hand."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from ...models.piece.board import BOTTOM, TOP, Board, Hole, Side
from ...models.piece.bored import bores_in
from ...models.piece.lie import Lying, Region
from ...models.piece.project import Bore, Project
from .cutters import Cutter, Machine, cutters
from .moves import Pass, Program
from .paths import Slot, TooLarge, bored, cleared, outline, ramped

_FACES: tuple[Side, ...] = (TOP, BOTTOM)
_OVER = 1.0  # mm that a cutter runs out beyond an open side, more than its radius
_DRILLED = 0.06  # mm on the diameter that a drill may be off its hole
ROOF_WARNS, ROOF_LEFT = 100.0, 400.0
"""Wood above a bore that a router cuts away and a drill leaves, mm3: from which it is worth a
word, and from which the pocket is left for the drill; common practice, no source."""


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
        passes: the cutter's moves, zero at the board's own corner.
        slot: of a pocket.
    """

    kind: str
    name: str
    shape: Polygon
    depth: float
    through: bool
    diameter: float = 0.0
    cutter: Cutter | None = None
    left: str = ""
    passes: tuple[Pass, ...] = ()
    slot: Slot | None = None


@dataclass(frozen=True)
class Setup:
    """A board with a face up, and all that is done to it there.

    Attributes:
        lying: the board.
        operations: in the order in which they are cut, the outline last.
    """

    lying: Lying
    operations: tuple[Operation, ...]

    @property
    def routed(self) -> tuple[Operation, ...]:
        """Those that a cutter makes."""
        return tuple(one for one in self.operations if one.cutter is not None)


def setups(project: Project, board: Board, machine: Machine) -> tuple[Setup, ...]:
    """The faces of a board that a router works on, the one with more work first.

    The first one also cuts the outline, where no edge or end is bevelled.
    """
    found = []
    for side in _FACES:
        lying = Lying(board, side)
        bores = [bore for bore in bores_in(project, board) if bore.pocket_face == side]
        operations = [*_regions(lying, machine), *(_pocket(lying, b, machine) for b in bores)]
        if operations:
            found.append(Setup(lying, tuple(operations)))
    found.sort(key=lambda setup: -len(setup.operations))
    found = found or [Setup(Lying(board, TOP), ())]
    first = found[0]
    last = _outline(first.lying, machine)
    found[0] = replace(first, operations=(*_in_order(first.operations), last))
    return tuple([found[0], *(replace(s, operations=_in_order(s.operations)) for s in found[1:])])


def _in_order(operations: Sequence[Operation]) -> tuple[Operation, ...]:
    """What goes through comes last; else cutter by cutter, as few changes as may be."""
    return tuple(sorted(operations, key=lambda o: (o.through, o.cutter.number if o.cutter else 99)))


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


# --- one by one ----------------------------------------------------------------------------------


def _by_form(form: str) -> list[Cutter]:
    some = [cutter for cutter in cutters().values() if cutter.form == form]
    return sorted(some, key=lambda cutter: -cutter.radius)


def _regions(lying: Lying, machine: Machine) -> Iterator[Operation]:
    widest = max(cutter.radius for cutter in _by_form("flat"))
    for part, work in lying.regions(widest + _OVER):
        through = isinstance(part, Region) and part.through
        if work.done_from != lying.side and not (through and work.done_from not in _FACES):
            continue
        if isinstance(part, Hole):
            yield _hole(lying, part, machine)
        else:
            yield _region(part, machine)


def _region(part: Region, machine: Machine) -> Operation:
    shape = Polygon(part.outline)
    word = getattr(type(part.work), "word", part.work.called)
    base = Operation(str(word), part.name, shape, part.depth, part.through)
    if not part.upright:
        return replace(base, left="its walls lean: saw or plane it")
    depth = part.depth + machine.spoil if part.through else part.depth
    why = ""
    for cutter in _by_form("flat"):
        if cutter.cut < depth:
            why = why or f"deeper than the {cutter.title} reaches"
            continue
        try:
            moves = tuple(cleared(shape, depth, cutter, machine))
        except TooLarge as error:
            why = f"{error.room:.2f} mm wide, narrower than every cutter"
            continue
        # A shape that leaves its corners round wants them squared where something goes in.
        corners = shape.difference(shape.buffer(-cutter.radius).buffer(cutter.radius + 1e-3))
        left = "" if corners.area < 0.5 else f"inside corners stay round, {cutter.radius:.3g} mm"
        passes = (Pass(part.name, cutter, moves),)
        return replace(base, cutter=cutter, left=left, passes=passes)
    return replace(base, left=why or "no cutter of the table makes it")


def _hole(lying: Lying, hole: Hole, machine: Machine) -> Operation:
    x, y, _ = lying.at(hole.mouth)
    thick = lying.size[2]
    through = hole.depth >= thick - 1e-6
    disc = Polygon([(x + hole.radius * c, y + hole.radius * s) for c, s in _TURN])
    base = Operation("hole", hole.name, disc, min(hole.depth, thick), through, 2 * hole.radius)
    depth = base.depth + (machine.spoil if through else 0.0)
    fitting = [c for c in _by_form("drill") if abs(2 * (c.radius - hole.radius)) <= _DRILLED]
    for cutter in (*fitting, *_by_form("flat")):
        if cutter.cut < depth or cutter.radius > hole.radius + _DRILLED / 2:
            continue
        radius = max(hole.radius, cutter.radius)
        moves = tuple(bored((x, y), radius, depth, cutter, machine))
        return replace(base, cutter=cutter, passes=(Pass(hole.name, cutter, moves),))
    return replace(base, left=f"drill it by hand, {2 * hole.radius:.3g} mm")


def _pocket(lying: Lying, bore: Bore, machine: Machine) -> Operation:
    slot = slot_of(lying, bore)
    mouth = Polygon(lying.mouth(bore)).buffer(0)
    deep = (
        slot.depth - slot.shoulder * slot.back[2] + slot.radius * math.sqrt(1 - slot.back[2] ** 2)
    )
    base = Operation("pocket", bore.name, mouth, deep, False, 2 * slot.radius, slot=slot)
    lost = roof(lying, bore)
    pilot = "run the stepped drill down the slot for pilot and shoulder"
    if lost > ROOF_LEFT:
        return replace(base, left=f"drill it: a slot would take {lost:.0f} mm3 of wood above it")
    for cutter in _by_form("ball"):
        if cutter.radius > slot.radius + 1e-3 or cutter.cut < deep:
            continue
        moves = tuple(ramped(slot, cutter, machine))
        more = f"; it takes {lost:.0f} mm3 of wood above it" if lost > ROOF_WARNS else ""
        passes = (Pass(bore.name, cutter, moves),)
        return replace(base, cutter=cutter, left=pilot + more, passes=passes)
    return replace(base, left="drill it: no ball-nosed cutter of the table is as small")


def _outline(lying: Lying, machine: Machine) -> Operation:
    shape, thick = Polygon(lying.outline), lying.size[2]
    base = Operation("outline", lying.board.name, shape, thick, True)
    sides = [lying.plane(f.plane) for f in lying.board.faces if f.side not in _FACES]
    if any(abs(plane.normal[2]) > 1e-9 for plane in sides):
        return replace(base, left="saw it to shape: an end or an edge is bevelled")
    for cutter in _by_form("flat"):
        if cutter.cut >= thick + machine.spoil:
            moves = tuple(outline(shape, thick, cutter, machine))
            left = "saw through the tabs and plane them off"
            return replace(base, cutter=cutter, left=left, passes=(Pass("outline", cutter, moves),))
    return replace(base, left="saw it to shape: thicker than any cutter reaches")


_TURN: tuple[tuple[float, float], ...] = tuple(
    (math.cos(2 * math.pi * i / 48), math.sin(2 * math.pi * i / 48)) for i in range(48)
)


# --- programs ------------------------------------------------------------------------------------


def program(
    setup: Setup, machine: Machine, margin: float, notes: Mapping[str, str] | None = None
) -> Program | None:
    """The program of a setup, the board lying so far inside its stock; None without any cut.

    Args:
        setup: the board with a face up.
        machine: that runs it.
        margin: of stock around the board, mm.
        notes: what the operator has to know, by a word.
    """
    routed = setup.routed
    if not routed:
        return None
    passes = [moved(one, margin, margin) for operation in routed for one in operation.passes]
    wide, deep, thick = setup.lying.size
    left = [f"{o.name}: {o.left}" for o in setup.operations if o.left]
    face = setup.lying.board.face(setup.lying.side).name
    said = [f"{setup.lying.board.name}, {face} up", *(notes or {}).values(), *left]
    size = (wide + 2 * margin, deep + 2 * margin, thick)
    return Program(f"{setup.lying.board.name} {face} up", size, tuple(passes), tuple(said))


def moved(one: Pass, x: float, y: float) -> Pass:
    """A pass elsewhere on the stock."""
    moves = (replace(m, to=(m.to[0] + x, m.to[1] + y, m.to[2])) for m in one.moves)
    return replace(one, moves=tuple(moves))
