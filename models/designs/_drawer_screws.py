"""How front and back of a drawer are screwed to its sides, and what to change where they cannot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from ..advice.trials import Way, other_stocks, step_of
from ..piece.board import BOTTOM, LEFT, RIGHT, TOP, Board, Stock
from ..piece.project import Change, Finding, Joint
from ..placing.joints import join
from ..placing.meetings import Meeting
from ..placing.shop import Shop
from ._drawer_parts import Box, DrawerParams, Keys, Shares

# The ends of front and back that meet the left and the right side.
_CORNERS = {"front": (LEFT, RIGHT), "back": (RIGHT, LEFT)}


@dataclass(frozen=True)
class _Placing:
    """How the pockets of front or back may be set out.

    Attributes:
        count: of pockets at each end; None: as practice asks for.
        apart: how far the pockets of one end lie above the middle of the free height, and those
            of the other below it, as a share of that height.
        rows: of the holes for the false front's screws; none: as practice asks for.
    """

    count: int | None = None
    apart: float = 0.0
    rows: Shares = ()


_ABOVE: Shares = (0.85,)
# A narrow or low box has no room for the usual layout: these are tried in turn.
_NARROW = (_Placing(None, 0.0, _ABOVE), _Placing(1), _Placing(1, 0.25, _ABOVE))


def screwed(
    box: Box, sides: tuple[Board, Board]
) -> tuple[tuple[Board, Board], list[Joint], list[Finding]]:
    """Front and back with the joints to the sides, set out so that every pocket has its place."""
    shop, usual = box.shop, _Placing()
    ends = {role: box.end(role) for role in _CORNERS}
    meetings = [m for role, end in ends.items() for m in _meetings(box, role, end, sides, usual)]
    around = [box.bottom(), *([box.false_front(box.front)] if box.front else [])]
    joints, findings = join(shop, meetings, boards=around)
    fits = shop.fastenings(box.stock.thickness, box.stock, box.stock.thickness)
    for role, placed in (("front", joints[:2]), ("back", joints[2:])):
        best = [f for f in findings if f.board == ends[role].name]
        others = [joint for joint in joints if joint not in placed]
        for placing in _NARROW if fits and best else ():
            if placing.rows and not ends[role].holes:
                continue
            end = box.end(role, placing.rows)
            wanted = list(_meetings(box, role, end, sides, placing))
            known = [*around, *sides, *(e for name, e in ends.items() if name != role)]
            trial, lacks = join(shop, wanted, others, known)
            if _badness(lacks) < _badness(best):
                ends[role], placed, best = end, trial, lacks
            if not best:
                break
        findings = [*(f for f in findings if f.board != ends[role].name), *best]
        joints = [*placed, *others] if role == "front" else [*others, *placed]
    return (ends["front"], ends["back"]), joints, findings


def _badness(findings: Sequence[Finding]) -> tuple[int, int]:
    fails = sum(f.severity == "fails" for f in findings)
    return fails, len(findings)


def _meetings(
    box: Box, role: str, end: Board, sides: tuple[Board, Board], placing: _Placing
) -> Iterator[Meeting]:
    """Front or back at the inside faces of the sides."""
    shop, stock = box.shop, box.stock
    # The front's pockets are inside the box where nothing hides them, or where no head would sink
    # below the false front. Front and back take the same screws.
    fitting = shop.fastenings(stock.thickness, stock, stock.thickness)
    inside = box.front is None or not any(fit.sinks(shop.drill) for fit in fitting)
    pocket = BOTTOM if role == "front" and inside else TOP
    exit_depth = shop.flush_exit(stock.thickness, stock) if pocket == BOTTOM else None
    free = box.height - box.floor
    shift = (box.floor + free / 2 - box.height / 2) if placing.apart else 0.0
    for side, hand, face, way in zip(
        sides, ("left", "right"), _CORNERS[role], (1, -1), strict=True
    ):
        yield Meeting(
            shop.label(f"{role} to {hand} side"),
            "box",
            end,
            face,
            pocket,
            side,
            TOP,
            count=placing.count,
            shift=shift + way * placing.apart * free,
            exit_depth=exit_depth,
        )


# --- what to change ------------------------------------------------------------------------------

_D = TypeVar("_D", bound=DrawerParams)
_GROOVES = (-2.0, 4.0, -4.0)  # mm by which the groove is tried elsewhere
_LEAST_BELOW = 5.0  # mm of wood below a groove; common practice, no source


def has_screws(shop: Shop, made: DrawerParams, at: Keys = ()) -> bool:
    """Whether any stocked screw fits the box's stock: without one no other size helps."""
    return _fits(shop, shop.stock(made.stock, *at, "stock"))


def _fits(shop: Shop, stock: Stock) -> bool:
    return bool(shop.fastenings(stock.thickness, stock, stock.thickness))


def drawer_ways(shop: Shop, made: _D, at: Keys = ()) -> Iterator[Way[_D]]:
    """What may give a drawer's pockets their place: its groove, its stock, its bottom, the screws.

    Args:
        shop: view of the piece.
        made: what the drawer is made of.
        at: keys of `made` in the piece.
    """

    def way(kind: str, change: Change, having: Shop = shop, **update: object) -> Way[_D]:
        return Way(kind, change, made.model_copy(update=update), having)

    step = step_of(shop)
    for by in _GROOVES if has_screws(shop, made, at) else ():
        up = round((made.bottom_up + by) / step) * step
        if up >= _LEAST_BELOW and abs(up - made.bottom_up) > 1e-6:
            said = shop.length(up)
            says = f"cut the groove {said} from the lower edge (bottom_up: {said})"
            yield way("groove", Change(says, ((shop.at(*at, "bottom_up"), said),)), bottom_up=up)
    for key, what in (("stock", "the box"), ("bottom", "the bottom")):
        label = getattr(made, key)
        for stock, change, having in other_stocks(shop, label, shop.at(*at, key), what, key):
            now = shop.recipe.stock[label]
            more = stock.thickness - now.thickness
            # Thicker sides, or a thinner bottom: the groove is as wide as the bottom is thick.
            if (more if key == "stock" else -more) > 0 and (
                key == "bottom" or _fits(having, stock)
            ):
                yield way(key, change, having, **{key: stock.label})
    if shop.recipe.tools.screw_gauge is not None:
        tools = replace(shop.recipe.tools, screw_gauge=None)
        having = replace(shop, recipe=replace(shop.recipe, tools=tools))
        says = "take the usual screws for the thickness (leave `screw_gauge` out)"
        yield way("screws", Change(says, ((("tools", "screw_gauge"), ""),)), having)
