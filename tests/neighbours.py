"""Recipes near a given one: its own numbers moved a little, like ones alike, all else kept."""

from __future__ import annotations

import random
from functools import cache
from pathlib import Path

from slantbore.models.designs import designs, piece_models
from slantbore.models.recipe.numbers import numbers_in
from slantbore.models.recipe.reading import read_document

RECIPES = sorted((Path(__file__).parents[1] / "recipes").glob("*.yaml"))


@cache
def known() -> tuple[str, ...]:
    """Texts of all recipes that ship but the largest, and of every design's starter."""
    shipped = (path.read_text(encoding="utf-8") for path in RECIPES if path.stem != "kitchenette")
    return (*shipped, *(design.starter for design in designs().values()))


def moved(text: str, rng: random.Random, low: float, high: float, share: float = 0.5) -> str:
    """The recipe with about a share of its lengths and angles moved, up or down.

    Args:
        text: a recipe that can be read.
        rng: seeded.
        low: least part of itself that a number moves by.
        high: greatest.
        share: of the numbers; one at least. Numbers of one value move alike.
    """
    numbers = [n for n in numbers_in(text, read_document(text, "near"), piece_models()) if n.value]
    numbers = [n for n in numbers if n.kind in ("length", "angle")]
    if not numbers:
        return text
    values = sorted({(n.kind, round(n.value, 6)) for n in numbers})
    chosen = [v for v in values if rng.random() < share] or [rng.choice(values)]
    factors = {v: 1 + rng.choice((-1, 1)) * rng.uniform(low, high) for v in chosen}
    for number in sorted(numbers, key=lambda n: -n.start):
        factor = factors.get((number.kind, round(number.value, 6)))
        if factor is not None:
            unit = " mm" if number.kind == "length" else ""
            new = f"{number.value * factor:.4f}".rstrip("0").rstrip(".") + unit
            text = text[: number.start] + new + text[number.end :]
    return text
