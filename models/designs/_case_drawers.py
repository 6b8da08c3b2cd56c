"""The drawers of a case: one above the other between its sides, or behind its face frame."""

from __future__ import annotations

from itertools import pairwise

from ..maths.geometry import Pose
from ..piece.project import Hardware
from ..placing.shop import Piece
from ..words.lengths import Usual
from ._case_boards import Carcass
from ._case_params import CaseDrawers
from .drawer_box import drawer, side_slides, slides
from .face_frame import FrameParams, grid, shared

_BEHIND_DRAWER = Usual(10, "3/8")  # of air; common practice, no source


def case_drawers(case: Carcass) -> tuple[Piece, float]:
    """The drawers in their places, and the underside of the lowest (or of the case's top), mm."""
    made, shop = case.params.drawers, case.shop
    nothing = Piece((), ())
    if made is None:
        return nothing, case.high
    at = ("drawers",)
    inset = 0.0
    if made.front is not None and made.front.fit == "inset":
        inset = shop.stock(made.front.stock, *at, "front", "stock").thickness
    frame = case.params.face_frame
    if frame is not None:
        inset = max(0.0, inset - shop.stock(frame.stock, "face_frame", "stock").thickness)
    step = 50.8 if shop.recipe.unit == "inch" else 50.0
    depth = (case.deep - inset - shop.usual(_BEHIND_DRAWER)) // step * step
    if depth < step:
        raise shop.error(
            f"the case is too shallow for drawers: it needs {shop.length(3 * step)} at least",
            "depth",
        )

    if frame is None:
        return _stacked(case, made, depth, at)
    return _behind_frame(case, made, frame, depth, at)


def _stacked(case: Carcass, made: CaseDrawers, depth: float, at: tuple[str]) -> tuple[Piece, float]:
    """Drawers one above the other between the sides."""
    shop, front = case.shop, made.front
    room = case.high - case.low
    place = (*at, "heights")
    heights = shared(shop, room, made.heights or ("rest",), "high", *place, exact=False)
    edges = [case.high]
    for height in heights:
        edges.append(edges[-1] - height)
    if front is not None and front.fit == "overlay" and front.overlap > case.thick:
        raise shop.error(
            f"the fronts would stand out of the case; its sides are {shop.length(case.thick)} "
            "thick, overlap at most as much",
            *at,
            "front",
            "overlap",
        )
    piece = Piece((), ())
    clear = side_slides(shop)
    # Between two fronts lies one reveal.
    halfway = None if front is None else -front.reveal / 2
    for i, (top, low) in enumerate(pairwise(edges), 1):
        above = None if i == 1 else halfway
        below = None if abs(low - case.low) < 1e-6 else halfway
        part, size = shop.part(f"drawer {i}"), (case.inside, top - low)
        box = drawer(part, size, depth, clear, made, at, above=above, below=below)
        piece += box.placed(Pose((case.thick, 0.0, low)))
        piece += Piece((), (), (slides(shop, depth, clear),))
    return piece, edges[-1]


def _behind_frame(
    case: Carcass, made: CaseDrawers, frame: FrameParams, depth: float, at: tuple[str]
) -> tuple[Piece, float]:
    """Drawers in the upper openings of a face frame of one column."""
    shop = case.shop
    laid = grid(shop, (case.width, case.height - case.kick), frame, ("face_frame",))
    if len(laid.columns) > 1:
        raise shop.error(
            "a case has nothing between its sides that would carry slides: drawers need a face "
            "frame of one column",
            *at,
        )
    openings, count = laid.columns[0], made.count or 1
    if count > len(openings):
        raise shop.error(f"the face frame has {len(openings)} openings, not {count}", *at, "count")
    if made.front is not None and made.front.fit == "overlay":
        laps = [made.front.overlap * 2] if count > 1 else []
        if laps and laps[0] > frame.rail:
            raise shop.error(
                f"the fronts would meet over the rails, which are {shop.length(frame.rail)} wide; "
                f"overlap at most {shop.length(frame.rail / 2)}",
                *at,
                "front",
                "overlap",
            )
    thick = shop.stock(frame.stock, "face_frame", "stock").thickness
    packing = openings[0].left - case.thick
    if packing < -1e-9 or openings[count - 1].low + case.kick < case.low - 1e-9:
        raise shop.error(
            f"the frame's openings are wider or deeper down than the case inside; make its stiles "
            f"and its bottom rail at least {shop.length(case.thick)} wide",
            "face_frame",
        )
    if openings[0].top + case.kick > case.high + 1e-9:
        raise shop.error(
            "the top drawer would run into the stretcher; make the frame's top rail at least "
            f"{shop.length(case.thick)} wide",
            "face_frame",
        )
    piece = Piece((), ())
    for i, opening in enumerate(openings[:count], 1):
        size = (opening.width, opening.height)
        box = drawer(shop.part(f"drawer {i}"), size, depth, side_slides(shop), made, at)
        piece += box.placed(Pose((opening.left, -thick, case.kick + opening.low)))
        piece += Piece((), (), (slides(shop, depth, side_slides(shop)),))
    if packing > 1e-9:
        detail = f"{shop.length(packing)} thick, behind the stiles to carry the slides"
        strips = Hardware("packing strips", detail, 2 * count, shop.name)
        piece += Piece((), (), (strips,))
    return piece, case.kick + openings[count - 1].low
