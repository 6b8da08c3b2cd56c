"""The designs: one module each, found here; nothing else names it.

A module `hall_table.py` holds the `DESIGN` with the key `hall-table`. What several designs share,
or what one has too much of, stands in modules whose names begin with an underscore.

Imports maths, words, piece, wood, recipe, work, placing.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from typing import Any

from ..piece.lever import Lever
from ..placing.shop import Piece, Shop
from ..recipe.stated import PieceParams


@dataclass(frozen=True)
class Design:
    """A parametric piece of furniture.

    Attributes:
        key: what a recipe says after `design:`.
        summary: one sentence.
        params: the design's own keys, typed.
        plan: from parameters to boards and joints.
        starter: text of a recipe to begin with, commented.
        levers: which of its own keys may cure a finding of the piece.
    """

    key: str
    summary: str
    params: type[PieceParams]
    plan: Callable[[Any, Shop], Piece]
    starter: str
    levers: Callable[[Any, Shop], Iterator[Lever]] = lambda params, shop: iter(())


class _Designs(Mapping[str, Design]):
    """Designs by key, each module read when it is first asked for: a recipe needs one or two."""

    def __init__(self) -> None:
        names = sorted(m.name for m in pkgutil.iter_modules(__path__))
        self._modules = {n.replace("_", "-"): n for n in names if not n.startswith("_")}

    def __getitem__(self, key: str) -> Design:
        design = import_module(f"{__name__}.{self._modules[key]}").DESIGN
        assert isinstance(design, Design) and design.key == key
        return design

    def __iter__(self) -> Iterator[str]:
        return iter(self._modules)

    def __len__(self) -> int:
        return len(self._modules)


class _Models(Mapping[str, type[PieceParams]]):
    """The typed keys of every design, read likewise."""

    def __getitem__(self, key: str) -> type[PieceParams]:
        return designs()[key].params

    def __iter__(self) -> Iterator[str]:
        return iter(designs())

    def __len__(self) -> int:
        return len(designs())


@cache
def designs() -> Mapping[str, Design]:
    """Every design by key, sorted."""
    return _Designs()


def piece_models() -> Mapping[str, type[PieceParams]]:
    """The typed keys of every design."""
    return _Models()
