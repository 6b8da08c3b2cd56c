"""Changes to a recipe, tried before they are named: the piece is laid out once more with each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import chain
from typing import Any, Generic, TypeVar

from ..judging.rules import rules
from ..judging.study import Study
from ..piece.board import Stock
from ..piece.project import Change, Finding, Project, RecipePath, Severity
from ..placing.shop import Piece, Shop
from ..wood.tables import sheet_goods
from .remedies import MOST

P = TypeVar("P")
Fault = tuple[str, str]
"""A rule's code, and the joint or board that it speaks of."""
_TRIES = 4
"""Ways of one kind that are laid out at most."""
_NAMES = ("name", "design", "detail")
"""Keys whose text may be that of a label, and is none."""
_THICKEST = 80.0  # mm; remedies look no further


@dataclass(frozen=True)
class Way(Generic[P]):
    """A change, with the design's parameters and the shop as they would be.

    Attributes:
        kind: of change; of each kind one is named.
        change: what to write in the recipe.
        params: with the change.
        shop: with the change.
    """

    kind: str
    change: Change
    params: P
    shop: Shop


def fault(finding: Finding) -> Fault:
    """What a finding is about, whatever its words and numbers."""
    return finding.rule, finding.joint or finding.board


def faults(
    shop: Shop, piece: Piece, severities: Collection[Severity] = ("fails", "warns")
) -> Iterator[Fault]:
    """What fails or warns in a piece that stands alone; placement's word comes first."""
    project = Project(
        shop.name, shop.recipe.unit, piece.boards, piece.joints, (), shop.limits, piece.findings
    )
    study = Study(project, seeks=False)
    asked = chain(piece.findings, *(rule.check(study) for rule in rules().values()))
    return (fault(f) for f in asked if f.severity in severities)


def cured_by_trying(
    shop: Shop,
    piece: Piece,
    ways: Iterable[Way[P]],
    lay: Callable[[P, Shop], Piece],
    most: int = MOST,
    severities: Collection[Severity] = ("fails", "warns"),
) -> Piece:
    """The piece, with what to change told in those of its findings that do not tell it.

    A way is named where with it that finding is gone and nothing is worse, also by what the rules
    say of the piece by itself.

    Args:
        shop: the piece's view of the recipe.
        piece: as laid out.
        ways: the easiest first.
        lay: lays the piece out, and says what is at fault with it.
        most: ways that a finding names at most; with so many none is tried further.
        severities: of what must not be new.
    """
    served: dict[Fault, dict[str, Change]] = {
        fault(f): {} for f in piece.findings if f.severity != "notes" and not f.changes
    }
    if not served:
        return piece
    tries: Counter[str] = Counter()
    before: frozenset[Fault] | None = None
    for way in ways:
        wanting = [key for key, some in served.items() if len(some) < most]
        if not wanting:
            break
        wanting = [key for key in wanting if way.kind not in served[key]]
        if not wanting or tries[way.kind] == _TRIES:
            continue
        tries[way.kind] += 1
        try:
            tried = lay(way.params, way.shop)
        except ValueError:  # also of the geometry: these sizes cannot be
            continue
        told = {fault(f) for f in tried.findings if f.severity != "notes"}
        gone = [key for key in wanting if key not in told]
        if not gone:
            continue
        if before is None:
            before = frozenset(faults(shop, piece, severities))
        if all(known in before for known in faults(way.shop, tried, severities)):
            for key in gone:
                served[key][way.kind] = way.change
    findings = tuple(_told(f, tuple(served.get(fault(f), {}).values())) for f in piece.findings)
    return replace(piece, findings=findings)


def _told(finding: Finding, changes: tuple[Change, ...]) -> Finding:
    """The finding with these changes, before whatever else helps."""
    if not changes or finding.changes:
        return finding
    says = [change.says for change in changes] + [finding.remedy] * bool(finding.remedy)
    return replace(finding, remedy="; or ".join(says), changes=changes)


# --- other stock ---------------------------------------------------------------------------------


def step_of(shop: Shop) -> float:
    """What a shop sets sizes by (mm): sixteenths of an inch, or whole millimetres."""
    return 25.4 / 16 if shop.recipe.unit == "inch" else 1.0


def other_stocks(
    shop: Shop, label: str, path: RecipePath, what: str, key: str = "stock"
) -> Iterator[tuple[Stock, Change, Shop]]:
    """Stock instead of that with a label: other stock of the recipe, then other thicknesses.

    Args:
        shop: the piece's view of the recipe.
        label: of the stock now.
        path: where the recipe names the label.
        what: is made of it, for print.
        key: the last of the path, for print.

    Yields:
        The stock, the change, and the shop that has it. A label that the recipe names elsewhere
        as well keeps its stock.
    """
    now = shop.recipe.stock[label]
    for other in sorted(shop.recipe.stock.values(), key=lambda s: abs(s.thickness - now.thickness)):
        if other.label != label:
            says = f"take {_named(shop, other)} for {what} ({key}: {other.label})"
            yield other, Change(says, ((path, other.label),)), shop
    if len(list(stock_keys(shop.recipe.document.tree, {label}))) > 1:
        return
    for stock, says, keys in _bought(shop, now):
        at: RecipePath = ("stock", label)
        told = tuple(((*at, key), value) for key, value in keys.items())
        recipe = replace(shop.recipe, stock={**shop.recipe.stock, label: stock})
        yield (
            stock,
            Change(f"take {_named(shop, stock)} for {what} ({says})", told),
            replace(shop, recipe=recipe),
        )


def _bought(shop: Shop, now: Stock) -> Iterator[tuple[Stock, str, dict[str, str]]]:
    """The same material thicker, then sheet goods: the stock, what to write, and the keys."""
    if now.kind != "sheet":
        step = step_of(shop)
        for steps in range(int(now.thickness // step) + 1, int(_THICKEST // step) + 1):
            said = shop.length(steps * step)
            thicker = replace(now, thickness=steps * step)
            yield thicker, f"thickness: {said}", {"thickness": said}
    family = now.material.rstrip("0123456789-")
    rows = [row for row in sheet_goods().values() if row.key != now.material]
    if now.kind == "sheet":
        rows = [row for row in rows if row.thickness > now.thickness]
    for row in sorted(
        rows, key=lambda r: (not r.key.startswith(family), abs(r.thickness - now.thickness))
    ):
        stock = Stock(now.label, row.key, row.title, row.thickness, "sheet")
        taken = {} if now.kind == "sheet" else {"wood": "", "sawn": ""}
        yield stock, f"sheet: {row.key}", {**taken, "thickness": "", "sheet": row.key}


def _named(shop: Shop, stock: Stock) -> str:
    """`hard maple 3/4" thick`; the thickness of a sheet is in its title."""
    if stock.kind == "sheet" and sheet_goods()[stock.material].thickness == stock.thickness:
        return stock.title
    return f"{stock.title} {shop.length(stock.thickness)} thick"


def stock_keys(
    tree: Any, labels: Collection[str], above: RecipePath = ()
) -> Iterator[tuple[RecipePath, str]]:
    """Where a recipe's tree names one of some stocks, and which."""
    if isinstance(tree, dict):
        for key, value in tree.items():
            if key not in _NAMES:
                yield from stock_keys(value, labels, (*above, key))
    elif isinstance(tree, list):
        for index, value in enumerate(tree):
            yield from stock_keys(value, labels, (*above, index))
    elif isinstance(tree, str) and tree in labels:
        yield above, tree
