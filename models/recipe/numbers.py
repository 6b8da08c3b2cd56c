"""A recipe's own numbers: found in its text, changed there, everything around them kept."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from ..words.errors import RecipeError
from ..words.lengths import ABOUT, Unit, format_length
from .document import Document, NodePath
from .fields import Fact, Measure, Quantity
from .reading import read_document, subtree
from .recipe import fields_of
from .stated import PieceParams

LONGEST_TEXT = 40
_SIZE = re.compile(r"(\s*)([^xX\u00d7]+?)(\s*[xX\u00d7]\s*)([^xX\u00d7]+?)(\s*)")
_METRIC = re.compile(r"(mm|cm|m)\.?$", re.I)
_PER_MM = {"mm": 1.0, "cm": 0.1, "m": 0.001}
_SMALL = 25.0  # mm; shorter lengths are tried in smaller steps


class NumberError(ValueError):
    """Text that cannot stand where a number of the recipe stands."""


@dataclass(frozen=True)
class Number:
    """One number as the recipe writes it.

    Attributes:
        id: its place in the recipe, as JSON: the path, and 0 or 1 for the halves of a size.
        label: what to call it.
        kind: what it measures; a half of a size is a length.
        text: as written.
        value: in mm or degrees, or the count.
        low: where a slider begins, in the same unit: within what the field may hold.
        high: where it ends.
        step: of the slider; its places are whole multiples of it.
        start: where the text begins in the recipe, in characters.
        end: where it ends.
        metric: unit of a metric length ("mm", "cm", "m"), "" for inches.
    """

    id: str
    label: str
    kind: Quantity
    text: str
    value: float
    low: float
    high: float
    step: float
    start: int
    end: int
    metric: str = ""


def numbers_in(
    text: str, document: Document, piece_models: Mapping[str, type[PieceParams]]
) -> tuple[Number, ...]:
    """Every number that the recipe states, in its own order.

    Args:
        text: of the recipe, without a byte order mark.
        document: the same, read.
        piece_models: the parameters of every design, by design.
    """
    tree: Any = document.tree
    unit: Unit = "inch" if isinstance(tree, dict) and tree.get("units") == "inch" else "mm"
    known = fields_of(tree, piece_models)
    found: list[Number] = []
    for path in document.spans:
        plain = _plain(text, document, path)
        if plain is not None and path in known:
            found += _numbers(known[path], path, _label(tree, path), *plain, unit)
    return tuple(found)


def written_text(number: Number, value: float) -> str:
    """How a value is written in the place of a number: the same unit, in the recipe's manner.

    Raises:
        NumberError: the value is not finite.
    """
    if not math.isfinite(value):
        raise NumberError("a number must stand here")
    if number.kind == "count":
        return str(round(value))
    if number.kind in ("angle", "percent"):
        return f"{value:.2f}".rstrip("0").rstrip(".")
    tail = re.search(r"\s*(mm|cm|m|inch(?:es)?|in|\")\.?$", number.text)
    suffix = tail[0] if tail else ""
    if number.metric:
        return f"{value * _PER_MM[number.metric]:.4f}".rstrip("0").rstrip(".") + suffix
    inches = format_length(value, "inch", 32).removeprefix(ABOUT).removesuffix('"')
    if not suffix and "'" in number.text:
        suffix = " in"  # feet were written
    return inches + suffix


def changed(text: str, numbers: tuple[Number, ...], drafts: Mapping[str, str]) -> str:
    """The recipe's text with some numbers written anew; every other character stays.

    Args:
        text: of the recipe.
        numbers: that it holds.
        drafts: id to new text; ids that the recipe does not have are passed over.

    Raises:
        NumberError: a new text would be read as something else than one value in its place.
    """
    wanted = [(number, drafts[number.id]) for number in numbers if number.id in drafts]
    result = text
    for number, new in sorted(wanted, key=lambda pair: -pair[0].start):
        if not new.strip() or len(new) > LONGEST_TEXT or not new.isprintable():
            raise NumberError(f"{number.label}: write at most {LONGEST_TEXT} plain characters")
        if new != new.strip():
            raise NumberError(f"{number.label}: no blanks before or after the number")
        result = result[: number.start] + new + result[number.end :]
    if wanted:
        _same_but_for(text, result, {tuple(_node_path(n)) for n, _ in wanted}, wanted)
    return result


# --- finding ---------------------------------------------------------------------------------


def _plain(text: str, document: Document, path: NodePath) -> tuple[int, str] | None:
    """Where a value's own text begins, and the text, if it stands in the file as it is meant."""
    start, end = document.spans[path]
    if text[start : start + 1] in ("'", '"'):
        start, end = start + 1, end - 1
    written = text[start:end]
    return (start, written) if written == subtree(document, path) else None


