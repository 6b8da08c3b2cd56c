"""Building blocks of the typed recipe: lengths, sizes, angles, counts, names, yes and no.

Text is read as the recipe writes it, with the recipe's unit in `ValidationInfo.context["unit"]`. A
number given from Python, as a default is, counts as millimetres or degrees already.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from functools import cache
from typing import Annotated, Any, ClassVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    GetJsonSchemaHandler,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import CoreSchema
from pydantic_core.core_schema import ValidationInfo

from ..words.lengths import LARGEST_MM, quoted
from .fields import LARGEST_COUNT, Measure, StockLabel, facts, tell, unit_of

LONGEST_NAME = 60

# Windows takes a superscript digit for the plain one, and no notice of what follows a dot.
_RESERVED = re.compile(
    r"(?:con|prn|aux|nul|(?:com|lpt)[0-9\u00b9\u00b2\u00b3]|conin\$|conout\$) *(?:\..*)?", re.I
)
_SEPARATORS = '/\\:*?"<>|'


class Params(BaseModel):
    """Base of every typed part of a recipe: frozen, and an unknown key is an error."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    exactly_one: ClassVar[tuple[str, ...]] = ()
    """Keys of which a recipe gives one, and no other."""

    @model_validator(mode="before")
    @classmethod
    def _usual_lengths(cls, given: Any, info: ValidationInfo) -> Any:
        """In a recipe in inches, fill in the inches of what is usual."""
        if not isinstance(given, dict) or unit_of(info) != "inch":
            return given
        return {**_usual_inches(cls), **given}

    @model_validator(mode="after")
    def _one_of_these(self) -> Params:
        given = [key for key in self.exactly_one if getattr(self, key) is not None]
        if self.exactly_one and len(given) != 1:
            *keys, last = (f"`{key}`" for key in self.exactly_one)
            said = f"{', '.join(keys)} and {last} (given: {', '.join(given) or 'none'})"
            raise ValueError(f"give exactly one of {said}")
        return self

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        schema = handler.resolve_ref_schema(handler(core))
        for key, fact in facts(cls).items():
            tell(schema["properties"][key], fact)
        if cls.exactly_one:
            schema["oneOf"] = [{"required": [key]} for key in cls.exactly_one]
        return schema


@cache
def _usual_inches(model: type[Params]) -> Mapping[str, Any]:
    """The defaults of a model in inches; of a part that is left out, {}, so that it has its own."""
    found: dict[str, Any] = {key: fact.inches for key, fact in facts(model).items() if fact.inches}
    for name, field in model.model_fields.items():
        factory = field.default_factory
        if isinstance(factory, type) and issubclass(factory, Params) and _usual_inches(factory):
            found[name] = {}
    return found


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


Length = Annotated[float, Measure("length", above=True)]
"""Millimetres, more than nought."""

LengthOrZero = Annotated[float, Measure("length")]
"""Millimetres, nought or more."""

SignedLength = Annotated[float, Measure("length", -LARGEST_MM, LARGEST_MM)]
"""Millimetres, either sign."""

Size = Annotated[tuple[float, float], Measure("size", above=True)]
"""Two lengths in millimetres, both more than nought."""

Angle = Annotated[float, Measure("angle", -360, 360)]
"""Degrees, from -360 to 360."""

Count = Annotated[int, Measure("count", 1, LARGEST_COUNT)]
"""A whole number from 1 to 100."""

CountOrZero = Annotated[int, Measure("count", 0, LARGEST_COUNT)]
"""A whole number from 0 to 100."""

Many = Annotated[int, Measure("count", 1, 1000)]
"""A whole number from 1 to 1000, of small things that are bought."""

Percent = Annotated[float, Measure("percent", 0, 100)]
"""Percent, from 0 to 100."""

StockName = Annotated[str, StockLabel()]
"""The label of a stock of the recipe."""

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
