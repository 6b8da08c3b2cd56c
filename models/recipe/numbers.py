"""A recipe's own numbers: found in its text, changed there, everything around them kept."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from ..words.errors import RecipeError
from ..words.lengths import LengthError, Unit, format_length, parse_length
from .reading import Document, read_document, subtree

Kind = Literal["length", "angle", "count"]
Path = tuple[str | int, ...]

LONGEST_TEXT = 40
_MOST_COUNT = 1000
_SIZE = re.compile(r"(\s*)([^xX\u00d7]+?)(\s*[xX\u00d7]\s*)([^xX\u00d7]+?)(\s*)")
_METRIC = re.compile(r"(mm|cm|m)\.?$", re.I)
_PER_MM = {"mm": 1.0, "cm": 0.1, "m": 0.001}


class NumberError(ValueError):
    """Text that cannot stand where a number of the recipe stands."""


@dataclass(frozen=True)
class Number:
    """One number as the recipe writes it.

    Attributes:
        id: its place in the recipe, as JSON: the path, and 0 or 1 for the halves of a size.
        label: what to call it.
        kind: what it measures.
        text: as written.
        value: in mm or degrees, or the count.
        low: where a slider begins, in the same unit.
        high: where it ends.
        step: of the slider.
        start: where the text begins in the recipe, in characters.
        end: where it ends.
        metric: unit of a metric length ("mm", "cm", "m"), "" for inches.
    """

    id: str
    label: str
    kind: Kind
    text: str
    value: float
    low: float
    high: float
    step: float
    start: int
    end: int
    metric: str = ""


def numbers_in(text: str, document: Document, schema: Mapping[str, Any]) -> tuple[Number, ...]:
    """Every number that the recipe states, in its own order.

    Args:
        text: of the recipe, without a byte order mark.
        document: the same, read.
        schema: JSON Schema of a recipe; it tells lengths from angles and counts.
    """
    tree = document.tree
    unit: Unit = "inch" if isinstance(tree, dict) and tree.get("units") == "inch" else "mm"
    found: list[Number] = []
    for path in document.spans:
        plain = _plain(text, document, path)
        prop = _described(schema, schema, tree, path)
        if plain is None or prop is None:
            continue
        start, written = plain
        told = json.dumps(prop)
        label = _label(tree, path)
        size = _SIZE.fullmatch(written) if "[xX" in told else None
        if size:
            last = _METRIC.search(size[4]) or re.search(r"[\"']$|in$|ft$", size[4])
            alone = re.fullmatch(r"[\d./\s-]+", size[2]) is not None
            # `400 x 600 mm`: the unit at the second holds for the first as well.
            shared = last[0] if last and alone else ""
            halves = ("width", "height") if "width x height" in told else ("first", "second")
            for part, group in ((0, 2), (1, 4)):
                at = start + size.start(group)
                lent = shared if part == 0 else ""
                name = f"{label}, {halves[part]}"
                one = _length([*path, part], name, size[group], lent, unit, at)
                found += [one] if one else []
        elif prop.get("type") == "integer":
            found += _count(path, label, written, start, prop)
        elif "degrees" in told:
            found += _angle(path, label, written, start)
        elif "length" in told:
            one = _length(path, label, written, "", unit, start)
            found += [one] if one else []
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
    if number.kind == "angle":
        return f"{value:.2f}".rstrip("0").rstrip(".")
    tail = re.search(r"\s*(mm|cm|m|inch(?:es)?|in|\")\.?$", number.text)
    suffix = tail[0] if tail else ""
    if number.metric:
        return f"{value * _PER_MM[number.metric]:.4f}".rstrip("0").rstrip(".") + suffix
    inches = format_length(value, "inch", 32).removeprefix("~").removesuffix('"')
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


def _plain(text: str, document: Document, path: Path) -> tuple[int, str] | None:
    """Where a value's own text begins, and the text, if it stands in the file as it is meant."""
    start, end = document.spans[path]
    if text[start : start + 1] in ("'", '"'):
        start, end = start + 1, end - 1
    written = text[start:end]
    return (start, written) if written == subtree(document, path) else None


