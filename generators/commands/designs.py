"""`slantbore designs [DESIGN]`: what can be built, and what may be said of it."""

from __future__ import annotations

import argparse
from collections.abc import Collection, Iterator
from typing import Any

from pydantic import BaseModel

from ...models.designs import designs
from ...models.recipe.fields import Fact, facts
from ...models.recipe.recipe import Header
from ...models.recipe.stated import PieceParams
from ...models.words.names import named
from ..telling.screen import listed

SUMMARY = "List what can be built, or all keys of one design."
_RECIPE = "recipe"


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the argument."""
    parser.add_argument(
        "design",
        metavar="DESIGN",
        nargs="?",
        help=f"a name from the list; or `{_RECIPE}`: stock, tools, limits and router",
    )


def run(args: argparse.Namespace) -> int:
    """Print the list, or the keys of one design."""
    known = designs()
    if args.design is None:
        print(listed({key: design.summary for key, design in known.items()}))
        print("\nAll keys of one: slantbore designs DESIGN")
        print("A recipe to start with: slantbore new DESIGN")
        print(f"Stock, tools, limits and router in a recipe: slantbore designs {_RECIPE}")
        return 0
    key = named(args.design, {key: key for key in (*known, _RECIPE)}, "design")
    if key == _RECIPE:
        print(*parameter_lines(Header), sep="\n")
    else:
        own = parameter_lines(known[key].params, without=facts(PieceParams))
        print(f"{key}: {known[key].summary}", *own, sep="\n")
        print("", "As every piece it also has:", *parameter_lines(PieceParams), sep="\n")
    print("\nA length that is a bare number is in the recipe's unit.")
    return 0


def parameter_lines(model: type[BaseModel], without: Collection[str] = ()) -> Iterator[str]:
    """Yield one line for each parameter: name, what it is, and whether it may be left out.

    What a parameter is made of follows, indented, where it is first met.
    """
    yield from _lines(model, without, "  ", set())


def _lines(
    model: type[BaseModel], without: Collection[str], indent: str, told: set[type[BaseModel]]
) -> Iterator[str]:
    known = {name: fact for name, fact in facts(model).items() if name not in without}
    width = max(map(len, known), default=0)
    for name, fact in known.items():
        yield f"{indent}{name:<{width}}  {'; '.join(_said(fact))}".rstrip()
        for part in fact.models:
            if part not in told:
                told.add(part)
                yield from _lines(part, (), indent + "    ", told)


def _said(fact: Fact) -> Iterator[str]:
    measure = fact.measure
    unit = {"length": " (length)", "angle": " (degrees)", "percent": " (percent)"}
    yield fact.help + (unit.get(measure.quantity, "") if measure else "")
    if measure and measure.narrow:
        yield measure.range
    if fact.words and not measure:
        yield f"one of {', '.join(fact.words)}"
    if fact.required:
        yield "must be given"
    elif fact.default not in (None, "", (), []):
        inches = f", or {fact.inches} in" if fact.inches else ""
        yield f"default {_word(fact.default, fact)}{inches}"


def _word(value: Any, fact: Fact) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple | list):
        return ", ".join(_word(member, fact) for member in value)
    if isinstance(value, int | float):
        return f"{value:g}" + (" mm" if fact.measure and fact.measure.quantity == "length" else "")
    return str(value)
