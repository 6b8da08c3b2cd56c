"""Bench papers: a printable set of sheets, one file a kind of page, found here by its PAGES.

Imports models, solids, telling, drawing, cutting.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING

from ...models.words.lengths import Unit
from ..drawing.marks import Sheet

if TYPE_CHECKING:  # the registry itself needs no kernel
    from ..writers import Product


@dataclass(frozen=True)
class Paper:
    """What is printed on, upright: width, height and margin in mm."""

    width: float
    height: float
    margin: float = 12.0

    @property
    def wide(self) -> float:
        """Between the margins, mm."""
        return self.width - 2 * self.margin


LETTER, A4 = Paper(215.9, 279.4), Paper(210.0, 297.0)


def paper_for(unit: Unit) -> Paper:
    """Letter where the recipe speaks inches, A4 where it speaks millimetres."""
    return LETTER if unit == "inch" else A4


@dataclass(frozen=True)
class Pages:
    """One kind of page.

    Attributes:
        title: printed at the head.
        order: of the kinds in the set.
        make: the sheets, their frame with heading and number not yet drawn.
    """

    title: str
    order: int
    make: Callable[[Product, Paper], Iterator[Sheet]]


@cache
def kinds() -> tuple[Pages, ...]:
    """Every kind of page, in the order of the set."""
    found = []
    for module in pkgutil.iter_modules(__path__):
        pages = getattr(import_module(f"{__name__}.{module.name}"), "PAGES", None)
        if isinstance(pages, Pages):
            found.append(pages)
    return tuple(sorted(found, key=lambda pages: pages.order))


def papers(product: Product, paper: Paper | None = None) -> tuple[Sheet, ...]:
    """The whole set, framed and numbered."""
    from .frame import framed

    paper = paper or paper_for(product.project.unit)
    sheets = [sheet for pages in kinds() for sheet in pages.make(product, paper)]
    return tuple(
        replace(sheet, marks=(*framed(product, paper, sheet, number, len(sheets)), *sheet.marks))
        for number, sheet in enumerate(sheets, start=1)
    )
