"""Building blocks of the typed recipe: lengths, sizes, angles, counts, names, yes and no.

Text is read as the recipe writes it, with the recipe's unit in `ValidationInfo.context["unit"]`. A
number given from Python, as a default is, counts as millimetres or degrees already.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    WithJsonSchema,
    model_validator,
)
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

LONGEST_NAME = 60
LARGEST_COUNT = 100  # of pockets, parts or copies: more in one place is a slip of the pen
_LARGEST_MANY = 1000
_INCHES = "x-inches"  # in a field's schema: the default in a recipe in inches

# Windows takes a superscript digit for the plain one, and no notice of what follows a dot.
_RESERVED = re.compile(
    r"(?:con|prn|aux|nul|(?:com|lpt)[0-9\u00b9\u00b2\u00b3]|conin\$|conout\$) *(?:\..*)?", re.I
)
_SEPARATORS = '/\\:*?"<>|'
_DECIMAL = re.compile(r"-?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)", re.ASCII)
_WHOLE = re.compile(r"0|[1-9][0-9]*", re.ASCII)


class Params(BaseModel):
    """Base of every typed part of a recipe: frozen, and an unknown key is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    @model_validator(mode="before")
    @classmethod
    def _usual_lengths(cls, given: Any, info: ValidationInfo) -> Any:
        """In a recipe in inches, fill in the inches of what is usual."""
        if not isinstance(given, dict) or _unit(info) != "inch":
            return given
        return {**_usual_inches(cls), **given}


def usual(length: Usual, *, description: str) -> Any:
    """A field whose default is a length of practice, round in the recipe's own unit."""
    return Field(length.mm, description=description, json_schema_extra={_INCHES: length.inch})


@cache
def _usual_inches(model: type[Params]) -> Mapping[str, Any]:
    """The defaults of a model in inches; of a part that is left out, {}, so that it has its own."""
    found: dict[str, Any] = {}
    for name, field in model.model_fields.items():
        factory = field.default_factory
        if isinstance(field.json_schema_extra, dict) and _INCHES in field.json_schema_extra:
            found[name] = field.json_schema_extra[_INCHES]
        elif isinstance(factory, type) and issubclass(factory, Params) and _usual_inches(factory):
            found[name] = {}
    return found


def nearest(word: str, legal: Iterable[str]) -> str:
    """Return `; did you mean ...?` with the nearest legal word, or nothing when none is near."""
    by_plain = {_plain_word(known): known for known in legal}
    near = get_close_matches(_plain_word(word), by_plain, n=1, cutoff=0.6)
    return f"; did you mean `{by_plain[near[0]]}`?" if near else ""


def one_of(word: str, legal: Iterable[str], kind: str) -> str:
    """Return the word when it is legal.

    Raises:
        ValueError: it is not; the message has the nearest word and the legal list.
    """
    known = list(legal)
    if word in known:
        return word
    listed = ", ".join(known) or "none is given"
    raise ValueError(f"{quoted(word)} is no {kind}{nearest(word, known)} (known: {listed})")


def _plain_word(word: str) -> str:
    return word.lower().replace("_", "-").replace(" ", "-")


def _unit(info: ValidationInfo) -> Unit:
    unit: Unit = (info.context or {}).get("unit", "mm")
    return unit


def _length_in(least: float, exclusive: bool, wanted: str) -> Callable[[Any, ValidationInfo], Any]:
    def read(value: Any, info: ValidationInfo) -> Any:
        if isinstance(value, str):
            mm, shown = parse_length(_filled(value, ACCEPTED), _unit(info)), quoted(value)
        elif isinstance(value, int | float) and not isinstance(value, bool):
            mm, shown = float(value), f"{value} mm"
        else:
            raise ValueError(f"a length must stand here: {ACCEPTED}")
        if not math.isfinite(mm) or abs(mm) > LARGEST_MM:
            raise ValueError(f"{shown} is not a length up to 100 m")
        if mm < least or (exclusive and mm == least):
            raise ValueError(f"{shown}: {wanted}")
        return mm

    return read


def _size(value: Any, info: ValidationInfo) -> Any:
    if isinstance(value, str):
        pair = parse_size(_filled(value, ACCEPTED_SIZE), _unit(info))
    elif isinstance(value, tuple) and len(value) == 2:
        pair = (float(value[0]), float(value[1]))
    else:
        raise ValueError(f"a size must stand here: {ACCEPTED_SIZE}")
    if not all(0 < mm <= LARGEST_MM for mm in pair):
        raise ValueError(f"{quoted(str(value))}: both lengths of a size must be more than nought")
    return pair


