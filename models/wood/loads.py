"""Loads as a recipe writes them: `40 lb/ft2`, `200 kg/m2`, or for a whole shelf `25 kg`."""

from __future__ import annotations

import re
from typing import Annotated, Any, NamedTuple

from pydantic import BeforeValidator, WithJsonSchema

from ..words.lengths import quoted
from .beams import KG_M2_PER_PSF


class Load(NamedTuple):
    """What lies on a shelf: kg, or kg per square metre where `spread`; and how it was written."""

    mass: float
    spread: bool
    said: str


_KG: dict[str, tuple[float, bool]] = {
    "kg": (1.0, False),
    "lb": (0.45359237, False),
    "kg/m2": (1.0, True),
    "lb/ft2": (KG_M2_PER_PSF, True),
    "psf": (KG_M2_PER_PSF, True),
}
_LOAD = re.compile(r"([0-9]+(?:\.[0-9]*)?)\s*(kg/m2|lb/ft2|psf|kg|lb)", re.ASCII)
_LOAD_WANTED = (
    "a load with its unit, such as 40 lb/ft2 or 200 kg/m2, or for a whole shelf 60 lb or 25 kg"
)


def _load(value: Any) -> Any:
    if isinstance(value, Load):
        return value
    if not isinstance(value, str) or not value.strip():
        raise ValueError(f"nothing stands here: {_LOAD_WANTED}")
    found = _LOAD.fullmatch(value.strip()) if len(value) <= 40 else None
    if found is None or not 0 < float(found[1]) <= 10_000:
        raise ValueError(f"{quoted(value)} is not {_LOAD_WANTED}")
    kg, spread = _KG[found[2]]
    return Load(float(found[1]) * kg, spread, value.strip())


LoadText = Annotated[
    Load,
    BeforeValidator(_load),
    WithJsonSchema(
        {
            "type": "string",
            "pattern": r"^\s*[0-9.]+\s*(kg/m2|lb/ft2|psf|kg|lb)\s*$",
            "description": _LOAD_WANTED,
            "examples": ["40 lb/ft2", "25 kg"],
        }
    ),
]

# Architectural Woodwork Standards (2009), section 10, 1.2.21: all shelves but those for books.
USUAL_LOAD = Load(40 * KG_M2_PER_PSF, True, "40 lb/ft2")
