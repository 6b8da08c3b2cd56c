"""From YAML text to a plain tree whose every key and value knows its line and column.

Scalars stay text: what `010`, `1:6` or `no` mean is for the typed models to say, not for YAML. What
a recipe does not need is refused: duplicate keys, anchors, aliases, tags, several documents.
"""

from __future__ import annotations

import re
import stat
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

import yaml
from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from ..words.errors import Location, Problem, RecipeError
from ..words.lengths import quoted
from ..words.names import nearest
from .document import Document, NodePath, Tree
from .fields import facts

LARGEST_BYTES = 1_000_000
DEEPEST = 40

M = TypeVar("M", bound=BaseModel)

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_UNPRINTABLE = re.compile(
    "[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)


def read_text(path: Path) -> str:
    """Return the text of a recipe file.

    Raises:
        RecipeError: missing, no ordinary file, unreadable, over 1 MB or not UTF-8.
    """
    start = Location(str(path))
    try:
        kind = path.stat().st_mode
        if stat.S_ISDIR(kind):
            raise RecipeError.at(start, "this is a directory; a recipe is one YAML file")
        if not stat.S_ISREG(kind):  # reading a pipe may never end
            raise RecipeError.at(start, "this is a pipe or a device; a recipe is one YAML file")
        with path.open("rb") as stream:
            raw = stream.read(LARGEST_BYTES + 1)
    except RecipeError:
        raise
    except FileNotFoundError:
        hint = "; standard input is not read" if str(path) == "-" else ""
        raise RecipeError.at(start, f"there is no such file{hint}") from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise RecipeError.at(start, f"the file cannot be read: {why}") from None
    if len(raw) > LARGEST_BYTES:
        raise RecipeError.at(start, "the file is over 1 MB; a recipe is a few hundred lines")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        before = raw[: error.start]
        line_start = before.rfind(b"\n") + 1
        column = len(before[line_start:].decode("utf-8")) + 1
        place = Location(str(path), before.count(b"\n") + 1, column)
        raise RecipeError.at(
            place, f"byte {raw[error.start]:#04x} is not UTF-8; save the file as UTF-8"
        ) from None


def read_document(text: str, file: str) -> Document:
    """Return the document that the text holds.

    Raises:
        RecipeError: the text is not YAML, or is of a kind that a recipe does not need.
    """
    whole, text = text, text.removeprefix("\ufeff")
    if bad := _UNPRINTABLE.search(text):
        line, column = _line_and_column(text, bad.start())
        raise RecipeError.at(
            Location(file, line, column), f"character U+{ord(bad[0]):04X} cannot stand in a recipe"
        )
    builder = _Builder(file)
    try:
        tree = builder.document(yaml.parse(text, Loader=_LOADER))
    except yaml.MarkedYAMLError as error:
        raise RecipeError([*builder.problems, _yaml_problem(error, text, file)]) from None
    except yaml.YAMLError as error:
        raise RecipeError.at(Location(file), f"this is not YAML: {error}") from None
    if builder.problems:
        raise RecipeError(builder.problems)
    return Document(file, tree, builder.keys, builder.values, builder.spans, whole)


def validate(
    model: type[M],
    document: Document,
    context: Mapping[str, Any],
    *,
    at: NodePath = (),
    tree: Tree | None = None,
) -> M:
    """Return the model of the tree at `at`.

    Args:
        model: what must stand there.
        document: the document, for places.
        context: what the validators need, such as the unit.
        at: the path of the tree in the document.
        tree: the tree, when it is not quite what the document holds.

    Raises:
        RecipeError: with every problem, each at its key or value, in our own words.
    """
    found = subtree(document, at) if tree is None else tree
    try:
        return model.model_validate(found, context=dict(context))
    except ValidationError as error:
        raise RecipeError(_problems(error, model, document, at, found)) from None


def subtree(document: Document, path: NodePath) -> Tree:
    """Return the part of the document's tree at `path`, which must exist."""
    node: Any = document.tree
    for step in path:
        node = node[step]
    result: Tree = node
    return result


@dataclass
class _Builder:
    """Builds the tree from YAML events and collects what a recipe may not hold."""

    file: str
    keys: dict[NodePath, Location] = field(default_factory=dict)
    values: dict[NodePath, Location] = field(default_factory=dict)
    spans: dict[NodePath, tuple[int, int]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    def document(self, events: Iterator[Any]) -> Tree:
        tree: Tree | None = None
        for event in events:
            if not isinstance(event, yaml.DocumentStartEvent):
                continue
            if tree is not None:
                self.refuse(event, "a second document begins here; a recipe is one document")
                break
            tree = self.node(next(events), events, ())
        if tree is None or tree == "":
            raise RecipeError.at(Location(self.file), "the file is empty; a recipe is a mapping")
        return tree

    def node(self, event: Any, events: Iterator[Any], path: NodePath) -> Tree:
        self.values.setdefault(path, self.place(event))
        span = event.start_mark.index, event.end_mark.index
        if isinstance(event, yaml.AliasEvent):
            raise self.refusal(
                event, f"an alias ({quoted(f'*{event.anchor}')}) is not accepted here"
            )
        if event.anchor is not None:
            raise self.refusal(
                event, f"an anchor ({quoted(f'&{event.anchor}')}) is not accepted here"
            )
        if event.tag is not None:
            self.refuse(event, f"a tag ({quoted(event.tag)}) is not accepted here")
        if len(path) > DEEPEST:
            raise self.refusal(event, f"nested more than {DEEPEST} deep")
        if isinstance(event, yaml.ScalarEvent):
            if path:
                self.spans[path] = span
            # The same letters however they are composed, so that a key is known again.
            return unicodedata.normalize("NFC", str(event.value))
        if isinstance(event, yaml.SequenceStartEvent):
            members: list[Tree] = []
            while not isinstance(member := next(events), yaml.SequenceEndEvent):
                members.append(self.node(member, events, (*path, len(members))))
            return members
        return self.mapping(events, path)

    def mapping(self, events: Iterator[Any], path: NodePath) -> Tree:
        members: dict[str, Tree] = {}
        while not isinstance(key_event := next(events), yaml.MappingEndEvent):
            if not isinstance(key_event, yaml.ScalarEvent):
                raise self.refusal(key_event, "a key must be a word")
            key = str(self.node(key_event, events, ()))
            again = (*path, key) in self.keys
            if again:
                first = self.keys[(*path, key)].line
                self.refuse(key_event, f"key {quoted(key)} is given twice (first in line {first})")
            self.keys.setdefault((*path, key), self.place(key_event))
            value = self.node(next(events), events, (*path, key))
            if not again:
                members[key] = value
        return members

    def place(self, event: Any) -> Location:
        return Location(self.file, event.start_mark.line + 1, event.start_mark.column + 1)

    def refuse(self, event: Any, message: str) -> None:
        self.problems.append(Problem(self.place(event), message))

    def refusal(self, event: Any, message: str) -> RecipeError:
        return RecipeError([*self.problems, Problem(self.place(event), message)])


def _line_and_column(text: str, index: int) -> tuple[int, int]:
    before = text[:index]
    return before.count("\n") + 1, index - before.rfind("\n")


def _yaml_problem(error: yaml.MarkedYAMLError, text: str, file: str) -> Problem:
    mark = error.problem_mark or error.context_mark
    if mark is None:
        return Problem(Location(file), f"this is not YAML: {error.problem}")
    lines = text.splitlines() or [""]
    line = lines[min(mark.line, len(lines) - 1)]
    if "\t" in line[: len(line) - len(line.lstrip())]:
        place = Location(file, mark.line + 1, line.index("\t") + 1)
        return Problem(place, "a tab stands here; indent with blanks")
    where = f" ({error.context})" if error.context else ""
    hint = ""
    if "mapping values are not allowed" in (error.problem or ""):
        hint = "; put text that holds a colon in quotes"
    place = Location(file, mark.line + 1, mark.column + 1)
    return Problem(place, f"this is not YAML: {error.problem}{where}{hint}")


# --- what pydantic found, in our own words -------------------------------------------------------


def _problems(
    error: ValidationError, model: type[BaseModel], document: Document, at: NodePath, tree: Tree
) -> list[Problem]:
    """Translate the errors; several at one place are the branches of a union and become one."""
    by_place: dict[Location, list[str]] = {}
    for details in error.errors(include_url=False):
        place, message = _located(details, model, document, at, tree)
        by_place.setdefault(place, [])
        if message not in by_place[place]:
            by_place[place].append(message)
    return [Problem(place, "; or ".join(said)) for place, said in by_place.items()]


def _located(
    details: ErrorDetails, model: type[BaseModel], document: Document, at: NodePath, tree: Tree
) -> tuple[Location, str]:
    path, models, below = _walk(details["loc"], model, tree)
    kind = details["type"]
    key = str(details["loc"][-1]) if details["loc"] else ""
    if kind == "extra_forbidden":
        legal = [name for candidate in models for name in facts(candidate)]
        message = f"unknown key {quoted(key)}{nearest(key, legal)} (known: {', '.join(legal)})"
        return document.key_location(*at, *path), message
    if kind == "missing":
        described = next((facts(m)[key].help for m in models if key in facts(m)), "")
        place = document.location(*at, *path)
        return place, f"key {quoted(key)} is missing" + (f": {described}" if described else "")
    message = _said(details)
    if kind == "value_error":
        # A check of a whole mapping begins its message with the key that it is about.
        first = re.match(r"`?(\w+)", message)
        if first and any(first[1] in facts(candidate) for candidate in below):
            path = (*path, first[1])
    return document.location(*at, *path), message


_WANTED = {
    **dict.fromkeys(("model_type", "dict_type"), "a mapping (lines of key: value)"),
    **dict.fromkeys(("list_type", "tuple_type"), "a list (lines that begin with -)"),
    "string_type": "a word or text",
}


def _said(details: ErrorDetails) -> str:
    kind, value, context = details["type"], details["input"], details.get("ctx", {})
    shown = quoted(value) if isinstance(value, str) else ""
    empty = isinstance(value, str) and not value.strip()
    if kind == "value_error":
        return str(context["error"])
    if kind == "literal_error":
        legal = re.findall(r"'([^']*)'", str(context["expected"]))
        found = "nothing stands here" if empty else f"{shown or 'this'} cannot stand here"
        return f"{found}{nearest(str(value), legal)} (one of: {', '.join(legal)})"
    if wanted := _WANTED.get(kind):
        if empty:
            return f"nothing stands here; {wanted} must"
        return f"{wanted} must stand here" + (f", not {shown}" if shown else "")
    if kind == "too_short":
        return f"at least {context['min_length']} must stand here"
    if kind == "too_long":
        return f"at most {context['max_length']} may stand here"
    return f"{shown or 'this'}: {details['msg'][:1].lower()}{details['msg'][1:]}"


def _walk(
    loc: tuple[str | int, ...], model: type[BaseModel], tree: Tree
) -> tuple[NodePath, list[type[BaseModel]], list[type[BaseModel]]]:
    """Follow an error's place through tree and models.

    Pydantic puts the names of union branches among the steps; only steps that the tree has count,
    but for a last one, which is a missing key.

    Returns:
        The path in the tree, the models that may own the last key, and those that may stand there.
    """
    path: list[str | int] = []
    node: Any = tree
    owners = current = [model]
    keyed = False  # whether the next key is the recipe's own
    for step in loc:
        owners = current
        if isinstance(node, dict) and step in node:
            node = node[str(step)]
        elif isinstance(node, list) and isinstance(step, int) and step < len(node):
            node = node[step]
        else:
            current = [model for model in current if model.__name__ == step] or current
            continue
        path.append(step)
        if keyed or isinstance(step, int):
            keyed = False
            continue
        known = [fact for model in current if (fact := facts(model).get(step))]
        current = [model for fact in known for model in fact.models]
        keyed = any(fact.keyed for fact in known)
    return tuple(path), owners, current
