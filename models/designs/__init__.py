"""The designs: one module each. A module with a `DESIGN` is found here; nothing else names it."""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from types import MappingProxyType
from typing import Any

from ..recipe import PieceParams
from ..shop import Piece, Shop


@dataclass(frozen=True)
class Design:
    """A parametric piece of furniture.

    Attributes:
        key: what a recipe says after `design:`.
        summary: one sentence.
        params: the design's own keys, typed.
        plan: from parameters to boards and joints.
        starter: text of a recipe to begin with, commented.
    """

    key: str
    summary: str
    params: type[PieceParams]
    plan: Callable[[Any, Shop], Piece]
    starter: str


@cache
def designs() -> Mapping[str, Design]:
    """Every design by key, sorted."""
    found: dict[str, Design] = {}
    for module in sorted(m.name for m in pkgutil.iter_modules(__path__)):
        design = getattr(import_module(f"{__name__}.{module}"), "DESIGN", None)
        if isinstance(design, Design):
            found[design.key] = design
    return MappingProxyType(dict(sorted(found.items())))


def piece_models() -> Mapping[str, type[PieceParams]]:
    """The typed keys of every design."""
    return {key: design.params for key, design in designs().items()}
