"""What a router does to a board with a face up, with which cutter; what is left for the hand."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from ...models.machine.router import Cutter, Router
from ...models.piece.board import Board, Hole
from ...models.piece.bored import bores_in
from ...models.piece.lie import Lying, Region
from ...models.piece.project import Project
from ..cutting.nesting import FACES, PINS, blank, both_faces, either_way, margins
from .moves import Pass, Program
from .operations import OVER, Operation, holed, outlined, pocketed, routed_region

_PIN = 8.0  # mm; no registration hole is wider
REGISTRATION = "registration hole"


@dataclass(frozen=True)
class Setup:
    """A board with a face up, and all that is done to it there.

    Attributes:
        lying: the board.
        operations: in the order in which they are cut, the outline last.
        margin: of the stock that it is cut from by itself, to the left and right, and to the front
            and back (mm).
        turning: what to do between its two faces, where both are worked on.
    """

    lying: Lying
    operations: tuple[Operation, ...]
    margin: tuple[float, float]
    turning: str = ""

    @property
    def routed(self) -> tuple[Operation, ...]:
        """Those that a cutter makes."""
        return tuple(one for one in self.operations if one.cutter is not None)

    @property
    def face(self) -> str:
        """What the face that lies up is called."""
        return self.lying.board.face(self.lying.side).name

    @property
    def name(self) -> str:
        """Of its files."""
        return f"{self.lying.board.name} {self.face} up"

    @property
    def stock(self) -> tuple[float, float, float]:
        """Size of the stock that the board is cut from by itself (mm)."""
        wide, deep, thick = self.lying.size
        return wide + 2 * self.margin[0], deep + 2 * self.margin[1], thick

    def by_hand(self, why: str) -> Setup:
        """The same with nothing left for a cutter, for a reason."""
        some = (replace(o, cutter=None, passes=(), left=why, wants=None) for o in self.operations)
        return replace(self, operations=tuple(some))


def setups(project: Project, board: Board, router: Router) -> tuple[Setup, ...]:
    """The faces of a board that a router works on, the one with more work first.

    The first one also cuts what goes right through, and the outline where no edge or end is
    bevelled; it is the last to be cut, once the stock is turned over.
    """
    found = [_worked(project, Lying(board, side), router) for side in FACES]
    found.sort(key=lambda one: (-len(one[1]), -one[2]))
    lying, operations, _ = found[0]
    operations = [*operations, *_through(lying, router)]
    turned = [(lies, some) for lies, some, _ in found[1:] if some]
    last = outlined(lying, router)
    margin = margins(project, board, router)
    setup = Setup(lying, (*_in_order(operations, last.cutter), last), margin)
    others = [Setup(lies, _in_order(some), margin) for lies, some in turned]
    if setup.routed and others and others[0].routed:
        return _registered(setup, others[0], router)
    return (setup, *others)


def _worked(project: Project, lying: Lying, router: Router) -> tuple[Lying, list[Operation], int]:
    """A face, what is done from it and no other, and how much besides is wished from it."""
    own: list[Operation] = []
    wished = 0
    for part, through in _parts(lying, router):
        work_side = part.work.done_from if isinstance(part, Region) else lying.side
        if through:
            wished += work_side == lying.side
        elif work_side == lying.side:
            own.append(_made(lying, part, router))
    bores = (bore for bore in bores_in(project, lying.board) if bore.pocket_face == lying.side)
    own += [pocketed(lying, bore, router) for bore in bores]
    return lying, own, wished


def _through(lying: Lying, router: Router) -> Iterator[Operation]:
    """What may be cut from either face."""
    for part, through in _parts(lying, router):
        if through:
            yield _made(lying, part, router)


def _parts(lying: Lying, router: Router) -> Iterator[tuple[Region | Hole, bool]]:
    """What is taken out from a face, and whether it may as well be cut from the other."""
    widest = max((cutter.radius for cutter in router.formed("flat")), default=0.0)
    for part, _ in lying.regions(widest + OVER):
        yield part, either_way(part)


def _made(lying: Lying, part: Region | Hole, router: Router) -> Operation:
    if isinstance(part, Hole):
        return holed(lying, part, router)
    return routed_region(lying, part, router)


def _in_order(operations: Sequence[Operation], last: Cutter | None = None) -> tuple[Operation, ...]:
    """Cutter by cutter, that of the outline last; with each what goes through comes last."""

    def order(one: Operation) -> tuple[bool, float, bool]:
        number = one.cutter.number if one.cutter else math.inf
        return one.cutter is not None and one.cutter == last, number, one.through

    return tuple(sorted(operations, key=order))


# --- both faces ----------------------------------------------------------------------------------


def _registered(last: Setup, first: Setup, router: Router) -> tuple[Setup, ...]:
    """Both faces of a stock with two holes on the line that it is turned over about.

    The line lies along the board's length, through the middle of its width, so that the holes are
    in the same places whichever face lies up.
    """
    thick = last.lying.size[2]
    cutter = _pin_cutter(thick + router.machine.spoil, router)
    if cutter is None:
        why = "turn the stock over front to back and set its zero again: no cutter for pins"
        return replace(last, turning=why), replace(first, turning=why)
    wide, deep, _ = last.lying.size
    ends = (PINS / 2 - last.margin[0], wide + last.margin[0] - PINS / 2)
    hole = Hole(REGISTRATION, (0.0, 0.0, 0.0), (0.0, 0.0, -1.0), cutter.radius, thick)
    drilled = [
        replace(holed(last.lying, hole, router, (x, deep / 2)), kind=REGISTRATION) for x in ends
    ]
    there = [
        replace(o, cutter=None, passes=(), left="drilled from the other face") for o in drilled
    ]
    pins = f"pins of {router.told(2 * cutter.radius)}"
    before = (
        f"Both faces are worked on: {first.face} up first. Then drill on through both registration "
        f"holes into the spoil board for {pins}, and turn the stock over front to back onto them."
    )
    after = (
        f"Both faces are worked on: {first.face} up first. Now the stock lies turned over front to "
        f"back, on {pins} in both registration holes; zero stays where it was."
    )
    return (
        replace(last, operations=(*there, *last.operations), turning=after),
        replace(first, operations=(*drilled, *first.operations), turning=before),
    )


def _pin_cutter(deep: float, router: Router) -> Cutter | None:
    some = (*router.formed("drill"), *router.formed("flat"))
    return next((c for c in some if c.cut >= deep and 2 * c.radius <= _PIN and c.centre), None)


def on_sheet(project: Project, setup: Setup, router: Router) -> Setup:
    """What is cut out of a sheet: the board; its blank where it is worked on both faces."""
    board = setup.lying.board
    if not both_faces(project, board):
        return setup
    lying = Lying(blank(project, board, router), setup.lying.side)
    return Setup(lying, (outlined(lying, router),), setup.margin)


# --- programs ------------------------------------------------------------------------------------


def program(setup: Setup) -> Program | None:
    """The program of a setup by itself; None without any cut."""
    routed = setup.routed
    if not routed:
        return None
    passes = [moved(one, *setup.margin) for operation in routed for one in operation.passes]
    left = [f"{o.name}: {o.left}" for o in setup.operations if o.left and o.kind != REGISTRATION]
    said = [f"{setup.lying.board.name}, {setup.face} up", setup.turning, *left]
    return Program(setup.name, setup.stock, tuple(passes), tuple(filter(None, said)))


def moved(one: Pass, x: float, y: float) -> Pass:
    """A pass elsewhere on the stock."""
    moves = (replace(m, to=(m.to[0] + x, m.to[1] + y, m.to[2])) for m in one.moves)
    return replace(one, moves=tuple(moves))