def _angle(value: Any) -> Any:
    if isinstance(value, str):
        text = _filled(value, "an angle in degrees, such as 15 or 22.5")
        number = re.sub(r"\s*(?:\u00b0|deg(?:rees?)?)$", "", text.strip())
        if len(number) > LONGEST_NAME or not _DECIMAL.fullmatch(number):
            raise ValueError(f"{quoted(value)} is not an angle in degrees, such as 15 or 22.5")
        degrees, shown = float(number), quoted(value)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        degrees, shown = float(value), str(value)
    else:
        raise ValueError("an angle in degrees must stand here, such as 15 or 22.5")
    if not abs(degrees) <= 360:
        raise ValueError(f"{shown}: an angle is from -360 to 360 degrees")
    return degrees


def _percent(value: Any) -> Any:
    wanted = "a number of percent from 0 to 100, such as 4 or 2.5"
    if isinstance(value, str):
        text = re.sub(r"\s*%$", "", _filled(value, wanted).strip())
        if len(text) > LONGEST_NAME or not _DECIMAL.fullmatch(text):
            raise ValueError(f"{quoted(value)} is not {wanted}")
        percent = float(text)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        percent = float(value)
    else:
        raise ValueError(f"{wanted} must stand here")
    if not 0 <= percent <= 100:
        raise ValueError(f"{quoted(str(value))} is not {wanted}")
    return percent


def _count_from(least: int, most: int = LARGEST_COUNT) -> Callable[[Any], Any]:
    wanted = f"a whole number from {least} to {most}, in plain digits"

    def read(value: Any) -> Any:
        if isinstance(value, str):
            text = _filled(value, wanted)
            if len(text) > LONGEST_NAME or not _WHOLE.fullmatch(text):
                raise ValueError(f"{quoted(value)} is not {wanted}")
            count = int(text)
        elif isinstance(value, int) and not isinstance(value, bool):
            count = value
        else:
            raise ValueError(f"{wanted} must stand here")
        if not least <= count <= most:
            raise ValueError(f"{quoted(str(value))} is not {wanted}")
        return count

    return read


def _yes_no(value: Any) -> Any:
    if isinstance(value, bool):
        return value
    if isinstance(value, str) and value.lower() in ("yes", "true", "no", "false"):
        return value.lower() in ("yes", "true")
    shown = f"{quoted(value)}: " if isinstance(value, str) else ""
    raise ValueError(f"{shown}yes or no must stand here (true and false are read as well)")


def _name(value: str) -> str:
    def refuse(why: str) -> ValueError:
        return ValueError(f"{quoted(value)} cannot be a name: {why} (it becomes a file name)")

    if not value.strip():
        raise ValueError("a name must stand here")
    if len(value) > LONGEST_NAME:
        raise refuse(f"more than {LONGEST_NAME} characters")
    if len(value.encode()) > 2 * LONGEST_NAME:
        raise refuse(f"more than {2 * LONGEST_NAME} bytes")
    if bad := sorted({c for c in value if c in _SEPARATORS}):
        raise refuse(f"it has {' '.join(bad)}")
    if any(unicodedata.category(c)[0] == "C" or (c.isspace() and c != " ") for c in value):
        raise refuse("it has a control or invisible character")
    if value != value.strip(" ."):
        raise refuse("it begins or ends with a blank or a dot")
    if ".." in value:
        raise refuse("it has two dots together")
    if _RESERVED.fullmatch(value):
        raise refuse("Windows keeps that name for a device")
    return unicodedata.normalize("NFC", value)


@dataclass(frozen=True)
class KeyOf:
    """Marks a text field as a key of a reference table, which is read when first needed."""

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


def _filled(text: str, wanted: str) -> str:
    if not text.strip():
        raise ValueError(f"nothing stands here: {wanted}")
    return text


def _length_schema(wanted: str, minimum: dict[str, float]) -> WithJsonSchema:
    return WithJsonSchema(
        {
            "anyOf": [{"type": "string", "minLength": 1}, {"type": "number", **minimum}],
            "description": f"{wanted}; a bare number is in the recipe's unit",
            "examples": ["3/4", "1-1/2", "2' 6-1/2\"", "0.75 in", "19 mm", "1.9 cm"],
            "x-quantity": "mm",
        }
    )


Length = Annotated[
    float,
    BeforeValidator(_length_in(0, True, "it must be more than nought")),
    _length_schema("a length, more than nought", {"exclusiveMinimum": 0}),
]
"""Millimetres, more than nought."""

LengthOrZero = Annotated[
    float,
    BeforeValidator(_length_in(0, False, "it must not be less than nought")),
    _length_schema("a length, nought or more", {"minimum": 0}),
]
"""Millimetres, nought or more."""

