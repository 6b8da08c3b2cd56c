"""`slantbore designs`: what can be built, and each design's parameters."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Any

from ...models.designs import designs
from ...models.params import params_schema
from ...models.recipe import PieceParams

SUMMARY = "List what can be built, and the parameters of each design."


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
    return 0


def parameter_lines(schema: dict[str, Any]) -> Iterator[str]:
    """Yield one line for each parameter: name, what it is, and whether it may be left out."""
    known = schema["properties"]
    width = max(map(len, known), default=0)
    for name, parameter in known.items():
        facts = [str(parameter.get("description", "")), *_choices(parameter)]
        if name in schema.get("required", ()):
            facts.append("must be given")
        elif parameter.get("default") not in (None, "", {}, []):
            facts.append(f"default {_word(parameter['default'])}")
        yield f"  {name:<{width}}  {'; '.join(fact for fact in facts if fact)}".rstrip()


def _choices(parameter: dict[str, Any]) -> Iterator[str]:
    for option in [parameter, *parameter.get("anyOf", ())]:
        if words := option.get("enum"):
            yield f"one of {', '.join(map(_word, words))}"


def _word(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, float) else str(value)
