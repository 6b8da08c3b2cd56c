"""Parts of sheet goods laid out on whole sheets for a router, a cutter's width apart."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from ...models.machine.router import Router
from ...models.piece.board import Board, Stock
from ...models.piece.project import Project
from ...models.wood.cutters import router_of
from ...models.wood.tables import sheet_goods
from .sheets import Part, SheetPlan, SheetSize, plan_sheets

_BETWEEN = 2.0  # mm between nested parts, more than the cutter's diameter


@dataclass(frozen=True)
class Nest:
    """The sheets of one stock.

    Attributes:
        stock: that is cut.
        size: of a sheet, and what parts keep between them.
        sheets: as they are laid out; none where the machine is too small for a sheet.
        left_out: boards that are not on them.
    """

    stock: Stock
    size: SheetSize
    sheets: tuple[SheetPlan, ...]
    left_out: tuple[Board, ...]

    @property
    def room(self) -> tuple[float, float]:
        """Length and width that parts have (mm)."""
        trim = 2 * self.size.trim
        return self.size.length - trim, self.size.width - trim


def nests(project: Project, blanks: Mapping[str, Board]) -> Iterator[Nest]:
    """The sheets of each sheet stock, the grain of every part along the sheet.

    Args:
        project: whose boards are cut.
        blanks: what is cut out of a sheet instead, of boards that are worked on both faces.
    """
    router = router_of(project)
    for stock in dict.fromkeys(board.stock for board in project.boards):
        if stock.kind != "sheet":
            continue
        size = _size(stock, router)
        boards = [board for board in project.boards if board.stock == stock]
        within = router.reaches((size.length, size.width, stock.thickness))
        there = [board for board in boards if within and _fits(blanks.get(board.name, board), size)]
        cut = [(board.name, blanks.get(board.name, board)) for board in there]
        parts = [Part(name, one.length, one.width) for name, one in cut]
        sheets = plan_sheets(parts, size).sheets if parts else ()
        yield Nest(stock, size, sheets, tuple(board for board in boards if board not in there))


def _size(stock: Stock, router: Router) -> SheetSize:
    """A sheet, with a gap for the cutter that cuts parts of it free."""
    length, width = sheet_goods()[stock.material].sheet
    some = [*router.cutting_free(stock.thickness), *router.formed("flat")]
    return SheetSize(
        length, width, 2 * max((c.radius for c in some[:1]), default=0.0) + _BETWEEN, router.margin
    )


def _fits(board: Board, size: SheetSize) -> bool:
    room = (size.length - 2 * size.trim, size.width - 2 * size.trim)
    return board.length <= room[0] and board.width <= room[1]
