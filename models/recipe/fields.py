"""What is known of a recipe's fields, each fact declared once, in the field's own type.

A type reads what the recipe says and refuses what may not stand there. The same facts make the JSON
Schema, the list of designs, the sliders of the page and forms.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, Field, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, core_schema
from pydantic_core.core_schema import ValidationInfo

from ..words.lengths import (
    ACCEPTED,
    ACCEPTED_SIZE,
    LARGEST_MM,
    Unit,
    Usual,
    parse_length,
    parse_size,
    quoted,
)
from ..words.names import one_of

Quantity = Literal["length", "size", "angle", "count", "percent"]

LARGEST_COUNT = 100  # of pockets, parts or copies: more in one place is a slip of the pen
_LONGEST = 60  # characters of a number
_INCHES = "x-inches"  # in a field's extras: the default in a recipe in inches
_DEGREES = r"\s*(?:\u00b0|deg(?:rees?)?)?"
_PERCENT = r"\s*%?"
_LENGTHS = ["3/4", "1-1/2", "2' 6-1/2\"", "0.75 in", "19 mm", "1.9 cm"]


@dataclass(frozen=True)
class Measure:
    """Marks a number: what it measures, and from where to where it goes.

    Attributes:
        quantity: lengths are in mm, a size is two of them, angles are in degrees.
        low: the least.
        high: the most.
        above: whether the least itself is too little.
        halves: what the two lengths of a size are called.
    """

    quantity: Quantity
    low: float = 0
    high: float = LARGEST_MM
    above: bool = False
    halves: tuple[str, str] = ("width", "height")

    @property
    def range(self) -> str:
        """From where to where, in words."""
        if self.quantity in ("length", "size"):
            least = "more than nought" if self.above else "nought or more"
            return least if self.low == 0 else "at most 100 m either way"
        unit = {"angle": " degrees", "percent": " percent"}.get(self.quantity, "")
        return f"from {self.low:g} to {self.high:g}{unit}"

    @property
    def narrow(self) -> bool:
        """Whether the field allows less than its quantity does elsewhere."""
        most = {"angle": 360, "count": LARGEST_COUNT, "percent": 100}.get(self.quantity)
        return most is not None and self.high < most

    def holds(self, number: float) -> bool:
        """Whether a number lies in the range."""
        return self.low <= number <= self.high and not (self.above and number == self.low)

    def read(self, value: Any, unit: Unit) -> Any:
        """What a recipe says, as a number or two; a number given from Python is one already.

        Raises:
            ValueError: it may not stand there; the message says what may.
        """
        noun, accepted, parse = _WAYS[self.quantity]
        whole, count = self.quantity == "count", 2 if self.quantity == "size" else 1
        if isinstance(value, str):
            if not value.strip():
                raise ValueError(f"nothing stands here: {accepted}")
            numbers = parse(value, unit)
            if numbers is None:
                raise ValueError(f"{quoted(value)} is not {noun}: {accepted}")
        else:
            numbers = value if isinstance(value, tuple) else (value,)
            plain = int if whole else int | float
            right = all(isinstance(n, plain) and not isinstance(n, bool) for n in numbers)
            if len(numbers) != count or not right:
                raise ValueError(f"{noun} must stand here: {accepted}")
            numbers = numbers if whole else tuple(map(float, numbers))
        if not all(map(self.holds, numbers)):
            both, shown = "both lengths" if count == 2 else "it", quoted(str(value))
            raise ValueError(f"{shown}: {both} must be {self.range}")
        return numbers if count == 2 else numbers[0]

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        def read(value: Any, info: ValidationInfo) -> Any:
            return self.read(value, unit_of(info))

        return core_schema.with_info_before_validator_function(read, handler(source))

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        number: dict[str, Any] = {"type": "number"}
        if self.quantity == "count":
            return {"type": "integer", "minimum": int(self.low), "maximum": int(self.high)}
        if self.quantity == "size":
            examples = ["16 x 24", "400 x 600 mm"]
            return {"type": "string", "pattern": "[xX\u00d7]", "examples": examples}
        if self.quantity == "length":  # a bare number may be inches, so that its most is not known
            least = "exclusiveMinimum" if self.above else "minimum"
            number |= {least: 0} if self.low == 0 else {}
            return {"anyOf": [{"type": "string", "minLength": 1}, number], "examples": _LENGTHS}
        number |= {"minimum": self.low, "maximum": self.high}
        tail = _DEGREES if self.quantity == "angle" else _PERCENT
        return {"anyOf": [number, {"type": "string", "pattern": rf"^\s*-?[0-9.]+{tail}\s*$"}]}


@dataclass(frozen=True)
class KeyOf:
    """Marks a text as a key of a reference table, which is read when first needed."""

    table: Callable[[], Mapping[str, Any]]
    kind: str

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_after_validator_function(
            lambda word: one_of(word, self.table(), self.kind), handler(source)
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        keys = list(self.table())  # an editor takes a bare 8 for a number
        return {"enum": [*keys, *(int(key) for key in keys if key.isdigit())]}


@dataclass(frozen=True)
class StockLabel:
    """Marks a text as the label of a stock of the recipe."""


Kind = Measure | KeyOf | StockLabel | str | type[BaseModel]
"""What may stand in a field: a number, a key of a table, a label, this very word, a mapping."""


@dataclass(frozen=True)
class Fact:
    """What is known of one field.

    Attributes:
        help: what it is, in a line.
        kinds: what may stand there, or be a member of the list or mapping there, any of them;
            empty for other text.
        keyed: whether a mapping there has keys of the recipe's own.
        required: whether it must be given.
        default: without it; lengths in mm.
        inches: without it in a recipe in inches, where that is another length.
    """

    help: str
    kinds: tuple[Kind, ...]
    keyed: bool
    required: bool
    default: Any
    inches: str

    @property
    def measure(self) -> Measure | None:
        """Of the number that may stand there."""
        return next((kind for kind in self.kinds if isinstance(kind, Measure)), None)

    @property
    def words(self) -> list[str]:
        """The words that may stand there."""
        return [kind for kind in self.kinds if isinstance(kind, str)] + [
            key for kind in self.kinds if isinstance(kind, KeyOf) for key in kind.table()
        ]

    @property
    def models(self) -> list[type[BaseModel]]:
        """What a mapping there is read as."""
        return [kind for kind in self.kinds if isinstance(kind, type)]


@cache
def facts(model: type[BaseModel]) -> Mapping[str, Fact]:
    """What is known of a model's fields, by the key that a recipe writes."""
    found = {}
    for name, field in model.model_fields.items():
        extra = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
        found[field.alias or name] = Fact(
            field.description or "",
            tuple(dict.fromkeys([*_marks(field.metadata), *_kinds(field.annotation)])),
            any(
                get_origin(part) is dict for part in (field.annotation, *get_args(field.annotation))
            ),
            field.is_required(),
            None if field.is_required() or field.default_factory else field.default,
            str(extra.get(_INCHES, "")),
        )
    return found


