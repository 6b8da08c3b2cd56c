"""What rebates and grooves share: they run along an edge or end of a face, through or stopped."""

from __future__ import annotations

from pydantic import Field

from ..maths.geometry import Plane
from ..piece.board import (
    BACK,
    BOTTOM,
    FRONT,
    LEFT,
    OPPOSITE,
    RIGHT,
    TOP,
    Board,
    BoardSide,
    Cut,
    Print,
    Seen,
    Side,
)
from ..recipe.params import Length, LengthOrZero
from . import Kind, WorkError, beyond, outside

_PAIRS = ((LEFT, RIGHT), (FRONT, BACK), (TOP, BOTTOM))


class Channel(Kind):
    """What is cut along an edge or end of a face."""

    seen: Seen = Field("concealed", description="how the faces that it leaves are seen")
    edge: BoardSide = Field(description="edge or end that it runs along")
    face: BoardSide = Field(description="face that it is cut into")
    width: Length = Field(description="from the edge")
    depth: Length = Field(description="from the face")
    starts: LengthOrZero = Field(
        0.0, description="stopped so far from the left end (from the front edge, along an end)"
    )
    stops: LengthOrZero = Field(
        0.0, description="stopped so far from the right end (from the back edge, along an end)"
    )

    @property
    def far(self) -> float:
        """From the edge to its further wall (mm)."""
        return self.width

    @property
    def ends(self) -> tuple[Side, Side]:
        """The sides that it runs between."""
        own = (self.edge, self.face)
        return next(pair for pair in _PAIRS if not set(own) & set(pair))

    @property
    def done_from(self) -> Side:
        """The face that it is cut into."""
        return self.face

    @property
    def datum(self) -> tuple[Side, ...]:
        """The edge; with the ends that it stops short of."""
        return (self.edge, *(end for end, short in self._stopped() if short))

    def removes(self, board: Board) -> tuple[Cut, ...]:
        """The channel."""
        return (self._cut(self._walls(board)),)

    def refuse_unfit(self, board: Board, length: Print) -> None:
        """Refuse faces that do not border, and sizes that leave nothing."""
        if self.face in (self.edge, OPPOSITE[self.edge]):
            raise WorkError(f"the {self.edge} does not border the {self.face}", "face")
        self._refuse_more(board, length, self.edge, self.far, "width")
        self._refuse_more(board, length, self.face, self.depth, "depth")
        if self.starts + self.stops >= board.size(self.ends[0]):
            raise WorkError(f"stopped so far from both ends, no {self.called} is left", "starts")

    def _stopped(self) -> tuple[tuple[Side, float], ...]:
        return tuple(zip(self.ends, (self.starts, self.stops), strict=True))

    def _walls(self, board: Board) -> dict[str, Plane]:
        planes = {
            "floor": outside(board, self.face, self.depth),
            "wall": outside(board, self.edge, self.far),
        }
        for end, short in self._stopped():
            if short:
                planes[f"stop at the {end}"] = beyond(board, end, short)
        return planes

    def _told_stops(self, board: Board, length: Print) -> str:
        stops = [f"{length(d)} from the {board.face(e).name}" for e, d in self._stopped() if d]
        return f", stopped {' and '.join(stops)}" if stops else ""
