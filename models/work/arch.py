"""An arch: a hollow curve along an edge, a part of a circle over a chord."""

from __future__ import annotations

import math
from typing import ClassVar

from pydantic import Field

from ..piece.board import FRONT, LEFT, RIGHT, Board, Cut, Edge, Face, Print, Round, Side
from ..recipe.params import Length, LengthOrZero
from . import WorkError
from ._through import Through


class Arch(Through):
    """A hollow curve along an edge, through the thickness."""

    word: ClassVar[str] = "arch"
    key: ClassVar[str] = "arches"
    about: ClassVar[str] = "hollow curves along an edge"

    edge: Edge = Field(description="edge that it is cut into")
    rise: Length = Field(description="in the middle, from the edge")
    starts: LengthOrZero = Field(0.0, description="from the left end to where it starts")
    stops: LengthOrZero = Field(0.0, description="from the right end to where it stops")

    @property
    def datum(self) -> tuple[Side, ...]:
        """The edge, and both ends."""
        return (self.edge, LEFT, RIGHT)

    def chord(self, board: Board) -> tuple[float, float]:
        """Where it starts and stops along the edge (x, mm)."""
        y = 0.0 if self.edge == FRONT else board.width
        left, right = (board.face(end).plane for end in (LEFT, RIGHT))
        heights = (0.0, board.thickness)
        first = min((left.offset - left.normal[1] * y - left.normal[2] * z) for z in heights)
        last = max((right.offset - right.normal[1] * y - right.normal[2] * z) for z in heights)
        return first / left.normal[0] + self.starts, last / right.normal[0] - self.stops

    def radius(self, board: Board) -> float:
        """Of the circle (mm): (c^2 / 4 + h^2) / 2h for chord c and rise h (textbook)."""
        start, stop = self.chord(board)
        return ((stop - start) ** 2 / 4 + self.rise**2) / (2 * self.rise)

    def removes(self, board: Board) -> tuple[Cut, ...]:
        """The segment of the circle, within flat sides that touch the circle all along it."""
        (start, stop), radius = self.chord(board), self.radius(board)
        inward, edge = (1.0, 0.0) if self.edge == FRONT else (-1.0, board.width)
        x, y = (start + stop) / 2, edge + inward * (self.rise - radius)
        half = math.degrees(math.asin(min(1.0, (stop - start) / (2 * radius))))
        curve = Round((x, y, 0.0), (0.0, 0.0, 1.0), radius, hollow=True)
        planes = curve.sides((0.0, inward, 0.0), half)
        faces = tuple(Face(self.called, self.called, plane, self.seen) for plane in planes)
        return (Cut(self.called, faces, curve),)

    def told(self, board: Board, length: Print) -> str:
        """`arch 1-1/2" high along the lower edge, from end to end`."""
        away = [
            f"{length(far)} from the {board.face(end).name}"
            for end, far in ((LEFT, self.starts), (RIGHT, self.stops))
            if far
        ]
        return (
            f"{self.title} {length(self.rise)} high along the {board.face(self.edge).name}, "
            f"{' and '.join(away) or 'from end to end'}, radius {length(self.radius(board))}"
        )

    def refuse_unfit(self, board: Board, length: Print) -> None:
        """Refuse more than half a circle, and a rise that leaves nothing."""
        self._refuse_more(board, length, self.edge, self.rise, "rise")
        start, stop = self.chord(board)
        if stop <= start:
            raise WorkError(f"stopped so far from both ends, no {self.called} is left", "starts")
        if self.rise > (stop - start) / 2:
            raise WorkError(
                f"an arch over {length(stop - start)} rises at most {length((stop - start) / 2)}, "
                "half a circle",
                "rise",
            )


KIND = Arch
