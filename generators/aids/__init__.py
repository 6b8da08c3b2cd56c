"""Shop aids as solids to print or saw: one file a kind of aid, found here by its AIDS.

Imports models, telling, solids.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING, Any

from ...models.piece.project import Project

if TYPE_CHECKING:  # the registry itself needs no kernel
    from ..solids.kernel import cq


@dataclass(frozen=True)
class Aid:
    """A thing that helps at the bench.

    Attributes:
        name: of its files, unique among the aids.
        solid: lies on z = 0 as it is printed (mm).
        about: what it is for and how it is held, one or two sentences.
        marks: what a program may want to know of it: points and directions in the solid's frame.
    """

    name: str
    solid: cq.Shape
    about: str
    marks: tuple[tuple[str, Any], ...] = ()


@dataclass(frozen=True)
class Aids:
    """One kind of aid: what of it a project wants."""

    make: Callable[[Project], Iterator[Aid]]


@cache
def kinds() -> tuple[Aids, ...]:
    """Every kind of aid, by the names of their files."""
    found = []
    for module in sorted(m.name for m in pkgutil.iter_modules(__path__)):
        aids = getattr(import_module(f"{__name__}.{module}"), "AIDS", None)
        if isinstance(aids, Aids):
            found.append(aids)
    return tuple(found)


def aids(project: Project) -> Iterator[Aid]:
    """Every aid that a project wants."""
    for kind in kinds():
        yield from kind.make(project)