SignedLength = Annotated[
    float,
    BeforeValidator(_length_in(-LARGEST_MM, False, "it is more than 100 m")),
    _length_schema("a length, also negative", {}),
]
"""Millimetres, either sign."""

Size = Annotated[
    tuple[float, float],
    BeforeValidator(_size),
    WithJsonSchema(
        {
            "type": "string",
            "pattern": "[xX\u00d7]",
            "description": "two lengths with x between them; bare numbers are in the recipe's unit",
            "examples": ["16 x 24", "400 x 600 mm"],
            "x-quantity": "size",
        }
    ),
]
"""Two lengths in millimetres, both more than nought."""

Angle = Annotated[
    float,
    BeforeValidator(_angle),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": -360, "maximum": 360},
                {"type": "string", "pattern": "^\\s*-?[0-9.]+\\s*(\u00b0|deg|degrees?)?\\s*$"},
            ],
            "description": "degrees",
            "examples": [15, 22.5],
            "x-quantity": "deg",
        }
    ),
]
"""Degrees, from -360 to 360."""

Count = Annotated[
    int,
    BeforeValidator(_count_from(1)),
    WithJsonSchema({"type": "integer", "minimum": 1, "maximum": LARGEST_COUNT}),
]
"""A whole number from 1 to 100."""

CountOrZero = Annotated[
    int,
    BeforeValidator(_count_from(0)),
    WithJsonSchema({"type": "integer", "minimum": 0, "maximum": LARGEST_COUNT}),
]
"""A whole number from 0 to 100."""

Many = Annotated[
    int,
    BeforeValidator(_count_from(1, _LARGEST_MANY)),
    WithJsonSchema({"type": "integer", "minimum": 1, "maximum": _LARGEST_MANY}),
]
"""A whole number from 1 to 1000, of small things that are bought."""

Percent = Annotated[
    float,
    BeforeValidator(_percent),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 0, "maximum": 100},
                {"type": "string", "pattern": "^\\s*[0-9.]+\\s*%?\\s*$"},
            ],
            "description": "percent",
            "examples": [4, 2.5],
        }
    ),
]
"""Percent, from 0 to 100."""

YesNo = Annotated[
    bool,
    BeforeValidator(_yes_no),
    WithJsonSchema(
        {
            "enum": [True, False, "yes", "no"],
            "description": "yes or no",
        }
    ),
]

Name = Annotated[
    str,
    AfterValidator(_name),
    WithJsonSchema(
        {
            "type": "string",
            "minLength": 1,
            "maxLength": LONGEST_NAME,
            "pattern": r'^[^\s./\\:*?"<>|]([^/\\:*?"<>|]*[^\s./\\:*?"<>|])?$',
            "description": "a name, fit for a file name; blanks inside are kept",
        }
    ),
]
"""Text that is safe as a file name on every system."""


def params_schema(model: type[BaseModel]) -> dict[str, Any]:
    """Return the JSON Schema of a model, with units in descriptions and in length defaults."""
    schema: dict[str, Any] = readable(model.model_json_schema())
    return schema


def readable(node: Any) -> Any:
    """Return a JSON Schema as a recipe's author needs it.

    A default such as 3.0 becomes `3 mm`, a field's description tells its quantity and what the
    default is in inches, and null is no choice: in a recipe a key is left out instead.
    """
    if isinstance(node, list):
        return [readable(item) for item in node]
    if not isinstance(node, Mapping):
        return node
    result = {key: readable(value) for key, value in node.items()}
    quantities = {part["x-quantity"] for part in _parts(node) if "x-quantity" in part}
    result.pop("x-quantity", None)
    inches = result.pop(_INCHES, None)
    if {"type": "null"} in result.get("anyOf", ()):
        result["anyOf"].remove({"type": "null"})
        if len(result["anyOf"]) == 1:
            result = result.pop("anyOf")[0] | result
    if "default" in result and result["default"] in (None, "", {}):
        del result["default"]
    default, said = result.get("default"), str(result.get("description", ""))
    if "mm" in quantities and isinstance(default, int | float):
        result["default"] = f"{default:g} mm"
    elif "size" in quantities and isinstance(default, list | tuple):
        result["default"] = f"{default[0]:g} x {default[1]:g} mm"
    if inches is not None:
        said = result["description"] = f"{said}; {inches} in where the recipe is in inches"
    for quantity, told in _TOLD.items():
        if said and quantity in quantities and told.split("; ")[-1] not in said:
            result["description"] = f"{said} ({told})"
    return result


_TOLD = {"mm": "length; a bare number is in the recipe's unit", "deg": "degrees"}


def _parts(node: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Return the node and the branches of its `anyOf`."""
    branches = node.get("anyOf", [])
    return [node, *(b for b in branches if isinstance(b, Mapping))]
