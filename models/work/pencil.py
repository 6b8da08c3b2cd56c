"""A pencil mark, made before the boards are joined; it takes no wood."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..maths.geometry import Vec
from ..piece.board import Board, Cut, Hole, Print, Side


@dataclass(frozen=True)
class PencilMark:
    """A pencil mark on a face of a board.

    Attributes:
        called: what it is ("face mark"), or the word that is written.
        done_from: side of the face.
        lines: from and to, board frame (mm); none where only the word is written.
    """

    called: str
    done_from: Side
    lines: tuple[tuple[Vec, Vec], ...] = ()

    @property
    def datum(self) -> tuple[Side, ...]:
        """None: its lines say where it is."""
        return ()

    def tilts(self) -> Mapping[Side, Vec]:
        """None."""
        return {}

    def removes(self, board: Board) -> tuple[Cut | Hole, ...]:
        """Nothing."""
        return ()

    def told(self, board: Board, length: Print) -> str:
        """`heart side: top`."""
        return f"{self.called}: {board.face(self.done_from).name}"
