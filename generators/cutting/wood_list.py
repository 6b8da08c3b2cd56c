"""wood.csv: how much wood a project takes, by what is bought, and in all of each wood."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ...models.piece.board import Board
from ...models.piece.project import Project
from ...models.words.lengths import MM_PER_INCH, Unit, format_length
from ..telling.csvfile import Cell, Column
from ..telling.cut_list import board_feet, sold_as

FILE = "wood.csv"
_MM_PER_FOOT = 12 * float(MM_PER_INCH)


@dataclass(frozen=True)
class Row:
    """Boards of one wood and thickness, whatever the recipe calls their stock; or all of one wood.

    Attributes:
        boards: as finished.
        whole: whether these are all of a wood that is bought in more than one way.
        unit: of the recipe.
    """

    boards: tuple[Board, ...]
    whole: bool
    unit: Unit

    @property
    def sheet(self) -> bool:
        """Whether it is a sheet good."""
        return self.boards[0].stock.kind == "sheet"

    @property
    def title(self) -> str:
        """`cherry, 3/4" thick`; `cherry in all`; a sheet's title says how thick it is."""
        stock = self.boards[0].stock
        if self.whole:
            return f"{stock.title} in all"
        sawn = "" if self.sheet or stock.sawn == "flat" else f", {stock.sawn}-sawn"
        thick = "" if self.sheet else f", {format_length(stock.thickness, self.unit)} thick"
        return f"{stock.title}{sawn}{thick}"

    @property
    def board_feet(self) -> float:
        """Of solid wood, by the thickness that it is sold as."""
        return sum(map(board_feet, self.boards))

    @property
    def cubic_metres(self) -> float:
        """Of finished wood."""
        return sum(b.length * b.width * b.thickness for b in self.boards) / 1e9

    @property
    def metres(self) -> float:
        """Of boards laid end to end."""
        return sum(board.length for board in self.boards) / 1e3

    @property
    def square_metres(self) -> float:
        """Of face."""
        return sum(board.length * board.width for board in self.boards) / 1e6

    def amount(self, waste: float = 0.0) -> str:
        """How much to ask for, in the recipe's units; `waste` is the share that is added."""
        more = 1 + waste
        if self.sheet and self.unit == "mm":
            return f"{self.square_metres * more:.2f} square metres"
        if self.sheet:
            return f"{self.square_metres * more * 1e6 / _MM_PER_FOOT**2:.1f} square feet"
        if self.unit == "mm":
            volume, run = self.cubic_metres * more, self.metres * more
            return f"{volume:.4f} cubic metres, {run:.1f} metres of boards"
        return f"{self.board_feet * more:.1f} board feet"


def rows(project: Project) -> Iterator[Row]:
    """Yield what is bought, wood by wood in the project's order, then all of that wood."""
    woods: defaultdict[str, dict[tuple[str, float], list[Board]]] = defaultdict(dict)
    for board in project.boards:
        stock = board.stock
        kinds = woods[stock.material]
        kinds.setdefault((stock.sawn, stock.thickness), []).append(board)
    for kinds in woods.values():
        for boards in kinds.values():
            yield Row(tuple(boards), False, project.unit)
        if len(kinds) > 1:
            yield Row(tuple(b for some in kinds.values() for b in some), True, project.unit)


def _solid(row: Row, amount: float) -> Cell:
    return "" if row.sheet else amount


def _sold(row: Row) -> str:
    lumber: Sequence[str] = [found.name for b in row.boards if (found := sold_as(b))]
    return "" if row.whole else next(iter(lumber), "")


COLUMNS: tuple[Column[Row], ...] = (
    Column(
        "wood",
        "what to ask for; `in all` adds up the rows above it where one wood is bought in several "
        "thicknesses, or sawn in several ways",
        lambda r: r.title,
    ),
    Column(
        "sold_as",
        "as on the cut list; empty for sheets, and in rows that add up others",
        _sold,
    ),
    Column("boards", "how many are cut from it", lambda r: len(r.boards)),
    Column("pieces", "the pieces that they belong to", lambda r: _pieces(r)),
    Column(
        "board_feet",
        "solid wood, as on the cut list; nothing added for waste",
        lambda r: _solid(r, r.board_feet),
        3,
    ),
    Column(
        "cubic_metres",
        "solid wood as finished; nothing added for waste",
        lambda r: _solid(r, r.cubic_metres),
        5,
    ),
    Column(
        "metres",
        "length of its boards end to end, as finished; empty for sheets",
        lambda r: _solid(r, r.metres),
    ),
    Column(
        "square_metres",
        "sheet goods as finished; nothing added for waste",
        lambda r: r.square_metres if r.sheet else "",
        4,
    ),
)


def _pieces(row: Row) -> str:
    return "; ".join(dict.fromkeys(board.piece for board in row.boards))
