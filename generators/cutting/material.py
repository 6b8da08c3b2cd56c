"""What a project takes of each stock: sheets by count, boards by length, and how they are sawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from ...models.machine.saw import Cutting
from ...models.piece.board import Board, Stock
from ...models.piece.project import Project
from ...models.wood.tables import sheet_of
from .boards import LengthPlan, Lengths, TooLongError, plan_lengths
from .nesting import nests
from .sheets import Part, Plan, SheetSize, TooLargeError, plan_sheets
from .stocks import boards_by_stock


@dataclass(frozen=True)
class Strip:
    """Parts of one width out of boards of one stock, and the boards to buy for them."""

    width: float
    lengths: Lengths
    plan: LengthPlan


@dataclass(frozen=True)
class Material:
    """What is bought of one stock.

    Attributes:
        stock: what.
        boards: all that are cut from it.
        sheets: the plan, for sheet goods.
        strips: by width, for solid wood, the widest first.
        left_out: boards that no sheet or board is large enough for.
    """

    stock: Stock
    boards: tuple[Board, ...]
    sheets: Plan | None = None
    strips: tuple[Strip, ...] = ()
    left_out: tuple[Board, ...] = field(default=())


def materials(project: Project) -> Iterator[Material]:
    """What is bought, stock by stock in the order of the boards."""
    for stock, boards in boards_by_stock(project).items():
        if stock.kind == "sheet":
            yield _sheets(stock, boards, project.cutting)
        else:
            yield _strips(stock, boards, project.cutting)


def sheets_to_buy(project: Project) -> Iterator[tuple[Stock, int, str]]:
    """Sheet stock, how many sheets it takes, and by what plan.

    By the router's, where the recipe states one, with what no sheet holds left out; else by the
    saw's.
    """
    if project.router is not None:
        for nest in nests(project):
            if nest.sheets:
                yield nest.stock, len(nest.sheets), "nested for the router"
        return
    for one in materials(project):
        if one.sheets is not None and one.sheets.sheets:
            yield one.stock, len(one.sheets.sheets), "by the cutting plans"


def _sheets(stock: Stock, boards: Sequence[Board], cutting: Cutting) -> Material:
    length, width = sheet_of(stock)
    size = SheetSize(length, width, cutting.kerf, cutting.sheet_trim)
    parts = [Part(board.name, board.length, board.width) for board in boards]
    left: list[Part] = []
    while True:
        try:
            plan = plan_sheets([part for part in parts if part not in left], size)
        except TooLargeError as error:
            left.append(error.part)
            continue
        names = {part.name for part in left}
        out = tuple(board for board in boards if board.name in names)
        return Material(stock, tuple(boards), plan, left_out=out)


def _strips(stock: Stock, boards: Sequence[Board], cutting: Cutting) -> Material:
    lengths = Lengths(cutting.board_lengths, cutting.kerf, cutting.end_trim)
    strips, left = [], []
    for width in sorted({round(board.width, 3) for board in boards}, reverse=True):
        parts = [(b.name, b.length) for b in boards if round(b.width, 3) == width]
        while parts:
            try:
                strips.append(Strip(width, lengths, plan_lengths(parts, lengths)))
                break
            except TooLongError as error:
                left.append(error.part)
                parts = [part for part in parts if part[0] != error.part]
    out = tuple(board for board in boards if board.name in left)
    return Material(stock, tuple(boards), strips=tuple(strips), left_out=out)