def placed(
    model: type[BaseModel], tree: Any, path: tuple[str | int, ...] = ()
) -> Iterator[tuple[tuple[str | int, ...], Fact]]:
    """Yield the place of every text in a tree that a model has a field for, with what is known.

    Args:
        model: what the tree is read as.
        tree: of mappings, lists and text.
        path: of the tree.
    """
    for key, fact in facts(model).items():
        if isinstance(tree, Mapping) and key in tree:
            yield from _within(fact, tree[key], (*path, key), fact.keyed)


def _within(
    fact: Fact, node: Any, path: tuple[str | int, ...], keyed: bool
) -> Iterator[tuple[tuple[str | int, ...], Fact]]:
    if isinstance(node, str):
        yield path, fact
    elif isinstance(node, list) or (isinstance(node, Mapping) and keyed):
        members = enumerate(node) if isinstance(node, list) else node.items()
        for step, member in members:
            yield from _within(fact, member, (*path, step), False)
    else:
        for model in fact.models:
            yield from placed(model, node, path)


def usual(length: Usual, *, description: str) -> Any:
    """A field whose default is a length of practice, round in the recipe's own unit."""
    return Field(length.mm, description=description, json_schema_extra={_INCHES: length.inch})


def unit_of(info: ValidationInfo) -> Unit:
    """The recipe's unit, mm where there is no recipe."""
    unit: Unit = (info.context or {}).get("unit", "mm")
    return unit


