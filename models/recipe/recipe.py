"""The typed recipe: what it is called, its stock, tools and limits, and the pieces to build."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from ..machine.router import Router
from ..machine.saw import Cutting
from ..piece.board import Sawn, Seen, Stock
from ..piece.project import Limits
from ..wood import tables
from ..words.errors import Location, Problem, RecipeError
from ..words.lengths import UNITS, Unit, quoted
from ..words.names import folded, nearest, numbered, one_of
from .cutting import CuttingParams, cutting_of
from .fields import Fact, KeyOf, Measure, placed
from .params import Angle, Count, Length, LengthOrZero, Name, Params, Percent, SignedLength
from .reading import Document, read_document, read_text, validate
from .router import RouterParams, router_in
from .tools import ToolParams, Tools, tools_of

_LIMITS = Limits()
_MOST_SWING = 60.0


class StockParams(Params):
    """What boards are cut from: a wood and its thickness, or a sheet good."""

    exactly_one = ("wood", "sheet")

    wood: Annotated[str, KeyOf(tables.species, "wood")] | None = Field(
        None, description="species of solid wood"
    )
    sheet: Annotated[str, KeyOf(tables.sheet_goods, "sheet good")] | None = Field(
        None, description="sheet good"
    )
    thickness: Length | None = Field(
        None, description="finished thickness; sheet goods have theirs from the table"
    )
    sawn: Sawn = Field(
        "flat",
        description="solid wood, flat or quarter sawn: flat moves more across its width",
    )

    @model_validator(mode="after")
    def _one_material(self) -> StockParams:
        if self.wood is not None and self.thickness is None:
            raise ValueError("key `thickness` is missing: solid wood has none of its own")
        if self.sheet is not None and "sawn" in self.model_fields_set:
            raise ValueError("`sawn` is for solid wood: take it away from this sheet good")
        return self


class LimitParams(Params):
    """How much wood must stay between a bore or screw and what is near it."""

    show_wall: Length = Field(_LIMITS.show_wall, description="least wall to a face that shows")
    hidden_wall: Length = Field(_LIMITS.hidden_wall, description="least wall to a hidden face")
    wander: LengthOrZero = Field(
        _LIMITS.wander,
        description="how far the drill may wander: a thinner wall fails toward every face",
    )
    tip_cover: Length = Field(
        _LIMITS.tip_cover, description="least cover of a screw's tip in the mating board"
    )
    between: Length = Field(
        _LIMITS.between, description="least distance between bores or screws in one board"
    )
    tolerance: LengthOrZero = Field(
        _LIMITS.tolerance, description="how far a pencil line may be off, each way"
    )
    max_swing: Annotated[float, Measure("angle", 0, _MOST_SWING)] = Field(
        _LIMITS.max_swing, description="largest swing that placement may choose"
    )
    moisture_change: Percent = Field(
        _LIMITS.moisture_change,
        description="percentage points by which the moisture content of solid wood may rise or "
        "fall once the piece stands in its room (common practice: 4)",
    )


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
    swing: Annotated[float, Measure("angle", -_MOST_SWING, _MOST_SWING)] | None = Field(
        None, description="turn along the joint; positive: toward growing positions"
    )
    screw: Length | None = Field(None, description="length of the screw")
    stop: Length | None = Field(
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
    otherwise: dict[str, Otherwise] = Field(
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


class Header(Params):
    """A furniture project for slantbore."""

    name: Name = Field(description="name of the project")
    units: Unit = Field(description="unit of bare numbers: inch or mm")
    stock: dict[Name, StockParams] = Field(
        default_factory=dict, description="stock, by a label that the pieces refer to"
    )
    tools: ToolParams = Field(default_factory=ToolParams, description="drill and driver")
    limits: LimitParams = Field(default_factory=LimitParams, description="wood that must stay")
    router: RouterParams | None = Field(None, description="router and cutters; else the usual ones")
    cutting: CuttingParams = Field(default_factory=CuttingParams, description="saw, boards on sale")
    build: list[Any] = Field(min_length=1, description="the pieces to build")


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


def fields_of(
    tree: Any, piece_models: Mapping[str, type[PieceParams]]
) -> dict[tuple[str | int, ...], Fact]:
    """What is known of every text in a recipe's tree that has a field, by its place."""
    found = dict(placed(Header, tree))
    build = tree.get("build") if isinstance(tree, dict) else None
    for index, piece in enumerate(build if isinstance(build, list) else ()):
        design = piece.get("design") if isinstance(piece, dict) else None
        if isinstance(design, str) and design in piece_models:
            found |= placed(piece_models[design], piece, ("build", index))
    return found


