"""`slantbore designs`: what can be built, and each design's parameters."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Any

from ...models.designs import designs
from ...models.recipe.params import params_schema
from ...models.recipe.recipe import PieceParams

SUMMARY = "List what can be built, and the parameters of each design."


_BARE = ("(length; a bare number is in the recipe's unit)", "(length)")


def add(parser: argparse.ArgumentParser) -> None:
    """Declare no arguments."""


def run(args: argparse.Namespace) -> int:
    """Print the list."""
    common = params_schema(PieceParams)
    for design in designs().values():
        own = params_schema(design.params)
        own["properties"] = {
            name: known
            for name, known in own["properties"].items()
            if name not in common["properties"]
        }
        print(f"{design.key}: {design.summary}", *parameter_lines(own), "", sep="\n")
    print("Every piece also has:", *parameter_lines(common), sep="\n")
    print("\nA length that is a bare number is in the recipe's unit.")
    return 0


def parameter_lines(schema: dict[str, Any]) -> Iterator[str]:
    """Yield one line for each parameter: name, what it is, and whether it may be left out.

    What a parameter is made of follows, indented, where it is first met.
    """
    yield from _lines(schema, schema.get("$defs", {}), "  ", set())


def _lines(
    schema: dict[str, Any], definitions: dict[str, Any], indent: str, told: set[str]
) -> Iterator[str]:
    known = schema["properties"]
    width = max(map(len, known), default=0)
    for name, parameter in known.items():
        facts = [str(parameter.get("description", "")), *dict.fromkeys(_choices(parameter))]
        if name in schema.get("required", ()):
            facts.append("must be given")
        elif parameter.get("default") not in (None, "", {}, []):
            facts.append(f"default {_word(parameter['default'])}")
        said = "; ".join(fact for fact in facts if fact)
        yield f"{indent}{name:<{width}}  {said.replace(*_BARE)}".rstrip()
        for part in _parts(parameter):
            if part not in told:
                told.add(part)
                yield from _lines(definitions[part], definitions, indent + "    ", told)


def _parts(parameter: Any) -> list[str]:
    """Names of the definitions that a parameter, its items or its entries are made of."""
    if isinstance(parameter, list):
        return [name for part in parameter for name in _parts(part)]
    if not isinstance(parameter, dict):
        return []
    own = [str(parameter["$ref"]).rsplit("/", 1)[-1]] if "$ref" in parameter else []
    inner = [parameter.get(key) for key in ("anyOf", "items", "additionalProperties")]
    return own + _parts(inner) + _parts(list(parameter.get("patternProperties", {}).values()))


def _choices(parameter: dict[str, Any]) -> Iterator[str]:
    for option in [parameter, *parameter.get("anyOf", ())]:
        if words := option.get("enum"):
            yield f"one of {', '.join(dict.fromkeys(map(_word, words)))}"


def _word(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
