"""Bench papers: a printable set of sheets, one file a kind of page, found here by its PAGES.

Imports models, telling, drawing, cutting, solids.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING

from ..drawing.marks import Sheet
from .frame import framed
from .paper import PAPERS, Paper

if TYPE_CHECKING:  # the registry itself needs no kernel
    from ..solids.product import Product


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
    paper = paper or PAPERS[product.project.cutting.paper]
    sheets = [sheet for pages in kinds() for sheet in pages.make(product, paper)]
    return tuple(
        replace(sheet, marks=(*framed(product, paper, sheet, number, len(sheets)), *sheet.marks))
        for number, sheet in enumerate(sheets, start=1)
    )