def _numbers(
    fact: Fact, path: NodePath, label: str, start: int, text: str, unit: Unit
) -> Iterator[Number]:
    """The number that a text is, or the two of a size; none where it may not stand there."""
    measure = fact.measure
    if measure is None:
        return
    parts: list[tuple[NodePath, str, int, str, str]] = [(path, label, start, text, "")]
    if measure.quantity == "size":
        names = [f"{label}, {half}" for half in measure.halves]
        parts = [
            ((*path, part), names[part], start + offset, half, lent)
            for part, (offset, half, lent) in enumerate(_halves(text))
        ]
        measure = replace(measure, quantity="length")
    for place, name, at, written, lent in parts:
        try:
            # A word in the place of an angle, such as auto, is a slider at nought.
            worded = measure.quantity == "angle" and written in fact.words
            value = 0.0 if worded else measure.read(written + lent, unit)
        except ValueError:
            continue
        metric = ""
        if measure.quantity == "length":
            tail = _METRIC.search((written + lent).strip())
            bare = unit == "mm" and written[-1:] not in "\"'n"
            metric = tail[1].lower() if tail else "mm" if bare else ""
        yield Number(
            json.dumps(list(place)), name, measure.quantity, written, value,
            *_slider(measure, value, metric), at, at + len(written), metric,
        )  # fmt: skip


def _halves(text: str) -> Iterator[tuple[int, str, str]]:
    """Where the two lengths of a size begin, their texts, and the unit that each has elsewhere."""
    size = _SIZE.fullmatch(text)
    if size is not None:
        last = _METRIC.search(size[4]) or re.search(r"[\"']$|in$|ft$", size[4])
        alone = re.fullmatch(r"[\d./\s-]+", size[2]) is not None
        # `400 x 600 mm`: the unit at the second holds for the first as well.
        yield size.start(2), size[2], last[0] if last and alone else ""
        yield size.start(4), size[4], ""


def _slider(measure: Measure, value: float, metric: str) -> tuple[float, float, float]:
    """From where to where, and in which steps, a number is tried, within what it may be."""
    match measure.quantity:
        case "length":
            small = abs(value) < _SMALL
            step = (0.5 if small else 1.0) if metric else 25.4 / (32 if small else 16)
            reach = max(8 * step, abs(value) / 2)
            low, high = value - reach, value + reach
        case "angle":
            step, low, high = 1.0, min(0.0, value - 15), max(45.0, value + 15)
        case "percent":
            step, low, high = 0.5, 0.0, max(10.0, 2 * value)
        case _:
            step, low, high = 1.0, measure.low, max(12.0, 2 * value)
    low = math.floor(max(low, measure.low) / step + 1e-9) * step
    if not measure.holds(low):
        low += step
    return low, math.ceil(min(high, measure.high) / step - 1e-9) * step, step


def _label(tree: Any, path: NodePath) -> str:
    words: list[str] = []
    for depth, step in enumerate(path):
        above = tree
        for before in path[:depth]:
            above = above[before]
        if isinstance(step, int):
            member = above[step]
            name = member.get("name") or member.get("design") if isinstance(member, dict) else None
            words = [*words[:-1], str(name or f"{words[-1] if words else ''} {step + 1}").strip()]
        elif depth and path[depth - 1] == "changes":
            words[-1] = f"{step},"  # what a joint or a pocket is called says enough
        else:
            words.append(step.replace("_", " "))
    return f"{words[0]}: {' '.join(words[1:])}" if len(words) > 1 else words[0]


# --- changing --------------------------------------------------------------------------------


def _node_path(number: Number) -> NodePath:
    path: list[str | int] = json.loads(number.id)
    return tuple(path)


def _same_but_for(
    before: str, after: str, touched: set[NodePath], wanted: list[tuple[Number, str]]
) -> None:
    """Make sure that only the values of the changed numbers read differently."""
    names = ", ".join(number.label for number, _ in wanted)
    try:
        old, new = (read_document(text, "") for text in (before, after))
    except RecipeError:
        raise NumberError(f"{names}: this text cannot stand there") from None
    may = touched | {path[:-1] for path in touched}  # halves of a size lie in one value
    rest = old.spans.keys() - may
    if old.values.keys() != new.values.keys() or any(
        path not in new.spans or subtree(old, path) != subtree(new, path) for path in rest
    ):
        raise NumberError(f"{names}: this text cannot stand there")
    for number, text in wanted:
        path = _node_path(number)
        value = subtree(new, path if path in new.spans else path[:-1])
        if text not in value:
            raise NumberError(f"{number.label}: this text cannot stand there")
