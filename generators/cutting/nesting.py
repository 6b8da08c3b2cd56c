"""Parts of sheet goods laid out on whole sheets for a router, a cutter's width apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ...models.machine.router import Router
from ...models.piece.board import BOTTOM, TOP, Board, Side, Stock
from ...models.piece.bored import bores_in
from ...models.piece.lie import Lying, Region
from ...models.piece.project import Project
from ...models.wood.cutters import router_of
from ...models.wood.tables import sheet_of
from .sheets import Part, SheetPlan, SheetSize, plan_sheets
from .stocks import boards_by_stock

FACES: tuple[Side, ...] = (TOP, BOTTOM)
_BETWEEN = 2.0  # mm between nested parts, more than the cutter's diameter
_MARGIN = 10.0  # mm of stock around a board that is cut by itself, where its cutters need no more
PINS = 25.0  # mm of stock beside a board, beyond a cutter's width, for a registration hole


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


def nests(project: Project) -> Iterator[Nest]:
    """The sheets of each sheet stock, the grain of every part along the sheet.

    Of a board that is worked on both faces its blank is cut out.
    """
    router = router_of(project)
    for stock, boards in boards_by_stock(project).items():
        if stock.kind != "sheet":
            continue
        size = _size(stock, router)
        within = router.reaches(span(size, stock, router))
        parts, left_out = [], []
        for board in boards:
            cut = blank(project, board, router) if both_faces(project, board) else board
            if within and _fits(cut, size):
                parts.append(Part(board.name, cut.length, cut.width))
            else:
                left_out.append(board)
        yield Nest(stock, size, tuple(_sheets(parts, size)), tuple(left_out))


def _sheets(parts: list[Part], size: SheetSize) -> Iterator[SheetPlan]:
    """Parts laid within the margins, which no saw trims off, a gap apart."""
    room = SheetSize(size.length - 2 * size.trim, size.width - 2 * size.trim, size.kerf)
    for plan in plan_sheets(parts, room).sheets if parts else ():
        moved = (
            replace(one, rect=replace(one.rect, x=one.rect.x + size.trim, y=one.rect.y + size.trim))
            for one in plan.laid
        )
        yield SheetPlan(size, tuple(moved), (), ())


def both_faces(project: Project, board: Board) -> bool:
    """Whether a board is worked on from either of its faces, and from no one of them alone."""
    return all(any(_only_from(project, Lying(board, side))) for side in FACES)


def _only_from(project: Project, lying: Lying) -> Iterator[bool]:
    for part, work in lying.regions():
        here = not isinstance(part, Region) or work.done_from == lying.side
        yield here and not either_way(part)
    yield any(bore.pocket_face == lying.side for bore in bores_in(project, lying.board))


def either_way(part: object) -> bool:
    """Whether something that is taken out of a face may as well be cut from the other."""
    return isinstance(part, Region) and part.through and part.upright


def margins(project: Project, board: Board, router: Router) -> tuple[float, float]:
    """Of the stock that a board is cut from by itself: beside it, before and behind it (mm)."""
    wide = max((cutter.radius for cutter in router.formed("flat")), default=0.0)
    margin = max(_MARGIN, 2 * wide + 3.0)
    if not both_faces(project, board):
        return margin, margin
    free = next(router.cutting_free(board.thickness), None)
    return (2 * free.radius if free else 0.0) + PINS, margin


def blank_name(board: Board) -> str:
    """What the stock of a board is called."""
    return f"{board.name} blank"


def blank(project: Project, board: Board, router: Router) -> Board:
    """The stock of a board that is cut by itself, as a board without any work."""
    beside, before = margins(project, board, router)
    name, length, width = blank_name(board), board.length, board.width
    return replace(board, name=name, length=length + 2 * beside, width=width + 2 * before, work=())


def span(size: SheetSize, stock: Stock, router: Router) -> tuple[float, float, float]:
    """How far a machine has to reach for a sheet (mm): cutters may run out over narrow margins."""
    out = max(0.0, max((c.radius for c in router.formed("flat")), default=0.0) - size.trim)
    return size.length + 2 * out, size.width + 2 * out, stock.thickness


def _size(stock: Stock, router: Router) -> SheetSize:
    """A sheet, with a gap for the cutter that cuts parts of it free, or runs out of their sides."""
    length, width = sheet_of(stock)
    flat = router.formed("flat")
    some = [*router.cutting_free(stock.thickness), *flat]
    gap = max((*(2 * c.radius for c in some[:1]), *(c.radius for c in flat)), default=0.0)
    return SheetSize(length, width, gap + _BETWEEN, router.margin)


def _fits(board: Board, size: SheetSize) -> bool:
    room = (size.length - 2 * size.trim, size.width - 2 * size.trim)
    return board.length <= room[0] and board.width <= room[1]
