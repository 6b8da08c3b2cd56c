"""The JSON Schema of a recipe, for editors."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic.json_schema import models_json_schema

from .params import Params
from .recipe import Header
from .stated import PieceParams


def recipe_schema(piece_models: Mapping[str, type[PieceParams]]) -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a recipe, for editors."""
    wanted: list[tuple[type[Params], Any]] = [(Header, "validation")]
    wanted += [(model, "validation") for model in piece_models.values()]
    refs, joined = models_json_schema(wanted, ref_template="#/$defs/{model}")
    definitions: dict[str, Any] = joined["$defs"]
    root = definitions.pop(_name_in(refs[(Header, "validation")]))
    choices = []
    for design, model in piece_models.items():
        ref = refs[(model, "validation")]
        definitions[_name_in(ref)]["properties"]["design"] = {
            "const": design,
            "description": (model.__doc__ or design).split("\n")[0],
        }
        choices.append(ref)
    root["properties"]["build"] |= {"items": {"oneOf": choices}}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **root,
        "title": "slantbore recipe",
        "$defs": definitions,
    }


def _name_in(ref: Mapping[str, Any]) -> str:
    return str(ref["$ref"]).rsplit("/", 1)[-1]
