"""Other stock for the boards of a piece: the recipe's own, or bought."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..designs import piece_models
from ..piece.board import Stock
from ..piece.lever import Edit, Lever, RecipePath, Setting, lever
from ..recipe.edits import written
from ..recipe.fields import StockLabel
from ..recipe.recipe import fields_of
from ..recipe.stated import Recipe
from ..wood.tables import sheet_goods
from ..words.lengths import Unit, format_length, sizes_toward

_THICKEST, _THINNEST = 80.0, 15.0  # mm


def stock_levers(recipe: Recipe, index: int, label: str, *, thicker: bool) -> Iterator[Lever]:
    """Other stock for the boards of a piece that are of one label.

    Args:
        recipe: as it is.
        index: of the piece.
        label: of the stock.
        thicker: whether thicker stock is tried first, else thinner. A label that is named
            elsewhere as well keeps its stock.
    """
    kind, now = f"stock {label}", recipe.stock[label]
    known = fields_of(recipe.document.tree, piece_models())
    stocks = [path for path, fact in known.items() if StockLabel() in fact.kinds]
    named = [path for path in stocks if written(recipe, path) == label]
    others = sorted(recipe.stock.values(), key=lambda s: abs(s.thickness - now.thickness))
    yield Lever(
        kind,
        [
            (Setting(path, other.label, f"take {_titled(other, recipe.unit)} for {label}"),)
            for path in named
            if path[:2] == ("build", index)
            for other in others
            if other.label != label
        ],
    )
    if len(named) > 1:
        return
    at: RecipePath = ("stock", label)
    if now.kind != "sheet" and thicker:
        for end in (_THICKEST, _THINNEST):
            sizes = sizes_toward(now.thickness, end, recipe.unit)
            says = f"take {label} {{}} thick"
            yield lever(kind, (*at, "thickness"), says, sizes, least=True)
        yield _together(recipe, now)
    yield Lever(kind, sheets(now, thicker=thicker))


def _together(recipe: Recipe, now: Stock) -> Lever:
    """All solid stock that is as thick as one, thicker at once."""
    alike = [
        other.label
        for other in recipe.stock.values()
        if other.kind != "sheet" and other.thickness == now.thickness
    ]
    sizes = sizes_toward(now.thickness, _THICKEST, recipe.unit) if len(alike) > 1 else ()
    edits = [
        tuple(
            Setting(("stock", label, "thickness"), size, f"take {label} {{}} thick")
            for label in alike
        )
        for size in sizes
    ]
    return Lever(f"stock as {now.label}", edits, least=True)


def sheets(now: Stock, *, thicker: bool) -> Sequence[Edit]:
    """Sheet goods instead of a stock: of the same family first, then by thickness."""
    family, at = now.material.rstrip("0123456789-"), ("stock", now.label)
    rows = [row for row in sheet_goods().values() if row.key != now.material]
    rows.sort(
        key=lambda row: (
            (row.thickness > now.thickness) != thicker,
            not row.key.startswith(family),
            abs(row.thickness - now.thickness),
        )
    )
    away = () if now.kind == "sheet" else ("wood", "sawn")
    return [
        (
            Setting((*at, "sheet"), row.key, f"take {row.title} for {now.label}"),
            *(Setting((*at, key), None) for key in (*away, "thickness")),
        )
        for row in rows
    ]


def _titled(stock: Stock, unit: Unit) -> str:
    """`hard maple 3/4" thick`; the thickness of a sheet is in its title."""
    if stock.kind == "sheet" and sheet_goods()[stock.material].thickness == stock.thickness:
        return stock.title
    return f"{stock.title} {format_length(stock.thickness, unit)} thick"
