"""A recipe's text with some of its keys written otherwise: everything around them is kept.

text + edit --> text       the same lines, comments and order, but for the keys of the edit
text, text  --> patches    the lines that differ, as a maker pastes them
"""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import yaml

from ..piece.lever import PLAIN, Edit, RecipePath
from .edits import tree_with
from .reading import read_document

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_BOM = "\ufeff"
_FIRST = ("units", "name")  # keys that tools, limits and stock are written after


class WritingError(ValueError):
    """An edit that cannot be written into a text."""


@dataclass(frozen=True)
class Patch:
    """Lines to paste.

    Attributes:
        first: number of the first line that they stand in place of, from 1.
        last: of the last one; `first - 1` where nothing is taken away, and the lines follow it.
        lines: as they are to stand there; () where lines are only taken away.
    """

    first: int
    last: int
    lines: tuple[str, ...]

    @property
    def says(self) -> str:
        """Where they go, in words."""
        lines = f"line {self.first}"
        if self.last > self.first:
            lines = f"lines {self.first} to {self.last}"
        if not self.lines:
            return f"take away {lines}"
        if self.last < self.first:
            return f"after line {self.last}, add"
        return f"in place of {lines}, write"


def rewritten(text: str, edit: Edit) -> str:
    """The text with an edit.

    Raises:
        WritingError: it cannot be written so that it reads as the edit says.
    """
    mark = _BOM if text.startswith(_BOM) else ""
    ends = text.count("\r\n")
    plain = bool(ends) and ends == text.count("\n")  # the file of another system
    new = text.removeprefix(_BOM)
    new = new.replace("\r\n", "\n") if plain else new
    # What comes first, so that nothing is left empty that is written again.
    for setting in sorted(edit, key=lambda setting: setting.value is None):
        new = _with(new, setting.path, setting.value)
    try:
        wanted = tree_with(read_document(text, "").tree, edit)
        same = read_document(new, "").tree == wanted
    except (ValueError, KeyError, TypeError) as error:  # a RecipeError is a ValueError
        raise WritingError(str(error)) from error
    if not same:
        raise WritingError("the text does not read as the edit says")
    return mark + (new.replace("\n", "\r\n") if plain else new)


def patches(old: str, new: str) -> tuple[Patch, ...]:
    """The lines of a text that differ from an older one, top to bottom."""
    before, after = old.splitlines(), new.splitlines()
    blocks = difflib.SequenceMatcher(None, before, after, autojunk=False).get_opcodes()
    return tuple(
        Patch(i + 1, j, tuple(after[k:end])) for tag, i, j, k, end in blocks if tag != "equal"
    )


def _with(text: str, path: RecipePath, value: str | None) -> str:
    """The text with one key written, or taken away."""
    node = yaml.compose(text, Loader=_LOADER)
    chain: list[Any] = [node]
    for step in path:
        node = _member(node, step)
        if node is None:
            break
        chain.append(node)
    there = len(chain) == len(path) + 1
    if value is None:
        return _without(text, path, chain) if there else text
    if there:
        return _replaced(text, chain[-1], _scalar(value, _in_flow(chain)))
    rest = path[len(chain) - 1 :]
    if isinstance(chain[-1], yaml.SequenceNode) and len(rest) > 1:
        return _one_more(text, chain[-1], rest[1:], value)
    if not isinstance(chain[-1], yaml.MappingNode):
        raise WritingError(f"{path[-1]} cannot stand there")
    if _in_flow(chain):
        return _added_in_flow(text, chain[-1], rest, value)
    return _added_line(text, chain[-1], rest, value)


def _member(node: Any, step: str | int) -> Any:
    """The node of a key or a place; None where there is none."""
    if isinstance(node, yaml.MappingNode):
        return next((value for key, value in node.value if key.value == step), None)
    if isinstance(node, yaml.SequenceNode) and isinstance(step, int) and step < len(node.value):
        return node.value[step]
    return None


def _in_flow(chain: Sequence[Any]) -> bool:
    return any(getattr(node, "flow_style", False) for node in chain)


