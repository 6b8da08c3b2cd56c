"""A groove: a channel in a face, along the grain; across it the trade calls it a dado."""

from __future__ import annotations

from typing import ClassVar

from pydantic import Field

from ..maths.geometry import Plane
from ..piece.board import LEFT, RIGHT, Board, Print
from ..recipe.params import Length
from . import beyond
from ._channel import Channel


class Groove(Channel):
    """A channel along an edge or end of a face, at a distance from it."""

    word: ClassVar[str] = "groove"
    key: ClassVar[str] = "grooves"
    about: ClassVar[str] = "grooves along an edge, dadoes along an end"

    width: Length = Field(description="of the groove")
    distance: Length = Field(description="from the edge to the groove")

    @property
    def noun(self) -> str:
        """A groove along the grain, a dado across it."""
        return "dado" if self.edge in (LEFT, RIGHT) else self.word

    @property
    def far(self) -> float:
        """From the edge to its further wall (mm)."""
        return self.distance + self.width

    def told(self, board: Board, length: Print) -> str:
        """`groove 1/4" x 3/8" in the inside, 1/2" from the lower edge`: width x depth."""
        return (
            f"{self.title} {length(self.width)} x {length(self.depth)} in the "
            f"{board.face(self.face).name}, {length(self.distance)} from the "
            f"{board.face(self.edge).name}{self._told_stops(board, length)}"
        )

    def _walls(self, board: Board) -> dict[str, Plane]:
        return {**super()._walls(board), "near wall": beyond(board, self.edge, self.distance)}


KIND = Groove
