"""What is done to a board: one file a kind. A part of a recipe may ask for a file's `KIND`.

Imports maths, words, piece, recipe.
"""

from __future__ import annotations

import pkgutil
from abc import ABC, abstractmethod
from collections.abc import Mapping
from functools import cache
from importlib import import_module
from typing import ClassVar

from pydantic import Field

from ..maths.geometry import Plane, Vec
from ..piece.board import Board, Cut, Face, Hole, Print, Seen, Side
from ..recipe.params import Name, Params


class WorkError(ValueError):
    """Work that a board has no room for.

    Attributes:
        key: of the kind's fields that is to blame.
    """

    def __init__(self, message: str, key: str):
        super().__init__(message)
        self.key = key


class Kind(Params, ABC):
    """A kind of work: its fields are the maker's sizes, for designs and recipes alike."""

    word: ClassVar[str]
    """What the trade calls it."""
    key: ClassVar[str] = ""
    """The key of a recipe's part that lists work of this kind."""
    about: ClassVar[str] = ""
    """That key in a line of help."""

    name: Name | None = Field(None, description="what to call it; without it its kind")
    seen: Seen = Field("exposed", description="how the faces that it leaves are seen")

    @property
    def called(self) -> str:
        """Its name, or its kind."""
        return self.name or self.noun

    @property
    def noun(self) -> str:
        """What the trade calls it where it stands."""
        return self.word

    @property
    def title(self) -> str:
        """What its sizes are told after: its name, and its kind where that does not say it."""
        known = self.called if self.noun in self.called else f"{self.called} ({self.noun})"
        return f"{known}," if known[-1].isdigit() else known

    @property
    @abstractmethod
    def done_from(self) -> Side:
        """The face that lies up while it is done."""

    @property
    @abstractmethod
    def datum(self) -> tuple[Side, ...]:
        """The sides that its place is measured from."""

    def tilts(self) -> Mapping[Side, Vec]:
        """Sides of the blank that it saws off square, each with its outward unit normal."""
        return {}

    def removes(self, board: Board) -> tuple[Cut | Hole, ...]:
        """What it takes out of the board's blank."""
        return ()

    @abstractmethod
    def told(self, board: Board, length: Print) -> str:
        """Kind, sizes and place in words, as a cut list has them."""

    def refuse_unfit(self, board: Board, length: Print) -> None:
        """Refuse a board that has no room for it.

        Raises:
            WorkError: which size is to blame.
        """

    def _cut(self, planes: Mapping[str, Plane]) -> Cut:
        """The region within planes, by the words for the faces that they leave."""
        faces = ((f"{self.called} {part}", plane) for part, plane in planes.items())
        return Cut(self.called, tuple(Face(side, side, plane, self.seen) for side, plane in faces))

    def _refuse_more(self, board: Board, length: Print, side: Side, taken: float, key: str) -> None:
        room = board.size(side)
        if taken >= room:
            raise WorkError(
                f"the {self.called} takes {length(taken)} of {length(room)}: nothing is left", key
            )


def outside(board: Board, side: Side, distance: float) -> Plane:
    """The half-space of all that is less than a distance (mm) inside a face of the blank."""
    plane = board.face(side).plane
    return Plane(_minus(plane.normal), distance - plane.offset)


def beyond(board: Board, side: Side, distance: float) -> Plane:
    """The half-space of all that is more than a distance (mm) inside a face of the blank."""
    plane = board.face(side).plane
    return Plane(plane.normal, plane.offset - distance)


def _minus(v: Vec) -> Vec:
    return (-v[0] + 0.0, -v[1] + 0.0, -v[2] + 0.0)


@cache
def kinds() -> Mapping[str, type[Kind]]:
    """The kinds that a recipe's parts may ask for, by key."""
    modules = sorted(m.name for m in pkgutil.iter_modules(__path__) if m.name[0] != "_")
    found = (getattr(import_module(f"{__name__}.{name}"), "KIND", None) for name in modules)
    return {kind.key: kind for kind in found if kind is not None}
