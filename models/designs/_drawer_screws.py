"""How front and back of a drawer are screwed to its sides."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ..piece.board import BOTTOM, LEFT, RIGHT, TOP, Board
from ..piece.lever import Lever, lever
from ..piece.project import Finding, Joint
from ..placing.joints import Placed, place, told
from ..placing.meetings import Meeting
from ..placing.shop import Keys, Shop
from ..words.lengths import sizes_toward
from ._drawer_parts import Box, DrawerParams, Shares

_GROOVE = 4.0  # mm by which the groove is thought of elsewhere
_LEAST_BELOW = 5.0  # mm of wood below it; common practice, no source
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
    found = place(shop, meetings, boards=around, last=False)
    placed = dict(zip(ends, (found[:2], found[2:]), strict=True))
    for role in ends:
        lacking = [one for one in placed[role] if not one.wide(shop.limits)]
        helpless = all(one.nowhere or not one.fits for one in lacking)
        for placing in () if helpless else _NARROW:
            if placing.rows and not ends[role].holes:
                continue
            end = box.end(role, placing.rows)
            wanted = list(_meetings(box, role, end, sides, placing))
            others = {name: e for name, e in ends.items() if name != role}
            known = [*around, *sides, *others.values()]
            joints = [one.joint for name in others for one in placed[name]]
            trial = place(shop, wanted, joints, known, last=False)
            if _badness(shop, trial) < _badness(shop, placed[role]):
                ends[role], placed[role] = end, trial
            if all(one.wide(shop.limits) for one in placed[role]):
                break
    return (ends["front"], ends["back"]), *told(shop, [*placed["front"], *placed["back"]])


def _badness(shop: Shop, placed: Sequence[Placed]) -> tuple[int, int]:
    lacking = [one for one in placed if not one.wide(shop.limits)]
    return sum(not one.layout.open for one in lacking), len(lacking)


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
            flush=pocket == BOTTOM,
        )


def drawer_levers(made: DrawerParams, shop: Shop, at: Keys = ()) -> Iterator[Lever]:
    """Where the groove for the bottom is cut.

    Args:
        made: what the drawer is made of.
        shop: view of the piece.
        at: keys of `made` in the piece.
    """
    unit, near = shop.recipe.unit, made.bottom_up
    lower = sizes_toward(near, max(_LEAST_BELOW, near - _GROOVE), unit)
    for up in (lower, sizes_toward(near, near + _GROOVE, unit)):
        says = "cut the groove {} from the lower edge"
        yield lever("groove", shop.at(*at, "bottom_up"), says, up, least=True, size=True)
