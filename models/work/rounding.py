"""A rounded corner: where an end meets an edge, through the thickness."""

from __future__ import annotations

import math
from typing import ClassVar

from pydantic import Field

from ..maths.geometry import Plane, Vec, along, cross, dot, unit
from ..piece.board import Board, Cut, Edge, End, Face, Print, Round, Side
from ..recipe.params import Length
from ._through import Through


class Rounding(Through):
    """A corner rounded to a radius, tangent to end and edge."""

    word: ClassVar[str] = "rounded corner"
    key: ClassVar[str] = "rounded"
    about: ClassVar[str] = "corners rounded to a radius, through the thickness"

    end: End = Field(description="end of the corner")
    edge: Edge = Field(description="edge of the corner")
    radius: Length = Field(description="of the curve")

    @property
    def datum(self) -> tuple[Side, ...]:
        """End and edge."""
        return (self.end, self.edge)

    def removes(self, board: Board) -> tuple[Cut, ...]:
        """What lies outside the cylinder, beyond the flat plane through both lines of contact."""
        end, edge = (board.face(side).plane for side in self.datum)
        c = dot(end.normal, edge.normal)
        a, b = end.offset - self.radius, edge.offset - self.radius
        # The point of the axis that is nearest the origin: a radius inside both planes.
        middle: Vec = (0.0, 0.0, 0.0)
        for normal, share in ((end.normal, a - c * b), (edge.normal, b - c * a)):
            middle = along(middle, normal, share / (1 - c * c))
        between = along(end.normal, edge.normal, 1.0)
        size = math.sqrt(dot(between, between))
        normal = (-between[0] / size, -between[1] / size, -between[2] / size)
        plane = Plane(normal, dot(normal, along(middle, end.normal, self.radius)))
        curve = Round(middle, unit(cross(end.normal, edge.normal)), self.radius, hollow=False)
        return (Cut(self.called, (Face(self.called, self.called, plane, self.seen),), curve),)

    def told(self, board: Board, length: Print) -> str:
        """`rounded corner 1" at the left end and the lower edge`."""
        end, edge = (board.face(side).name for side in self.datum)
        return f"{self.title} {length(self.radius)} at the {end} and the {edge}"

    def refuse_unfit(self, board: Board, length: Print) -> None:
        """Refuse a radius that end or edge has no room for."""
        c = dot(*(board.face(side).plane.normal for side in self.datum))
        reach = self.radius * math.sqrt((1 - c) / (1 + c))  # from the corner to the contact
        for side in self.datum:
            self._refuse_more(board, length, side, reach, "radius")


KIND = Rounding
