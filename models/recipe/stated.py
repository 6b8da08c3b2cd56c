"""What a recipe states, as typed values: its pieces, what is bored otherwise, tools and limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from ..machine.router import Router
from ..machine.saw import Cutting
from ..piece.board import Seen, Stock
from ..piece.project import Limits
from ..wood import tables
from ..words.errors import Location, RecipeError
from ..words.lengths import Unit, quoted
from ..words.names import nearest
from .document import Document
from .fields import KeyOf, Measure
from .params import Angle, Count, Length, LengthOrZero, Name, Params, SignedLength
from .tools import Tools

MOST_SWING = 60.0  # degrees either way


class Place(Params):
    """Where a piece stands on the floor plan, and how it is turned."""

    x: SignedLength = Field(0.0, description="to the right")
    y: SignedLength = Field(0.0, description="to the back")
    turn: Angle = Field(0.0, description="counter-clockwise, seen from above")
    up: LengthOrZero = Field(0.0, description="above the floor, for what hangs on a wall")


class Otherwise(Params):
    """A joint, or a single pocket of it, that is bored otherwise than the design would."""

    pockets: Count | None = Field(None, description="how many the joint has")
    pockets_in: str | None = Field(
        None,
        description="face to bore from; `board / face` to bore from the joint's other board; "
        "any: the face least in sight that serves",
    )
    position: LengthOrZero | None = Field(
        None, description="of a pocket along its joint, counted from where its place is printed"
    )
    swing: Annotated[float, Measure("angle", -MOST_SWING, MOST_SWING)] | None = Field(
        None, description="turn along the joint; positive: toward growing positions"
    )
    screw: Length | None = Field(None, description="length of the screw")
    wood_under_screw: Length | None = Field(
        None, description="how the drill's stop is set: wood left from the shoulder to the joint"
    )
    drill: Annotated[str, KeyOf(tables.drills, "drill")] | None = Field(
        None, description="stepped drill"
    )
    pilot: Length | Literal["screw"] | None = Field(
        None,
        description="how far the pilot is drilled on into the mating board; screw: as deep as the "
        "screw goes",
    )
    slot: LengthOrZero | None = Field(
        None,
        description="by how much the pilot is longer than wide across the mating board's grain, "
        "for that board to move",
    )


EVERY_JOINT = "every joint"


class Fixing(Params):
    """What fastens a piece to the house or to its neighbours."""

    to: Literal["wall", "floor", "neighbour", "worktop"] = Field(description="what it is held to")
    name: Name = Field(description="what to ask for")
    detail: str = Field("", description="size, and what it goes through")
    quantity: Count = Field(1, description="how many for one piece")


class PieceParams(Params):
    """What every piece has; a design's parameters derive from it."""

    design: str = Field(description="which design the piece is built to")
    name: Name = Field("", description="name of the piece, unique in the recipe; default: design")
    quantity: Count = Field(1, description="how many to build")
    at: Place | None = Field(None, description="place on the floor plan")
    seen: dict[str, Seen] = Field(
        default_factory=dict, description="how faces are seen, by the face's name"
    )
    fixings: tuple[Fixing, ...] = Field((), description="what fastens the piece where it stands")
    changes: dict[str, Otherwise] = Field(
        default_factory=dict,
        description="what is bored otherwise than the design would, by the joint's or pocket's "
        f"printed name without the piece's; or for `{EVERY_JOINT}`",
    )

    @property
    def copies(self) -> tuple[str, ...]:
        """What each copy of the piece is called."""
        name = self.name or self.design
        if self.quantity == 1:
            return (name,)
        return tuple(f"{name} {number}" for number in range(1, self.quantity + 1))


@dataclass(frozen=True)
class Recipe:
    """A recipe as read; lengths in mm.

    Attributes:
        name: of the project.
        unit: of bare numbers, and of what is printed.
        stock: by label.
        tools: drill and screw gauge.
        limits: wood that must stay.
        router: that it states, if any.
        cutting: how wood is bought and sawn.
        pieces: in the order given; piece `i` stands at the path `("build", i)`.
        document: the places of all keys and values.
        path: the file.
    """

    name: str
    unit: Unit
    stock: Mapping[str, Stock]
    tools: Tools
    limits: Limits
    router: Router | None
    cutting: Cutting
    pieces: tuple[PieceParams, ...]
    document: Document
    path: Path

    def location(self, *path: str | int) -> Location:
        """Return where a value stands, or the nearest node above it: `location("build", 0)`."""
        return self.document.location(*path)

    def error(self, message: str, *path: str | int) -> RecipeError:
        """Return an error at the value of `path`, ready to raise."""
        return RecipeError.at(self.location(*path), message)

    def stock_named(self, label: str, *path: str | int) -> Stock:
        """Return the stock with a label that is given at `path`.

        Raises:
            RecipeError: the recipe has no such stock; with the nearest label.
        """
        if label in self.stock:
            return self.stock[label]
        known = ", ".join(self.stock) or "none is given"
        message = f"{quoted(label)} is no stock{nearest(label, self.stock)} (known: {known})"
        raise self.error(message, *path)