def _described(
    schema: Mapping[str, Any], here: Any, tree: Any, path: Path
) -> Mapping[str, Any] | None:
    """What the schema says of the value at a path."""
    if isinstance(here, Mapping) and "$ref" in here:
        here = schema["$defs"][str(here["$ref"]).rsplit("/", 1)[-1]]
    if not isinstance(here, Mapping):
        return None
    if not path:
        return here
    for branch in (*here.get("oneOf", ()), *here.get("anyOf", ())):
        if isinstance(tree, dict) and "design" in tree and "$ref" in branch:
            name = str(branch["$ref"]).rsplit("/", 1)[-1]
            const = schema["$defs"][name]["properties"].get("design", {}).get("const")
            if const is not None and const != tree["design"]:
                continue
        if (told := _described(schema, branch, tree, path)) is not None:
            return told
    step, rest = path[0], path[1:]
    if isinstance(tree, list) and isinstance(step, int):
        return _described(schema, here.get("items"), tree[step], rest)
    if isinstance(tree, dict) and isinstance(step, str) and step in tree:
        below = here.get("properties", {}).get(step)
        if below is None:
            below = next(iter(here.get("patternProperties", {}).values()), None)
        if below is None:
            below = here.get("additionalProperties")
        return _described(schema, below, tree[step], rest)
    return None


def _label(tree: Any, path: Path) -> str:
    words: list[str] = []
    for depth, step in enumerate(path):
        above = tree
        for before in path[:depth]:
            above = above[before]
        if isinstance(step, int):
            member = above[step]
            name = member.get("name") or member.get("design") if isinstance(member, dict) else None
            words = [*words[:-1], str(name or f"{words[-1] if words else ''} {step + 1}").strip()]
        else:
            words.append(step.replace("_", " "))
    return f"{words[0]}: {' '.join(words[1:])}" if len(words) > 1 else words[0]


def _length(
    path: Path | list[str | int], label: str, text: str, lent: str, unit: Unit, start: int
) -> Number | None:
    try:
        mm = parse_length(text + lent, unit)
    except LengthError:
        return None
    tail = _METRIC.search((text + lent).strip())
    metric = tail[1].lower() if tail else "mm" if unit == "mm" and text[-1:] not in "\"'n" else ""
    small = abs(mm) < 25
    step = (0.5 if small else 1.0) if metric else 25.4 / (32 if small else 16)
    low, high = _around(mm, step)
    number_id = json.dumps(list(path))
    return Number(
        number_id, label, "length", text, mm, low, high, step, start, start + len(text), metric
    )


def _around(value: float, step: float) -> tuple[float, float]:
    """From half of a value to half as much again, in whole steps from the value."""
    reach = max(8, round(abs(value) / 2 / step))
    low = value - reach * step
    if value > 0:
        low = value - min(reach, math.floor((value - step) / step + 1e-9)) * step
    return low, value + reach * step


def _angle(path: Path, label: str, text: str, start: int) -> Iterator[Number]:
    bare = re.fullmatch(r"-?(\d+\.?\d*|\.\d+)", text)
    if text == "auto" or (bare and abs(float(text)) <= 360):
        value = 0.0 if text == "auto" else float(text)
        low, high = min(0.0, value - 15), max(45.0, value + 15)
        yield Number(
            json.dumps(list(path)), label, "angle", text, value, low, high, 1.0, start,
            start + len(text),
        )  # fmt: skip


def _count(
    path: Path, label: str, text: str, start: int, prop: Mapping[str, Any]
) -> Iterator[Number]:
    if re.fullmatch(r"[1-9][0-9]{0,3}", text):
        value = int(text)
        high = min(int(prop.get("maximum", _MOST_COUNT)), max(12, 2 * value))
        yield Number(
            json.dumps(list(path)), label, "count", text, value, 1.0, float(high), 1.0, start,
            start + len(text),
        )  # fmt: skip


# --- changing --------------------------------------------------------------------------------


def _node_path(number: Number) -> Path:
    path: list[str | int] = json.loads(number.id)
    return tuple(path)


def _same_but_for(
    before: str, after: str, touched: set[Path], wanted: list[tuple[Number, str]]
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