def read_recipe(path: Path, piece_models: Mapping[str, type[PieceParams]]) -> Recipe:
    """Read a recipe file.

    Args:
        path: the file.
        piece_models: the parameters of every design, by design.

    Raises:
        RecipeError: with every problem found, each with its place.
    """
    return parse_recipe(read_text(path), str(path), piece_models)


def parse_recipe(text: str, file: str, piece_models: Mapping[str, type[PieceParams]]) -> Recipe:
    """Read the text of a recipe; `file` is the name that messages print.

    Raises:
        RecipeError: with every problem found, each with its place.
    """
    return recipe_of(read_document(text, file), piece_models)


def recipe_of(document: Document, piece_models: Mapping[str, type[PieceParams]]) -> Recipe:
    """The recipe that a document holds.

    Raises:
        RecipeError: with every problem found, each with its place.
    """
    unit = _unit(document)
    context = {"unit": unit}
    problems: list[Problem] = []
    header: Header | None = None
    with _collecting(problems):
        header = validate(Header, document, context)
    pieces = _pieces(document, context, piece_models, problems)
    if problems or header is None:
        raise RecipeError(problems)
    return Recipe(
        name=header.name,
        unit=unit,
        stock={label: _stock(label, given) for label, given in header.stock.items()},
        tools=tools_of(header.tools, unit),
        limits=Limits(**header.limits.model_dump()),
        router=router_in(header.router, document),
        cutting=cutting_of(header.cutting, unit),
        pieces=pieces,
        document=document,
        path=Path(document.file),
    )


@contextmanager
def _collecting(problems: list[Problem]) -> Iterator[None]:
    """Keep a RecipeError's problems and go on."""
    try:
        yield
    except RecipeError as error:
        problems.extend(error.problems)


def _unit(document: Document) -> Unit:
    """Return the recipe's unit.

    A wrong one is reported by the header, and counts as inch here: sizes read too large meet fewer
    limits that are not about them than sizes read too small.
    """
    said = document.tree.get("units") if isinstance(document.tree, dict) else None
    return next((unit for unit in UNITS if unit == said), "inch")


def _pieces(
    document: Document,
    context: Mapping[str, Any],
    piece_models: Mapping[str, type[PieceParams]],
    problems: list[Problem],
) -> tuple[PieceParams, ...]:
    build = document.tree.get("build") if isinstance(document.tree, dict) else None
    pieces: list[PieceParams] = []
    taken: dict[str, Location] = {}
    for index, tree in enumerate(build if isinstance(build, list) else []):
        at = ("build", index)
        here = document.location(*at)
        if not isinstance(tree, dict):
            problems.append(Problem(here, "a piece is a mapping with `design` and its parameters"))
            continue
        if "design" not in tree:
            message = f"key `design` is missing (one of: {', '.join(piece_models)})"
            problems.append(Problem(here, message))
            continue
        design = tree["design"]
        try:
            model = piece_models[one_of(_word(design), piece_models, "design")]
        except ValueError as error:
            problems.append(Problem(document.location(*at, "design"), str(error)))
            continue
        with _collecting(problems):
            named = {"name": design, **tree}
            piece = validate(model, document, context, at=at, tree=named)
            pieces.append(piece)
            _called_once(piece, document.location(*at, "name"), taken)
    return tuple(pieces)


def _called_once(piece: PieceParams, place: Location, taken: dict[str, Location]) -> None:
    """Note what a piece and its copies are called, by the folded name.

    Raises:
        RecipeError: an earlier piece, or a copy of it, is called so.
    """
    names = {piece.name, *piece.copies}
    for name in sorted(names):
        if folded(name) in taken:
            free = numbered(piece.name, lambda tried: folded(tried) not in taken)
            raise RecipeError.at(
                place,
                f"another piece, or a copy of one, is called {quoted(name)} "
                f"(line {taken[folded(name)].line}); give this one a `name` of its own, such as "
                f"{quoted(free)}",
            )
    taken |= dict.fromkeys(map(folded, names), place)


def _word(tree: Any) -> str:
    if not isinstance(tree, str):
        raise ValueError("the name of a design must stand here")
    return tree


def _stock(label: str, given: StockParams) -> Stock:
    if given.wood is not None and given.thickness is not None:
        wood = tables.species()[given.wood]
        return Stock(label, wood.key, wood.title, given.thickness, wood.kind, given.sawn)
    sheet = tables.sheet_goods()[str(given.sheet)]
    thickness = sheet.thickness if given.thickness is None else given.thickness
    return Stock(label, sheet.key, sheet.title, thickness, "sheet")
