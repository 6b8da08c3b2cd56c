"""What is measured on a project, in closed form or on solids; the rules judge either."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from ..maths.geometry import Vec
from ..piece.board import Board, Hole, Seen
from ..piece.bodies import Body
from ..piece.project import Bore, Joint

WallKey = tuple[str, str, str]
"""Names of bore and board, and what is measured to: side, cut, other bore or HOLES."""
HOLES = "the nearest round hole"


class Wall(NamedTuple):
    """The wood between a bore's body and a face or a cut; a tuple, since there are many.

    Attributes:
        bore: the bore.
        body: which part of it.
        board: the board that it is in.
        target: side of the face, or name of the cut.
        name: printed name of the face or cut.
        seen: how the face is seen; of a cut, its best seen face.
        cut: whether the target is a cut.
        gap: mm; negative is how far the body stands out (of a cut: that no plane keeps clear).
        out: whether the body comes out of the face or shares wood with the cut.
        exact: whether `gap` is known to be the distance; else it is a lower bound, and enough.
        point: of the body, nearest to the target, project's frame (mm).
        solid: whether it was measured on the solid.
    """

    bore: Bore
    body: Body
    board: Board
    target: str
    name: str
    seen: Seen
    cut: bool
    gap: float
    out: bool
    exact: bool
    point: Vec
    solid: bool = False

    @property
    def key(self) -> WallKey:
        """What it is about; all bodies of a bore have one."""
        return self.bore.name, self.board.name, self.target

    @property
    def in_mate(self) -> bool:
        """Whether this is about the mating board."""
        return self.board.name != self.bore.board


@dataclass(frozen=True)
class Nearness:
    """The least distance between bodies of two bores in one board (mm), as of a wall."""

    first: Bore
    second: Bore
    board: Board
    gap: float
    point: Vec

    @property
    def key(self) -> WallKey:
        """What it is about."""
        return self.first.name, self.board.name, self.second.name


@dataclass(frozen=True)
class HoleNearness:
    """The least distance of a bore's bodies to a round hole of a board (mm), as of a wall."""

    bore: Bore
    hole: Hole
    board: Board
    gap: float
    point: Vec

    @property
    def key(self) -> WallKey:
        """What it is about."""
        return self.bore.name, self.board.name, HOLES


@dataclass(frozen=True)
class Stray:
    """A screw that runs into a board that is no part of its joint.

    Attributes:
        bore: whose screw.
        board: the other board.
        depth: how far in, at most (mm).
        point: of what they share, project's frame (mm).
    """

    bore: Bore
    board: Board
    depth: float
    point: Vec


@dataclass(frozen=True)
class Opening:
    """A joint whose faces do not lie on each other.

    Attributes:
        joint: the joint.
        how: turned: not in one plane, facing each other; aside: they pass each other; gone: one
            is cut away.
        gap: how far they are from meeting, mm.
        point: on the first face, project's frame (mm).
    """

    joint: Joint
    how: Literal["turned", "aside", "gone"]
    gap: float
    point: Vec | None


@dataclass(frozen=True)
class Parted:
    """A board that falls apart.

    Attributes:
        board: placed.
        by: what parts it.
        point: in the smallest of its pieces, project's frame (mm).
    """

    board: Board
    by: Literal["cuts", "cuts and bores"]
    point: Vec