def _scalar(value: str, flow: bool) -> str:
    plain = PLAIN.fullmatch(value) and not (flow and re.search(r"[,\[\]{}]", value))
    return value if plain else json.dumps(value, ensure_ascii=False)


def _end(node: Any) -> int:
    """Where a node's own text ends: a block's marks run on over blank lines and comments."""
    if isinstance(node, yaml.ScalarNode) or node.flow_style or not node.value:
        return int(node.end_mark.index)
    last = node.value[-1]
    return _end(last[1] if isinstance(last, tuple) else last)


def _line_end(text: str, at: int) -> int:
    end = text.find("\n", at)
    return len(text) if end < 0 else end


def _replaced(text: str, node: Any, written: str) -> str:
    return text[: node.start_mark.index] + written + text[_end(node) :]


def _in_one_line(rest: RecipePath, value: str) -> str:
    """`key: value`, or `key: {key: value}`."""
    told = f"{_scalar(str(rest[-1]), True)}: {_scalar(value, True)}"
    for step in reversed(rest[:-1]):
        if isinstance(step, int):
            told = f"[{{{told}}}]"
        else:
            told = f"{_scalar(step, True)}: {told if told[0] == '[' else f'{{{told}}}'}"
    return told


def _added_in_flow(text: str, node: Any, rest: RecipePath, value: str) -> str:
    told = _in_one_line(rest, value)
    if not node.value:
        at = node.start_mark.index + 1
        return text[:at] + told + text[at:]
    at = _end(node.value[-1][1])
    return f"{text[:at]}, {told}{text[at:]}"


def _one_more(text: str, node: Any, rest: RecipePath, value: str) -> str:
    """One more member of a list."""
    told = f"{{{_in_one_line(rest, value)}}}"
    if node.flow_style:
        at = _end(node.value[-1]) if node.value else node.start_mark.index + 1
        return f"{text[:at]}{', ' if node.value else ''}{told}{text[at:]}"
    at = _line_end(text, _end(node))
    return f"{text[:at]}\n{' ' * node.start_mark.column}- {told}{text[at:]}"


def _added_line(text: str, node: Any, rest: RecipePath, value: str) -> str:
    """After the last line of a block; of the whole recipe, after its name and unit."""
    keys = {key.value: below for key, below in node.value}
    last = node.value[-1][1]
    if rest[0] in ("tools", "limits"):
        last = next((keys[key] for key in _FIRST if key in keys), last)
    at = _line_end(text, _end(last))
    indent = " " * node.value[0][0].start_mark.column
    if len(rest) > 2 and not isinstance(rest[1], int):
        inner = _in_one_line(rest[1:], value)
        told = f"{_scalar(str(rest[0]), False)}:\n{indent}  {inner}"
    else:
        told = _in_one_line(rest, value)
    return f"{text[:at]}\n{indent}{told}{text[at:]}"


def _without(text: str, path: RecipePath, chain: Sequence[Any]) -> str:
    """The text without a key; what is left empty by that goes with it."""
    owner, step = chain[-2], path[-1]
    if not isinstance(owner, yaml.MappingNode):
        raise WritingError("a member of a list stays")
    if len(owner.value) == 1 and len(chain) > 2:
        return _without(text, path[:-1], chain[:-1])
    place = next(i for i, (key, _) in enumerate(owner.value) if key.value == step)
    key, value = owner.value[place]
    start, end = key.start_mark.index, _end(value)
    following = owner.value[place + 1][0] if place + 1 < len(owner.value) else None
    if owner.flow_style or _in_flow(chain[:-1]):
        if following is not None:
            return text[:start] + text[following.start_mark.index :]
        before = _end(owner.value[place - 1][1]) if place else start
        return text[:before] + text[end:]
    line = text.rfind("\n", 0, start) + 1
    if not text[line:start].strip():
        return text[:line] + text[_line_end(text, end) + 1 :]
    if following is None:
        raise WritingError("nothing would be left")
    return text[:start] + text[following.start_mark.index :]  # the first key after a dash
