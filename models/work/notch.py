"""A notch: a piece taken out of an edge through the thickness, at a corner or between."""

from __future__ import annotations

from typing import ClassVar

from pydantic import Field

from ..piece.board import Board, Cut, Edge, End, Print, Side
from ..recipe.params import Length, LengthOrZero
from . import beyond, outside
from ._through import Through


class Notch(Through):
    """A piece out of an edge, through the thickness; without a distance at the corner."""

    word: ClassVar[str] = "notch"
    key: ClassVar[str] = "notches"
    about: ClassVar[str] = "pieces out of an edge, through the thickness"

    edge: Edge = Field(description="edge that it is cut into")
    end: End = Field(description="end that its place is measured from")
    length: Length = Field(description="along the edge")
    depth: Length = Field(description="from the edge")
    distance: LengthOrZero = Field(0.0, description="from the end; 0: the corner is gone")

    @property
    def datum(self) -> tuple[Side, ...]:
        """End and edge."""
        return (self.end, self.edge)

    def removes(self, board: Board) -> tuple[Cut, ...]:
        """The piece."""
        planes = {
            "shoulder": outside(board, self.end, self.distance + self.length),
            "cheek": outside(board, self.edge, self.depth),
        }
        if self.distance:
            planes["near shoulder"] = beyond(board, self.end, self.distance)
        return (self._cut(planes),)

    def told(self, board: Board, length: Print) -> str:
        """`notch 4" x 3" in the front edge, at the lower end`: along x into the edge."""
        end = board.face(self.end).name
        place = f"{length(self.distance)} from the {end}" if self.distance else f"at the {end}"
        return (
            f"{self.title} {length(self.length)} x {length(self.depth)} in the "
            f"{board.face(self.edge).name}, {place}"
        )

    def refuse_unfit(self, board: Board, length: Print) -> None:
        """Refuse sizes that leave nothing."""
        self._refuse_more(board, length, self.end, self.distance + self.length, "length")
        self._refuse_more(board, length, self.edge, self.depth, "depth")


KIND = Notch
