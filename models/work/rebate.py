"""A rebate: a step along an edge or end of a face."""

from __future__ import annotations

from typing import ClassVar

from ..piece.board import Board, Print
from ._channel import Channel


class Rebate(Channel):
    """A step along an edge or end of a face."""

    word: ClassVar[str] = "rebate"
    key: ClassVar[str] = "rebates"
    about: ClassVar[str] = "steps along an edge or end"

    def told(self, board: Board, length: Print) -> str:
        """`rebate 3/8" x 1/2" along the inside edge, from the back`: width x depth."""
        return (
            f"{self.title} {length(self.width)} x {length(self.depth)} along the "
            f"{board.face(self.edge).name}, from the {board.face(self.face).name}"
            f"{self._told_stops(board, length)}"
        )


KIND = Rebate
