r"""A panel glued up from boards: a table top, a shelf, a door.

Seen from below                                    Seen from above
 ______________________________________             ______________________________________
|______U__________U___________U________|  board 3  |__________________/\__________________|  back
|___________U__________U__________U____|  board 2  |________________ /  \ ________________|
|______________________________________|  board 1  |_______________ /____\ _______________|  front

Each board but the last is bored along its back edge: one pocket at the middle, the rest outward
from it; every second joint is staggered. The triangle is the face mark: it tells at the glue-up
which board lies where. Other designs build their tops with `panel_boards` and `panel_meetings`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated

from pydantic import Field

from ..maths.geometry import ORIGIN, Pose, Vec
from ..piece.board import BACK, BOTTOM, FRONT, TOP, Board, Seen, Side, Stock
from ..placing.joints import join
from ..placing.meetings import Meeting
from ..placing.shop import Keys, Piece, Shop
from ..recipe.fields import Measure, usual
from ..recipe.params import Count, Length, LengthOrZero, Params, StockName
from ..recipe.stated import PieceParams
from ..words.lengths import Usual
from ..work.pencil import PencilMark
from . import Design

# Common practice, no source.
_WIDEST = Usual(140, "5-1/2")  # a wider flat-sawn board cups
_STAGGER = 25.0  # mm between the pockets of one joint and the screws of the next
_TRIM = Usual(25, "1")  # cut off each end after the glue-up, at most
_ADDS_UP = 0.05  # mm that stated widths may be off their sum


class PanelParams(Params):
    """How a panel is glued up."""

    boards: tuple[Length, ...] | None = Field(
        None, min_length=1, description="widths of the boards, front to back; default: equal ones"
    )
    board_width: Length = usual(
        _WIDEST, description="widest board, where `boards` does not state the widths"
    )
    pockets: Count | None = Field(
        None, description="pockets per joint; default: one at the middle, the rest 150 to 200 mm on"
    )
    trim: LengthOrZero = usual(
        _TRIM,
        description="kept free of pockets at both ends, so that as much may be trimmed off later",
    )


class Panel(PanelParams, PieceParams):
    """A panel glued up from boards, its pockets on the underside."""

    stock: StockName = Field(description="label of the stock")
    size: Annotated[
        tuple[float, float], Measure("size", above=True, halves=("length", "width"))
    ] = Field(
        description="as glued up, before its ends are trimmed: length along the grain x width"
    )


def board_widths(
    shop: Shop, stock: Stock, width: float, made: PanelParams, at: Keys = ()
) -> tuple[float, ...]:
    """Widths of a panel's boards, front to back (mm).

    Args:
        shop: view of the part.
        stock: of the boards; a sheet good is one board.
        width: of the panel (mm).
        made: how it is glued up.
        at: keys of `made` in the piece.

    Raises:
        RecipeError: widths that do not add up.
    """
    said = shop.length
    if stock.kind == "sheet":
        if made.boards is not None and len(made.boards) > 1:
            raise shop.error(
                f"{stock.title} is a sheet good: it is cut as one board, so leave out `boards`",
                *at,
                "boards",
            )
        return (width,)
    if made.boards is not None:
        total = sum(made.boards)
        if abs(total - width) > _ADDS_UP:
            more = f"{said(abs(total - width))} {'less' if total > width else 'more'}"
            raise shop.error(
                f"the boards are {said(total)} wide together, the panel {said(width)}: make them "
                f"{more}",
                *at,
                "boards",
            )
        return made.boards
    count = math.ceil(width / made.board_width - 1e-9)
    return (width / count,) * count


def panel_boards(
    shop: Shop,
    stock: Stock,
    length: float,
    widths: Sequence[float],
    pose: Pose = ORIGIN,
) -> tuple[Board, ...]:
    """The boards of a panel that lies with its front left lower corner at the origin.

    Args:
        shop: view of the part.
        stock: of the boards.
        length: along the grain (mm).
        widths: of the boards, front to back (mm).
        pose: of the whole panel.
    """
    boards, at, total = [], 0.0, sum(widths)
    single = len(widths) == 1
    for index, width in enumerate(widths):
        seen: dict[Side, Seen] = {BOTTOM: "semi-exposed"}
        if index > 0:
            seen[FRONT] = "concealed"
        if index < len(widths) - 1:
            seen[BACK] = "concealed"
        board = shop.board(
            "board" if single else f"board {index + 1}",
            stock,
            length,
            width,
            names={TOP: "top", BOTTOM: "underside"},
            seen=seen,
            pose=Pose((0.0, at, 0.0)).then(pose),
        )
        if not single:
            heart = TOP if index % 2 == 0 else BOTTOM
            marks = [PencilMark("heart side", heart)] if stock.sawn == "flat" else []
            marks.append(PencilMark("face mark", TOP, _face_mark(board, total, at)))
            board = replace(board, work=tuple(marks))
        boards.append(board)
        at += width
    return tuple(boards)


def panel_meetings(shop: Shop, boards: Sequence[Board], made: PanelParams) -> list[Meeting]:
    """The edge joints of a panel, each board but the last bored along its back edge."""
    drill, limits = shop.drill, shop.limits
    clear = made.trim + drill.counterbore_radius + limits.show_wall if made.trim else 0.0
    return [
        Meeting(
            shop.label(f"joint {index + 1}"),
            "edge",
            board,
            BACK,
            BOTTOM,
            behind,
            FRONT,
            count=made.pockets,
            end=clear,
            shift=_STAGGER if index % 2 else 0.0,
        )
        for index, (board, behind) in enumerate(zip(boards, boards[1:], strict=False))
    ]


def glue_up(shop: Shop, boards: Sequence[Board], made: PanelParams) -> tuple[str, ...]:
    """What to do before the boards are joined and after, for the sheets."""
    if len(boards) < 2:
        return ()
    what = shop.label("").strip()
    names = ", ".join(str(i) for i in range(1, len(boards) + 1, 2))
    told = [
        f"{what}: lay the boards in their order and draw the face mark, a triangle across all of "
        "them, on the top"
    ]
    if boards[0].stock.sawn == "flat":
        told.append(
            f"{what}: turn every second board, so that the growth rings alternate: heart side up "
            f"on board{'s' if len(boards) > 2 else ''} {names}, down on the others"
        )
    if made.trim:
        long, wide = boards[0].length, sum(board.width for board in boards)
        said = shop.length
        told.append(
            f"{what}: all marks are measured on the panel as it is glued up, {said(long)} x "
            f"{said(wide)}; up to {said(made.trim)} may be trimmed off each end afterwards, which "
            f"leaves {said(long - 2 * made.trim)} x {said(wide)}"
        )
    return tuple(told)


def plan(params: Panel, shop: Shop) -> Piece:
    """Boards and edge joints of a panel.

    Raises:
        RecipeError: sizes that make no panel, at their place.
    """
    stock = shop.stock(params.stock, "stock")
    length, width = params.size
    boards = panel_boards(shop, stock, length, board_widths(shop, stock, width, params))
    joints, findings = join(shop, panel_meetings(shop, boards, params))
    return Piece(boards, tuple(joints), (), tuple(findings), glue_up(shop, boards, params))


def _face_mark(board: Board, total: float, at: float) -> tuple[tuple[Vec, Vec], ...]:
    """The part of the triangle that falls on a board; its point is at the panel's back edge."""
    half = min(total, board.length) / 4

    def leg(side: float, y: float) -> Vec:
        return (board.length / 2 + side * half * (1 - y / total), y - at, board.thickness)

    return tuple((leg(side, at), leg(side, at + board.width)) for side in (-1.0, 1.0))


STARTER = """\
# A table top glued up from boards, its pockets on the underside.
# Change `size` first: length along the grain x width.
name: my top
units: inch

stock:
  top: {wood: hard-maple, thickness: 3/4}   # sawn: quarter moves less

build:
  - design: panel
    name: top
    stock: top
    size: 48 x 22
    board_width: 5-1/2        # widest board; or state them: boards: [5, 6, 6, 5]
    trim: 1                   # at both ends, kept free of pockets
"""

DESIGN = Design(
    "A panel glued up from boards, its pockets staggered on the underside.", Panel, plan, STARTER
)
