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
from typing import Any, TypeVar

from ..piece.lever import Lever
from ..placing.shop import Piece, Shop
from ..recipe.stated import PieceParams

T = TypeVar("T")


@dataclass(frozen=True)
class Design:
    """A parametric piece of furniture.

    Attributes:
        summary: one sentence.
        params: the design's own keys, typed.
        plan: from parameters to boards and joints.
        starter: text of a recipe to begin with, commented.
        levers: which of its own keys may cure a finding of the piece.
    """

    summary: str
    params: type[PieceParams]
    plan: Callable[[Any, Shop], Piece]
    starter: str
    levers: Callable[[Any, Shop], Iterator[Lever]] = lambda params, shop: iter(())


class _Read(Mapping[str, T]):
    """Something of every design by its key, sorted; read when it is first asked for.

    A recipe needs one design or two, and each module takes its time.
    """

    def __init__(self, read: Callable[[Design], T]) -> None:
        names = sorted(m.name for m in pkgutil.iter_modules(__path__))
        self._modules = {n.replace("_", "-"): n for n in names if not n.startswith("_")}
        self._read = read

    def __getitem__(self, key: str) -> T:
        design = import_module(f"{__name__}.{self._modules[key]}").DESIGN
        assert isinstance(design, Design)
        return self._read(design)

    def __iter__(self) -> Iterator[str]:
        return iter(self._modules)

    def __len__(self) -> int:
        return len(self._modules)


@cache
def designs() -> Mapping[str, Design]:
    """Every design by key, sorted."""
    return _Read(lambda design: design)


@cache
def piece_models() -> Mapping[str, type[PieceParams]]:
    """The typed keys of every design."""
    return _Read(lambda design: design.params)