def tell(prop: dict[str, Any], fact: Fact) -> None:
    """Make a property of a JSON Schema what a recipe's author needs.

    Its description tells the unit and what the default is in inches, its default is as a recipe
    writes it, and null is no choice: in a recipe a key is left out instead.
    """
    prop.pop(_INCHES, None)
    prop.pop("title", None)
    options = [option for option in prop.pop("anyOf", ()) if option != {"type": "null"}]
    if len(options) == 1:
        prop |= options[0] | prop
    elif options:
        prop["anyOf"] = options
    said, measure = fact.help, fact.measure
    if fact.inches:
        said += f"; {fact.inches} in where the recipe is in inches"
    if measure and measure.quantity != "count":
        unit = {"angle": "degrees", "percent": "percent"}.get(
            measure.quantity, f"{measure.quantity}; a bare number is in the recipe's unit"
        )
        said += f" ({unit})"
    prop["description"] = said
    if prop.get("default", "") in (None, "", {}, []):
        prop.pop("default", None)
    elif measure and isinstance(fact.default, int | float) and measure.quantity == "length":
        prop["default"] = f"{fact.default:g} mm"


# --- from types ----------------------------------------------------------------------------------


def _marks(metadata: list[Any] | tuple[Any, ...]) -> Iterator[Kind]:
    yield from (mark for mark in metadata if isinstance(mark, Measure | KeyOf | StockLabel))


def _kinds(annotation: Any) -> Iterator[Kind]:
    """What may stand where a type is asked for, or as a member of its list or mapping."""
    origin, arguments = get_origin(annotation), get_args(annotation)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    elif annotation is bool:
        yield from ("yes", "no")
    elif origin is Literal:
        yield from map(str, arguments)
    elif origin is Annotated:
        yield from _marks(arguments[1:])
        yield from _kinds(arguments[0])
    elif origin in (Union, UnionType):
        for part in arguments:
            yield from _kinds(part)
    elif origin in (list, tuple, dict) and arguments:
        yield from _kinds(next(a for a in reversed(arguments) if a is not Ellipsis))


# --- from text -----------------------------------------------------------------------------------

_Parse = Callable[[str, Unit], tuple[float, ...] | None]


def _decimal(tail: str) -> _Parse:
    whole = re.compile(rf"\s*(-?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)){tail}\s*", re.ASCII)

    def parse(text: str, unit: Unit) -> tuple[float, ...] | None:
        found = whole.fullmatch(text) if len(text) <= _LONGEST else None
        return found and (float(found[1]),)

    return parse


def _whole(text: str, unit: Unit) -> tuple[float, ...] | None:
    found = re.fullmatch(r"0|[1-9][0-9]*", text) if len(text) <= _LONGEST else None
    return found and (int(found[0]),)


_WAYS: Mapping[Quantity, tuple[str, str, _Parse]] = {
    "length": ("a length", ACCEPTED, lambda text, unit: (parse_length(text, unit),)),
    "size": ("a size", ACCEPTED_SIZE, parse_size),
    "angle": ("an angle in degrees", "write 15 or 22.5, say", _decimal(_DEGREES)),
    "percent": ("a number of percent", "write 4 or 2.5, say", _decimal(_PERCENT)),
    "count": ("a whole number", "write plain digits, such as 4", _whole),
}
"""By quantity: what it is called, what may stand there, and how its text is read."""
