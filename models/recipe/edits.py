"""A recipe with some of its keys written otherwise, or taken away."""

from __future__ import annotations

import copy
from collections.abc import Collection, Iterator, Mapping
from typing import Any

from ..piece.lever import Edit, RecipePath
from .reading import Document
from .recipe import PieceParams, Recipe, recipe_of

_NAMES = ("name", "design", "detail")
"""Keys whose text may be that of a label, and is none."""


def edited(recipe: Recipe, edit: Edit, models: Mapping[str, type[PieceParams]]) -> Recipe:
    """The recipe after an edit, read again from its tree.

    What is left empty when its last key is taken away goes with it.

    Raises:
        RecipeError: the edit makes no recipe.
    """
    tree: Any = copy.deepcopy(recipe.document.tree)
    for setting in edit:
        _set(tree, setting.path, setting.value)
    return recipe_of(Document(recipe.document.file, tree, {}, {}, {}), models)


def telling(recipe: Recipe, edit: Edit) -> Edit:
    """Those of the settings that change something, each key once."""
    keys = {setting.path: setting for setting in edit}
    return tuple(s for s in keys.values() if written(recipe, s.path) != s.value)


def written(recipe: Recipe, path: RecipePath) -> object:
    """What the recipe writes there; None where the key is missing."""
    node: Any = recipe.document.tree
    for step in path:
        try:
            node = node[step]
        except (KeyError, IndexError, TypeError):
            return None
    return node


def _set(node: Any, path: RecipePath, value: str | None) -> None:
    first, *rest = path
    if not rest and value is not None:
        node[first] = value
    elif not rest:
        node.pop(first, None)
    else:
        if isinstance(node, dict) and value is not None:
            node.setdefault(first, {})
        if not isinstance(node, dict) or first in node:
            _set(node[first], tuple(rest), value)
            if node[first] == {}:
                del node[first]


def named_at(
    tree: Any, labels: Collection[str], above: RecipePath = ()
) -> Iterator[tuple[RecipePath, str]]:
    """Where a recipe's tree names one of some stocks, and which."""
    if isinstance(tree, dict):
        for key, value in tree.items():
            if key not in _NAMES:
                yield from named_at(value, labels, (*above, key))
    elif isinstance(tree, list):
        for index, value in enumerate(tree):
            yield from named_at(value, labels, (*above, index))
    elif isinstance(tree, str) and tree in labels:
        yield above, tree
