"""The piece's own numbers, made larger or smaller: tried where nothing else serves."""

from __future__ import annotations

import json
from collections.abc import Iterator

from ..designs import piece_models
from ..piece.lever import Edit, Lever, RecipePath, Setting
from ..recipe.numbers import Number, numbers_in, written_text
from ..recipe.stated import Recipe

_BY = (0.04, 0.1, 0.2, 0.35, 0.6)  # of itself, the least first
_BOM = "\ufeff"


def size_levers(recipe: Recipe, index: int) -> Iterator[Lever]:
    """Each length and count of a piece by a little, all of them; then by more."""
    text = recipe.document.text.removeprefix(_BOM)
    if not text:
        return
    numbers = [
        number
        for number in numbers_in(text, recipe.document, piece_models())
        if number.value
        and number.kind in ("length", "count")
        and _path(number)[:2] == ("build", index)
    ]
    seen: set[tuple[str, str | None]] = set()
    for by in _BY:
        edits = []
        for number in numbers:
            for way in (1, -1):
                edit = _edit(recipe, text, number, number.value * (1 + way * by), way)
                if edit and (number.id, edit[0].value) not in seen:
                    seen.add((number.id, edit[0].value))
                    edits.append(edit)
        yield Lever("size", edits, tries=len(edits), resort=True)


def _path(number: Number) -> RecipePath:
    return tuple(json.loads(number.id))


def _edit(recipe: Recipe, text: str, number: Number, value: float, way: int) -> Edit | None:
    """A number set to the round figure that is next to a value; None where it may not be so."""
    steps = value / number.step
    value = (int(steps) + (way > 0)) * number.step
    path = _path(number)
    if path not in recipe.document.spans:
        path = path[:-1]  # half of a size
    if value <= 0 or path not in recipe.document.spans:
        return None
    start, end = recipe.document.spans[path]
    told = text[start : number.start] + written_text(number, value) + text[number.end : end]
    says = f"make {number.label.partition(': ')[2] or number.label} {{}}"
    return (Setting(path, told.strip("\"'"), says),)
