r"""A face frame: stiles, rails and what stands between them, around a grid of openings.

 ______________________________
|   |         top rail      |   |        Stiles run from bottom to top. Top and bottom rail stand
|   |_______________________|   |        between them, middle stiles between the rails, and the
| l |         | m |         | r |        middle rails of each column between its stiles. Every end
| e |_________| i |         | i |        is bored into an edge from the back, two pockets an end.
| f |__rail 1_| d |         | g |
| t |         | d |         | h |        Openings are counted from the left, and within a column
|   |         | l |         | t |        from the top.
|   |_________|_e_|_________|   |
|   |       bottom rail     |   |
|___|_______________________|___|

Other designs build their frames with `face_frame` around a `Grid`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pydantic import Field

from ..maths.geometry import Pose
from ..piece.board import BACK, BOTTOM, FRONT, Board, Side, Stock
from ..placing.joints import join
from ..placing.meetings import Meeting, both_ends
from ..placing.shop import Keys, Piece, Shop
from ..recipe.fields import usual
from ..recipe.params import Length, Params, Size, StockName
from ..recipe.stated import PieceParams
from ..words.lengths import Usual
from . import Design
from ._looks import ENDS, UP, hidden, on_edge, on_end

Share = Length | Literal["rest"]

_LEAST_OPENING = 20.0  # mm each way; common practice, no source: room for a hand to glue and clean


class Column(Params):
    """One column of a grid of openings."""

    width: Share = Field("rest", description="of the openings, or rest: an equal share")
    openings: tuple[Share, ...] = Field(
        ("rest",),
        min_length=1,
        description="heights of the openings from the top down, each a length or rest",
    )


class FrameParams(Params):
    """What a face frame is made of, and its openings."""

    stock: StockName = Field(description="label of the stock")
    stile: Length = usual(Usual(38, "1-1/2"), description="width of the outer stiles")
    rail: Length = usual(
        Usual(38, "1-1/2"), description="width of the middle rails, and of top and bottom rail"
    )
    top_rail: Length | None = Field(None, description="width, where it differs")
    bottom_rail: Length | None = Field(None, description="width, where it differs")
    middle_stile: Length | None = Field(None, description="width, where it differs from `stile`")
    columns: tuple[Column, ...] = Field(
        default_factory=lambda: (Column(),),
        min_length=1,
        description="openings from the left, column by column",
    )


class FaceFrame(FrameParams, PieceParams):
    """A face frame, its pockets hidden on the back."""

    size: Size = Field(description="outside, width x height")


@dataclass(frozen=True)
class Opening:
    """An opening, or a member of the frame, by its lower left corner in the frame (mm)."""

    left: float
    low: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The right side, mm."""
        return self.left + self.width

    @property
    def top(self) -> float:
        """The upper side, mm."""
        return self.low + self.height


@dataclass(frozen=True)
class Grid:
    """Where everything of a frame is.

    Attributes:
        width: outside (mm).
        height: outside (mm).
        columns: openings by column, each from the top down.
        rails: middle rails by column, each from the top down.
        stiles: all stiles from the left, outer ones included.
        bottom: the bottom rail.
        top: the top rail.
    """

    width: float
    height: float
    columns: tuple[tuple[Opening, ...], ...]
    rails: tuple[tuple[Opening, ...], ...]
    stiles: tuple[Opening, ...]
    bottom: Opening
    top: Opening


def grid(shop: Shop, size: tuple[float, float], made: FrameParams, at: Keys = ()) -> Grid:
    """Lay out the openings of a frame.

    Args:
        shop: view of the part.
        size: outside, width and height (mm).
        made: widths of the members and the openings.
        at: keys of `made` in the piece.

    Raises:
        RecipeError: the openings do not fill the frame, or do not fit.
    """
    width, height = size
    bottom = made.rail if made.bottom_rail is None else made.bottom_rail
    top = made.rail if made.top_rail is None else made.top_rail
    middle = made.stile if made.middle_stile is None else made.middle_stile
    across = width - 2 * made.stile - (len(made.columns) - 1) * middle
    wide = shared(shop, across, [c.width for c in made.columns], "wide", *at, "columns")
    tall = height - bottom - top
    columns, rails, stiles = [], [], [Opening(0.0, 0.0, made.stile, height)]
    left = made.stile
    for i, (column, w) in enumerate(zip(made.columns, wide, strict=True)):
        place = (*at, "columns", i, "openings") if "columns" in made.model_fields_set else at
        room = tall - (len(column.openings) - 1) * made.rail
        upper, found, between = height - top, [], []
        for h in shared(shop, room, column.openings, "high", *place):
            found.append(Opening(left, upper - h, w, h))
            between.append(Opening(left, upper - h - made.rail, w, made.rail))
            upper -= h + made.rail
        columns.append(tuple(found))
        rails.append(tuple(between[:-1]))
        left += w
        if i < len(wide) - 1:
            stiles.append(Opening(left, bottom, middle, tall))
            left += middle
    stiles.append(Opening(width - made.stile, 0.0, made.stile, height))
    inside = width - 2 * made.stile
    return Grid(
        width,
        height,
        tuple(columns),
        tuple(rails),
        tuple(stiles),
        Opening(made.stile, 0.0, inside, bottom),
        Opening(made.stile, height - top, inside, top),
    )


