"""An end sawn off square: at a mitre, at a bevel, or both; and an edge that is bevelled.

Angles are as a saw is set with the board on its bottom face: the mitre as seen on the top face,
the bevel as the blade's tilt. A positive mitre leaves the front edge the longer one, a positive
bevel the bottom face:

         ______________                 back edge (short)
        /              |
       /  left end     |  right end
      /  mitre = 45    |  mitre = 0
     /_________________|                front edge (long)
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import ClassVar

from pydantic import Field

from ..maths.geometry import Vec
from ..piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, Edge, End, Print, Side
from ..recipe.params import Angle
from . import Kind


class EndCut(Kind):
    """An end sawn at a mitre, a bevel or both."""

    word: ClassVar[str] = "end cut"
    end: End
    mitre: Angle = 0.0
    bevel: Angle = 0.0

    @property
    def done_from(self) -> Side:
        """The top face."""
        return TOP

    @property
    def datum(self) -> tuple[Side, ...]:
        """The end that is sawn."""
        return (self.end,)

    def tilts(self) -> Mapping[Side, Vec]:
        """The end's normal."""
        mitre, bevel = math.radians(self.mitre), math.radians(self.bevel)
        x = math.cos(mitre) * math.cos(bevel)
        way = (-x if self.end == LEFT else x, math.sin(mitre) * math.cos(bevel), math.sin(bevel))
        return {self.end: way}

    @property
    def setting(self) -> str:
        """`mitre 45 degrees`, `mitre 5, bevel 4.98 degrees`, `square`."""
        angles = [
            f"{word} {_plain(angle)}"
            for word, angle in (("mitre", self.mitre), ("bevel", self.bevel))
            if angle
        ]
        return f"{', '.join(angles)} degrees" if angles else "square"

    def long(self, board: Board) -> str:
        """`, outside edge long`: which edge and face keep their length."""
        long = [board.face(FRONT if self.mitre > 0 else BACK).name] if self.mitre else []
        long += [board.face(BOTTOM if self.bevel > 0 else TOP).name] if self.bevel else []
        return f", {' and '.join(long)} long" if long else ""

    def told(self, board: Board, length: Print) -> str:
        """`mitre 45 degrees, outside edge long`."""
        return f"{self.setting}{self.long(board)}"


class EdgeBevel(Kind):
    """An edge sawn at a bevel, over its whole length."""

    word: ClassVar[str] = "bevel"
    edge: Edge
    bevel: Angle = Field(description="off square; positive leaves the bottom face the wider one")

    @property
    def done_from(self) -> Side:
        """The top face."""
        return TOP

    @property
    def datum(self) -> tuple[Side, ...]:
        """The edge that is sawn."""
        return (self.edge,)

    def tilts(self) -> Mapping[Side, Vec]:
        """The edge's normal."""
        across, up = math.cos(math.radians(self.bevel)), math.sin(math.radians(self.bevel))
        return {self.edge: (0.0, -across if self.edge == FRONT else across, up)}

    def told(self, board: Board, length: Print) -> str:
        """`upper edge bevelled 5 degrees, outside wide`."""
        wide = board.face(BOTTOM if self.bevel > 0 else TOP).name
        edge = board.face(self.edge).name
        return f"{edge} bevelled {_plain(self.bevel)} degrees, {wide} wide"


def _plain(angle: float) -> str:
    return f"{abs(angle):.2f}".rstrip("0").rstrip(".")


def end_cuts(board: Board) -> str:
    """Say how the ends are cut: `mitre 45 degrees both ends, outside edge long`."""
    cuts = {work.end: work for work in board.work if isinstance(work, EndCut)}
    if not cuts:
        return "both ends square"
    left, right = (cuts.get(end, EndCut(end=end)) for end in (LEFT, RIGHT))
    if left.told(board, str) == right.told(board, str):
        return f"{left.setting} both ends{left.long(board)}"
    return "; ".join(f"{board.face(one.end).name} {one.told(board, str)}" for one in (left, right))


def sawn(
    left_mitre: float | None = None,
    right_mitre: float | None = None,
    left_bevel: float | None = None,
    right_bevel: float | None = None,
    front_bevel: float | None = None,
    back_bevel: float | None = None,
) -> Iterator[Kind]:
    """Yield the cuts for those angles (degrees) that are not square."""
    for edge, bevel in ((FRONT, front_bevel), (BACK, back_bevel)):
        if bevel:
            yield EdgeBevel(edge=edge, bevel=bevel)
    for end, mitre, bevel in ((LEFT, left_mitre, left_bevel), (RIGHT, right_mitre, right_bevel)):
        if mitre or bevel:
            yield EndCut(end=end, mitre=mitre or 0.0, bevel=bevel or 0.0)
