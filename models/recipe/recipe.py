"""From the text of a recipe to its typed values: stock, tools and limits, the pieces to build."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field, model_validator

from ..piece.board import Sawn, Stock
from ..piece.project import Limits
from ..wood import tables
from ..words.errors import Location, Problem, RecipeError
from ..words.lengths import UNITS, Unit, quoted
from ..words.names import folded, numbered, one_of
from .cutting import CuttingParams, cutting_of
from .document import Document
from .fields import Fact, KeyOf, Measure, placed
from .params import Length, LengthOrZero, Name, Params, Percent
from .reading import read_document, read_text, validate
from .router import RouterParams, router_in
from .stated import MOST_SWING, PieceParams, Recipe
from .tools import ToolParams, tools_of

_LIMITS = Limits()
_LEAST_SHEET = 300.0  # mm; common practice, no source


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
    sheet_size: Annotated[
        tuple[float, float] | None, Measure("size", above=True, halves=("length", "width"))
    ] = Field(
        None,
        description="of the sheets that are bought, along the face grain x across it; without it "
        "as the table has them",
    )
    sawn: Sawn = Field(
        "flat",
        description="solid wood, flat or quarter sawn: flat moves more across its width",
    )

    @model_validator(mode="after")
    def _one_material(self) -> StockParams:
        if self.wood is not None and self.thickness is None:
            raise ValueError("key `thickness` is missing: solid wood has none of its own")
        if self.wood is not None and self.sheet_size is not None:
            raise ValueError("`sheet_size` is for sheet goods: take it away from this solid wood")
        if self.sheet_size is not None and min(self.sheet_size) < _LEAST_SHEET:
            raise ValueError(f"sheet_size: no sheet is bought under {_LEAST_SHEET:g} mm")
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
    max_swing: Annotated[float, Measure("angle", 0, MOST_SWING)] = Field(
        _LIMITS.max_swing, description="largest swing that placement may choose for a mitre"
    )
    moisture_change: Percent = Field(
        _LIMITS.moisture_change,
        description="percentage points by which the moisture content of solid wood may rise or "
        "fall once the piece stands in its room (common practice: 4)",
    )


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
        router=router_in(header.router, document, unit),
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
    return Stock(label, sheet.key, sheet.title, thickness, "sheet", sheet=given.sheet_size)
