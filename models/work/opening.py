"""An opening: a rectangle out of a board, through the thickness."""

from __future__ import annotations

from typing import ClassVar

from pydantic import Field

from ..piece.board import FRONT, LEFT, OPPOSITE, Board, Cut, Edge, End, Face, Print, Side
from ..recipe.params import Length
from . import beyond, outside
from ._through import Through


class Opening(Through):
    """A rectangle through the thickness, placed by its near sides."""

    word: ClassVar[str] = "opening"
    key: ClassVar[str] = "openings"
    about: ClassVar[str] = "rectangles through the thickness"

    length: Length = Field(description="along the grain")
    width: Length = Field(description="across the grain")
    from_end: Length = Field(description="from the end to its near side")
    from_edge: Length = Field(description="from the edge to its near side")
    end: End = Field(LEFT, description="end that it is measured from")
    edge: Edge = Field(FRONT, description="edge that it is measured from")

    @property
    def datum(self) -> tuple[Side, ...]:
        """End and edge."""
        return (self.end, self.edge)

    def removes(self, board: Board) -> tuple[Cut, ...]:
        """The rectangle."""
        faces = []
        for side, near, size in (
            (self.end, self.from_end, self.length),
            (self.edge, self.from_edge, self.width),
        ):
            for towards, plane in (
                (side, beyond(board, side, near)),
                (OPPOSITE[side], outside(board, side, near + size)),
            ):
                key = f"{self.called} side at the"
                name = board.face(towards).name
                faces.append(Face(f"{key} {towards}", f"{key} {name}", plane, self.seen))
        return (Cut(self.called, tuple(faces)),)

    def told(self, board: Board, length: Print) -> str:
        """`opening 11" x 4", 2" from the left end, 7/8" from the lower edge`: along x across."""
        return (
            f"{self.title} {length(self.length)} x {length(self.width)}, {length(self.from_end)} "
            f"from the {board.face(self.end).name}, {length(self.from_edge)} from the "
            f"{board.face(self.edge).name}"
        )

    def refuse_unfit(self, board: Board, length: Print) -> None:
        """Refuse sizes that leave nothing."""
        self._refuse_more(board, length, self.end, self.from_end + self.length, "length")
        self._refuse_more(board, length, self.edge, self.from_edge + self.width, "width")


KIND = Opening
