"""cut-list.csv: the boards as a maker writes them down, like ones in one row."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

from ...models.piece.board import Board
from ...models.piece.bored import told
from ...models.piece.groups import groups
from ...models.piece.pairs import hands, like_boards
from ...models.piece.project import Project
from ...models.wood import tables
from ...models.wood.tables import Lumber
from ...models.words.lengths import Unit, format_length
from ...models.work.end_cut import end_cuts
from .csvfile import Cell, Column

FILE = "cut-list.csv"
CUBIC_MM_PER_BOARD_FOOT = 144 * 25.4**3

# What solid wood is cut larger by before it is dressed and trimmed: common practice, no source.
_LONGER: dict[Unit, float] = {"mm": 25.0, "inch": 25.4}
_WIDER: dict[Unit, float] = {"mm": 6.0, "inch": 6.35}


@dataclass(frozen=True)
class Row:
    """Boards that are alike however they are turned, and what is done to one of them."""

    boards: tuple[Board, ...]
    work: tuple[str, ...]
    unit: Unit
    hand: str = ""
    solids: tuple[str, ...] = ()

    @property
    def first(self) -> Board:
        """One of them."""
        return self.boards[0]

    def own(self, mm: float) -> str:
        """A length in the recipe's unit."""
        return format_length(mm, self.unit)

    def distinct(self, attribute: str) -> str:
        """What the boards say for an attribute, each word once."""
        words = (str(getattr(board, attribute)) for board in self.boards)
        return "; ".join(dict.fromkeys(word for word in words if word))


def sold_as(board: Board) -> Lumber | None:
    """What the solid wood of a board is sold as; None for sheets, and for what is thicker."""
    kind = board.stock.kind
    return None if kind == "sheet" else tables.sold_as(kind, board.thickness)


def board_feet(board: Board) -> float:
    """Board feet of a board: 144 cubic inches each, by the thickness that it is sold as."""
    lumber = sold_as(board)
    thickness = lumber.sold if lumber else board.thickness
    return board.length * board.width * thickness / CUBIC_MM_PER_BOARD_FOOT


def rough_size(board: Board, unit: Unit) -> tuple[float, float, float] | None:
    """Length, width and thickness (mm) that solid wood is first cut to; None for sheets.

    As thick as it is sold, where it is sold rough; softwood by nominal inches is sold dressed.
    """
    if board.stock.kind == "sheet":
        return None
    lumber = sold_as(board)
    rough = lumber is not None and board.stock.kind == "hardwood"
    thickness = lumber.sold if lumber and rough else board.thickness
    return board.length + _LONGER[unit], board.width + _WIDER[unit], thickness


def _rough(r: Row, axis: int) -> Cell:
    size = rough_size(r.first, r.unit)
    return r.own(size[axis]) if size else ""


def _rough_mm(r: Row, axis: int) -> Cell:
    size = rough_size(r.first, r.unit)
    return size[axis] if size else ""


def _sold_as(r: Row) -> Cell:
    lumber = sold_as(r.first)
    return lumber.name if lumber else ""


def _board_feet(r: Row) -> Cell:
    return "" if r.first.stock.kind == "sheet" else len(r.boards) * board_feet(r.first)


def _square_metres(r: Row) -> Cell:
    board = r.first
    return len(r.boards) * board.length * board.width / 1e6 if board.stock.kind == "sheet" else ""


COLUMNS: tuple[Column[Row], ...] = (
    Column("quantity", "how many boards are alike", lambda r: len(r.boards)),
    Column("piece", "the pieces that they belong to", lambda r: r.distinct("piece")),
    Column("role", "what they are in the piece", lambda r: r.distinct("role")),
    Column("names", "their names, as in every other file", lambda r: r.distinct("name")),
    Column(
        "length",
        "finished, long point to long point, along the grain",
        lambda r: r.own(r.first.length),
    ),
    Column("width", "finished, across the grain", lambda r: r.own(r.first.width)),
    Column("thickness", "finished", lambda r: r.own(r.first.thickness)),
    Column(
        "rough_length",
        "solid wood as first cut, to be dressed and trimmed: 25 mm or 1 in longer than finished "
        "(common practice, no source); empty for sheets, which are cut to size",
        lambda r: _rough(r, 0),
    ),
    Column(
        "rough_width",
        "6 mm or 1/4 in wider than finished (common practice, no source)",
        lambda r: _rough(r, 1),
    ),
    Column(
        "rough_thickness",
        "as the wood is sold; finished where it is sold dressed, and where none is sold so thick",
        lambda r: _rough(r, 2),
    ),
    Column("length_mm", "the finished length", lambda r: r.first.length),
    Column("width_mm", "the finished width", lambda r: r.first.width),
    Column("thickness_mm", "the finished thickness", lambda r: r.first.thickness),
    Column("rough_length_mm", "the rough length", lambda r: _rough_mm(r, 0)),
    Column("rough_width_mm", "the rough width", lambda r: _rough_mm(r, 1)),
    Column("rough_thickness_mm", "the rough thickness", lambda r: _rough_mm(r, 2)),
    Column("stock", "what they are cut from", lambda r: r.first.stock.title),
    Column(
        "sold_as",
        "the thinnest lumber that the thickness is dressed from: hardwood by quarters of an inch, "
        "rough (4/4), softwood by its nominal inches; empty for sheets and for what is thicker",
        _sold_as,
    ),
    Column("ends", "how the ends are cut, degrees off square", lambda r: end_cuts(r.first)),
    Column(
        "hand", "left or right, where two rows are mirror images of each other", lambda r: r.hand
    ),
    Column(
        "work",
        "what else is done to each, with size and place; `about` where a length was rounded",
        lambda r: "; ".join(r.work),
    ),
    Column(
        "board_feet",
        "solid wood of the whole row: finished length x width x the thickness that it is sold as, "
        "in inches, over 144; nothing added for waste",
        _board_feet,
        3,
    ),
    Column(
        "square_metres",
        "sheet goods of the whole row: finished length x width; nothing added for waste",
        _square_metres,
        4,
    ),
    Column(
        "solids",
        "the files of their solids in the folder parts; boards that lie turned have their own",
        lambda r: "; ".join(f"{name}.step" for name in r.solids),
    ),
)


def rows(project: Project) -> Iterator[Row]:
    """Yield like boards together, in the project's order."""
    hand = hands(project)
    solid = {board.name: group[0].name for group in groups(project) for board in group}
    for boards in like_boards(project):
        # Boards that can be turned into each other serve on either side, whatever they are called.
        said = {hand[board.name] for board in boards}
        one = said.pop() if len(said) == 1 else ""
        work = told(project, boards[0], partial(format_length, unit=project.unit))
        solids = tuple(dict.fromkeys(solid[board.name] for board in boards))
        yield Row(boards, tuple(work), project.unit, one, solids)
