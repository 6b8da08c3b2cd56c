"""A taper: a side planed off toward one end, as legs are toward the foot."""

from __future__ import annotations

import math
from typing import ClassVar

from pydantic import Field

from ..maths.geometry import Plane, Vec, along, dot
from ..piece.board import Board, BoardSide, Cut, End, Print, Side
from ..recipe.params import Length
from . import Kind, WorkError, outside

_AIR = 1.0  # mm that the region reaches past where the taper runs out


class Taper(Kind):
    """A side planed off toward one end."""

    word: ClassVar[str] = "taper"
    key: ClassVar[str] = "tapers"
    about: ClassVar[str] = "sides planed off toward an end"

    side: BoardSide = Field(description="face or edge that is planed")
    end: End = Field(description="end at which most is taken off")
    amount: Length = Field(description="taken off at that end")
    length: Length = Field(description="from that end to where the taper runs out")

    @property
    def done_from(self) -> Side:
        """The side that is planed."""
        return self.side

    @property
    def datum(self) -> tuple[Side, ...]:
        """The end."""
        return (self.end,)

    def removes(self, board: Board) -> tuple[Cut, ...]:
        """The wedge.

        It ends just past where it runs out of the wood: what lies further on is that far from it,
        and not only as far as from its plane.
        """
        side, end, rise = board.face(self.side).plane, board.face(self.end).plane, 0.0
        rise = self.amount / self.length
        down: Vec = along(side.normal, end.normal, rise)
        size = math.sqrt(dot(down, down))
        offset = self.amount - side.offset - rise * end.offset
        normal = (-down[0] / size, -down[1] / size, -down[2] / size)
        planes = {
            "face": Plane(normal, offset / size),
            "end": outside(board, self.end, self.length + _AIR),
        }
        return (self._cut(planes),)

    def told(self, board: Board, length: Print) -> str:
        """`taper of the right face, 3/4" off at the foot, running out 24" from it`."""
        return (
            f"{self.title} of the {board.face(self.side).name}, {length(self.amount)} off at the "
            f"{board.face(self.end).name}, running out {length(self.length)} from it"
        )

    def refuse_unfit(self, board: Board, length: Print) -> None:
        """Refuse an end, and sizes that leave nothing."""
        if self.side in ("left end", "right end"):
            raise WorkError("a taper is planed off a face or an edge", "side")
        self._refuse_more(board, length, self.side, self.amount, "amount")
        if self.length > board.length:
            raise WorkError(f"the board is {length(board.length)} long", "length")


KIND = Taper
