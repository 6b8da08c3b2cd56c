"""A recipe with some of its keys written otherwise, or taken away."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from ..piece.lever import Edit, RecipePath
from .document import Document, Tree
from .recipe import recipe_of
from .stated import PieceParams, Recipe


def edited(recipe: Recipe, edit: Edit, models: Mapping[str, type[PieceParams]]) -> Recipe:
    """The recipe after an edit, read again from its tree.

    Raises:
        RecipeError: the edit makes no recipe.
    """
    tree = tree_with(recipe.document.tree, edit)
    return recipe_of(Document(recipe.document.file, tree, {}, {}, {}), models)


def tree_with(tree: Tree, edit: Edit) -> Tree:
    """A recipe's tree after an edit; what is left empty when its last key goes, goes with it."""
    changed: Any = copy.deepcopy(tree)
    for setting in edit:
        _set(changed, setting.path, setting.value)
    told: Tree = changed
    return told


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
    if isinstance(node, list) and first == len(node) and value is not None:
        node.append({})  # one more
    if not rest and value is not None:
        node[first] = value
    elif not rest:
        node.pop(first, None)
    else:
        if isinstance(node, dict) and value is not None:
            node.setdefault(first, [] if isinstance(rest[0], int) else {})
        if not isinstance(node, dict) or first in node:
            _set(node[first], tuple(rest), value)
            if node[first] == {}:
                del node[first]
