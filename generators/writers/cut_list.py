"""cut-list.csv: the boards as a maker writes them down, like ones in one row."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from ...models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, Side
from ...models.piece.groups import bores_in
from ...models.piece.pairs import hands, like_boards
from ...models.piece.project import Project
from ...models.words.lengths import Unit, format_length
from ..telling.csvfile import Cell, Column, write_csv
from . import Product, Writer

FILE = "cut-list.csv"
CUBIC_MM_PER_BOARD_FOOT = 144 * 25.4**3
_SQUARE_DEG = 1e-4


@dataclass(frozen=True)
class Row:
    """Boards that are alike however they are turned, and what is done to one of them."""

    boards: tuple[Board, ...]
    bores: int
    unit: Unit
    hand: str = ""

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


def end_cuts(board: Board) -> str:
    """Say how the ends are cut: `both ends mitred 45 degrees, outside edge long`."""
    left, right = (_end_cut(board, end) for end in (LEFT, RIGHT))
    if left == right:
        return f"both ends {left}"
    names = board.face(LEFT).name, board.face(RIGHT).name
    return f"{names[0]} {left}; {names[1]} {right}"


def remarks(board: Board, bores: int) -> str:
    """Say what else is done to a board: bevels, cuts, holes and pockets."""
    said = [bevel for edge in (FRONT, BACK) if (bevel := _bevel(board, edge))]
    cuts = Counter(cut.name for cut in board.cuts)
    holes = Counter(hole.name for hole in board.holes)
    said += [name if count == 1 else f"{count} x {name}" for name, count in cuts.items()]
    said += [name if count == 1 else f"{count} x {name}" for name, count in holes.items()]
    if bores:
        said.append("1 pocket bore" if bores == 1 else f"{bores} pocket bores")
    return "; ".join(said)


def _end_cut(board: Board, end: Side) -> str:
    x, y, z = board.face(end).plane.normal
    mitre = math.degrees(math.atan2(abs(y), abs(x)))
    bevel = math.degrees(math.atan2(abs(z), math.hypot(x, y)))
    said = []
    # The outward normal leans away from the side that stays long.
    if mitre > _SQUARE_DEG:
        long = board.face(FRONT if y > 0 else BACK).name
        said.append(f"mitred {_degrees(mitre)}, {long} long")
    if bevel > _SQUARE_DEG:
        long = board.face(BOTTOM if z > 0 else TOP).name
        said.append(f"bevelled {_degrees(bevel)}, {long} long")
    return " and ".join(said) or "square"


def _bevel(board: Board, edge: Side) -> str:
    x, y, z = board.face(edge).plane.normal
    bevel = math.degrees(math.atan2(abs(z), math.hypot(x, y)))
    taper = math.degrees(math.atan2(abs(x), abs(y)))
    said = []
    if bevel > _SQUARE_DEG:
        wide = board.face(BOTTOM if z > 0 else TOP).name
        said.append(f"bevelled {_degrees(bevel)}, {wide} wide")
    if taper > _SQUARE_DEG:
        said.append(f"tapered {_degrees(taper)}")
    return f"{board.face(edge).name} {' and '.join(said)}" if said else ""


def _degrees(angle: float) -> str:
    return f"{angle:.2f}".rstrip("0").rstrip(".") + " degrees"


def board_feet(length: float, width: float, thickness: float) -> float:
    """Board feet of a board (mm): a board foot is 144 cubic inches."""
    return length * width * thickness / CUBIC_MM_PER_BOARD_FOOT


def _board_feet(r: Row) -> Cell:
    board = r.first
    if board.stock.kind == "sheet":
        return ""
    return len(r.boards) * board_feet(board.length, board.width, board.thickness)


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
    Column("length_mm", "the same", lambda r: r.first.length),
    Column("width_mm", "the same", lambda r: r.first.width),
    Column("thickness_mm", "the same", lambda r: r.first.thickness),
    Column("stock", "what they are cut from", lambda r: r.first.stock.title),
    Column("ends", "how the ends are cut, degrees off square", lambda r: end_cuts(r.first)),
    Column(
        "hand", "left or right, where two rows are mirror images of each other", lambda r: r.hand
    ),
    Column("remarks", "what else is done to each", lambda r: remarks(r.first, r.bores)),
    Column(
        "board_feet",
        "solid wood of the whole row: finished length x width x thickness in inches over 144; "
        "nothing added for waste",
        _board_feet,
        3,
    ),
    Column(
        "square_metres",
        "sheet goods of the whole row: finished length x width; nothing added for waste",
        _square_metres,
        4,
    ),
)


def rows(project: Project) -> Iterator[Row]:
    """Yield like boards together, in the project's order."""
    hand = hands(project)
    for boards in like_boards(project):
        # Boards that can be turned into each other serve on either side, whatever they are called.
        said = {hand[board.name] for board in boards}
        one = said.pop() if len(said) == 1 else ""
        yield Row(boards, len(bores_in(project, boards[0])), project.unit, one)


def write(product: Product, folder: Path) -> None:
    """Write the file."""
    write_csv(folder / FILE, COLUMNS, rows(product.project))


WRITER = Writer("cut list", FILE, "boards to cut, like ones together", write)
