"""What the bores of a project do to its boards, as work: pockets, slots, pilots in the mates."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from ..maths.geometry import Vec, along, dot, lean
from .board import BACK, FRONT, Board, Hole, Print, Side, Work
from .markout import MarkOut, mark_out
from .project import Bore, Project

_AIR = 1.0  # mm that a pilot goes on past the joint face
_EDGES = {FRONT, BACK}


@dataclass(frozen=True)
class _Bored:
    """Work that a bore does to a board; `board` is that board."""

    board: Board
    bore: Bore

    noun = ""

    @property
    def called(self) -> str:
        """The bore's name, for a pocket alone; with what it is for the rest."""
        return f"{self.bore.name} {self.noun}"

    @property
    def done_from(self) -> Side:
        """The pocket face."""
        return self.bore.pocket_face

    @property
    def datum(self) -> tuple[Side, ...]:
        """None of its own: it follows the pocket."""
        return ()

    def tilts(self) -> Mapping[Side, Vec]:
        """None."""
        return {}

    def told(self, board: Board, length: Print) -> str:
        """What it is, and where it is done from."""
        return f"{self.noun} in the {board.face(self.done_from).name}"


@dataclass(frozen=True)
class Pocket(_Bored):
    """A slanted pocket: the counterbore down to the shoulder, and the pilot on to the joint."""

    noun = "pocket bore"

    @property
    def called(self) -> str:
        """The bore's name."""
        return self.bore.name

    @cached_property
    def mark(self) -> MarkOut:
        """Where it is marked out, and how the drill is set."""
        return mark_out(self.board, self.bore)

    @property
    def datum(self) -> tuple[Side, ...]:
        """The end and the edge that it is marked out from."""
        return (self.mark.end.side, self.mark.edge.side)

    def removes(self, board: Board) -> tuple[Hole, ...]:
        """The stepped hole."""
        return bored_holes(board, self.bore)[:1]


@dataclass(frozen=True)
class Slot(_Bored):
    """A pilot made longer than wide, so that the screw may move with the mate."""

    noun = "slotted pilot"

    def removes(self, board: Board) -> tuple[Hole, ...]:
        """All that the pilot takes when it is moved along the slot."""
        return bored_holes(board, self.bore)[1:]


@dataclass(frozen=True)
class Pilot(_Bored):
    """A pilot that goes on into the mating board, which is `board`; numbers in its frame.

    Attributes:
        entry: where its axis meets the mate's face (mm).
        back: unit vector along the axis, out of the mate.
    """

    entry: Vec
    back: Vec

    noun = "pilot hole"

    @property
    def done_from(self) -> Side:
        """The mate's face that it enters."""
        return self.bore.mate_face

    def removes(self, board: Board) -> tuple[Hole, ...]:
        """The hole."""
        bore, (x, y, z) = self.bore, self.back
        inward = (-x, -y, -z)
        radius, depth = bore.drill.pilot_radius, bore.pilot_into_mate
        return (Hole(self.called, self.entry, inward, radius, depth),)


def bored_holes(board: Board, bore: Bore, shank: float = 0.0) -> tuple[Hole, ...]:
    """What a bore takes out of the bored board: the stepped hole, and the slot where it has one.

    Args:
        board: the bored board.
        bore: one of its bores.
        shank: radius (mm) that counts instead of the pilot's where it is the larger.
    """
    plane = board.face(bore.pocket_face).plane
    reach = plane.gap(bore.exit) / dot(plane.normal, bore.back)
    pilot = max(bore.pilot_radius, shank)
    below = pilot * lean(bore.back, board.face(bore.joint_face).plane.normal) + _AIR
    x, y, z = bore.back
    pocket = Hole(
        bore.name,
        along(bore.exit, bore.back, reach),
        (-x, -y, -z),
        bore.drill.counterbore_radius,
        reach - bore.shoulder,
        ((pilot, reach + below),),
    )
    if bore.slot <= 0:
        return (pocket,)
    way = bore.pilot_shifts[0]
    slot = Hole(f"{bore.name} slot", bore.exit, bore.back, pilot, bore.shoulder, slot=way)
    return (pocket, slot)


def bores_in(project: Project, board: Board) -> tuple[Bore, ...]:
    """The bores whose pocket is in the board."""
    return project.bored[board.name]


def in_mate(project: Project, bore: Bore) -> tuple[Vec, Vec]:
    """The bore's exit (mm) and direction `back` in the frame of its mating board."""
    own, mate = project.board_named[bore.board].pose, project.board_named[bore.mate].pose
    return (
        mate.local_point(own.point(bore.exit)),
        mate.local_direction(own.direction(bore.back)),
    )


def pilots_into(project: Project, board: Board) -> tuple[Pilot, ...]:
    """The pilots that enter the board as a mate."""
    return tuple(
        Pilot(board, bore, *in_mate(project, bore))
        for bore in project.screwed[board.name]
        if bore.pilot_into_mate > 0
    )


def work_on(project: Project, board: Board) -> tuple[Work, ...]:
    """All that is done to a board: its own work, then what the project's bores do to it."""
    bores = bores_in(project, board)
    pockets = (Pocket(board, bore) for bore in bores)
    slots = (Slot(board, bore) for bore in bores if bore.slot > 0)
    return (*board.work, *pockets, *slots, *pilots_into(project, board))


def holes_in(project: Project, board: Board) -> Iterator[Hole]:
    """Every round hole in a board, its own and those of the project's bores."""
    for work in work_on(project, board):
        yield from (part for part in work.removes(board) if isinstance(part, Hole))


def told(project: Project, board: Board, length: Print) -> list[str]:
    """All work on a board that takes wood, in words; what the ends are is told elsewhere.

    Bores from one face are told together.
    """
    work = work_on(project, board)
    own = [w for w in work if not isinstance(w, _Bored)]
    bored = Counter((w.noun, board.face(w.done_from).name) for w in work if isinstance(w, _Bored))
    said = [w.told(board, length) for w in own if w.removes(board) or w.tilts().keys() & _EDGES]
    said += [f"{n} {noun}{'s' if n > 1 else ''} in the {face}" for (noun, face), n in bored.items()]
    return said