def shared(
    shop: Shop,
    room: float,
    wanted: Sequence[float | str],
    way: str,
    *at: str | int,
    exact: bool = True,
) -> list[float]:
    """What every opening gets of the room (mm).

    Args:
        shop: view of the part.
        room: what there is (mm).
        wanted: lengths (mm), or `rest` for an equal share of what they leave.
        way: for print, wide or high.
        at: keys of `wanted` in the piece.
        exact: whether the whole room must be used.

    Raises:
        RecipeError: it does not fit, at its place.
    """
    said = shop.length
    given = sum(w for w in wanted if not isinstance(w, str))
    shares = sum(isinstance(w, str) for w in wanted)
    rest = (room - given) / shares if shares else 0.0
    if not shares and (given - room > 1e-6 or (exact and room - given > 1e-6)):
        raise shop.error(
            f"the openings are {said(given)} {way} together, but between the members there are "
            f"{said(room) if room > 0 else 'none'}: write `rest` for one of them",
            *at,
        )
    found = [rest if isinstance(w, str) else w for w in wanted]
    if min(found) < _LEAST_OPENING:
        least = min(found)
        raise shop.error(
            f"an opening would be {said(least) if least > 0 else 'nothing'} {way}, at least "
            f"{said(_LEAST_OPENING)} is needed: make the frame larger, or its members narrower",
            *at,
        )
    return found


def face_frame(
    shop: Shop, laid: Grid, made: FrameParams, at: Keys = (), case: Sequence[Board] = ()
) -> Piece:
    """A face frame, its front on the plane y = 0 and its lower left corner at the origin.

    Args:
        shop: view of the part ("face frame").
        laid: from `grid`.
        made: for the stock.
        at: keys of `made` in the piece.
        case: boards that the frame's back meets, in the frame's own place.

    Raises:
        RecipeError: there is no such stock.
    """
    stock = shop.stock(made.stock, *at, "stock")
    last = len(laid.stiles) - 1
    stiles = [
        _stile(shop, stock, laid.stiles[0], "left stile"),
        *(
            _stile(shop, stock, s, f"middle stile {i}" if last > 2 else "middle stile")
            for i, s in enumerate(laid.stiles[1:-1], 1)
        ),
        _stile(shop, stock, laid.stiles[last], "right stile"),
    ]
    top = _rail(shop, stock, laid.top, "top rail")
    bottom = _rail(shop, stock, laid.bottom, "bottom rail")

    def ends(board: Board, words: str, *mates: tuple[Board, Side]) -> list[Meeting]:
        names = (f"{board.name} {word} end" for word in words.split())
        return both_ends("frame", board, BOTTOM, mates, names)

    # Edges that face the openings: the outer stiles have theirs in front, both alike.
    right_of = [FRONT] * len(stiles)
    left_of = [BACK] * last + [FRONT]
    meetings = []
    for rail in (top, bottom):
        mates = (stiles[0], right_of[0]), (stiles[last], left_of[last])
        meetings += ends(rail, "left right", *mates)
    for stile in stiles[1:-1]:
        meetings += ends(stile, "lower upper", (bottom, BACK), (top, FRONT))
    middles: list[Board] = []
    count = sum(map(len, laid.rails))
    for i, column in enumerate(laid.rails):
        for place in column:
            number = f" {len(middles) + 1}" if count > 1 else ""
            rail = _rail(shop, stock, place, f"middle rail{number}")
            middles.append(rail)
            mates = (stiles[i], right_of[i]), (stiles[i + 1], left_of[i + 1])
            meetings += ends(rail, "left right", *mates)
    joints, findings = join(shop, meetings, boards=case)
    boards = (*stiles, top, bottom, *middles)
    return Piece(boards, tuple(joints), findings=tuple(findings))


_SEEN = ENDS | hidden(BOTTOM)


def _stile(shop: Shop, stock: Stock, at: Opening, role: str) -> Board:
    """A stile; the right one is turned about, so that left and right are alike."""
    back = stock.thickness
    edges: dict[Side, str] = {FRONT: "inside edge", BACK: "outside edge"}
    seen = hidden(BOTTOM)
    right = role == "right stile"
    pose = Pose((at.right, back, at.low), UP, (-1.0, 0.0, 0.0))
    if right:
        pose = Pose((at.left, back, at.top), (0.0, 0.0, -1.0), (1.0, 0.0, 0.0))
    elif role.startswith("middle"):
        edges, seen = {FRONT: "right edge", BACK: "left edge"}, _SEEN
    names = on_end("front", "back", turned=right) | edges
    return shop.board(role, stock, at.height, at.width, names=names, seen=seen, pose=pose)


def _rail(shop: Shop, stock: Stock, at: Opening, role: str) -> Board:
    names = on_edge("front", "back")
    pose = Pose((at.left, stock.thickness, at.low), (1.0, 0.0, 0.0), UP)
    return shop.board(role, stock, at.width, at.height, names=names, seen=_SEEN, pose=pose)


def plan(params: FaceFrame, shop: Shop) -> Piece:
    """A face frame alone, standing on its lower edge.

    Raises:
        RecipeError: openings that do not fit, at their place.
    """
    return face_frame(shop, grid(shop, params.size, params), params)


STARTER = """\
# A face frame for a cupboard: one column with a drawer above a door, one with a door alone.
# Change `size` first: outside width x height; the openings marked rest share what is left.
name: my frame
units: mm

stock:
  frame: {wood: hard-maple, thickness: 19}

build:
  - design: face-frame
    name: frame
    stock: frame
    size: 800 x 720
    stile: 45
    rail: 38
    columns:                  # from the left; heights from the top down
      - {openings: [140, rest]}
      - {width: 300, openings: [rest]}
"""

DESIGN = Design(
    "A face frame: stiles, rails and middle members around a grid of openings.",
    FaceFrame,
    plan,
    STARTER,
)
