"""mating-lines.csv: the line to draw on a board where another one comes to it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...models.piece.board import Board, Side
from ...models.piece.project import Project
from ...models.words.lengths import Unit, format_length
from .csvfile import Cell, Column
from .mating import MatingLine, mating_lines

FILE = "mating-lines.csv"
_SQUARE = 1e-6


@dataclass(frozen=True)
class Row:
    """A line, and the unit that it is told in."""

    at: MatingLine
    unit: Unit

    def own(self, mm: float) -> str:
        """A length in the recipe's unit."""
        return format_length(mm, self.unit)


def _datum(board: Board, side: Side) -> str:
    """What is measured from; at an end or edge that is cut off square from its long point."""
    face = board.face(side)
    square = max(abs(part) for part in face.plane.normal) > 1 - _SQUARE
    return f"from the {face.name}" if square else f"from the long point of the {face.name}"


def _place(r: Row) -> Cell:
    face = r.at.mate.face(r.at.line_from).name
    if r.at.line == 0:
        return f"flush with the {face}"
    return f"beyond the line, away from the {face}"


COLUMNS: tuple[Column[Row], ...] = (
    Column("board", "the board to draw on", lambda r: r.at.mate.name),
    Column("face", "face to draw on", lambda r: r.at.mate.face(r.at.face).name),
    Column("comes_here", "the board that is joined there", lambda r: r.at.other.name),
    Column(
        "line",
        "how far the line is from an end or edge, in the recipe's unit; where it slants, at its "
        "start; `about` when it was rounded",
        lambda r: r.own(r.at.line),
    ),
    Column("line_from", "what it is measured from", lambda r: _datum(r.at.mate, r.at.line_from)),
    Column("lies", "on which side of the line the other board lies", _place),
    Column("start", "where the line starts", lambda r: r.own(r.at.start)),
    Column(
        "start_from", "what that is measured from", lambda r: _datum(r.at.mate, r.at.start_from)
    ),
    Column("runs", "how long the line is", lambda r: r.own(r.at.runs)),
    Column(
        "reaches", "how far the other board reaches beyond the line", lambda r: r.own(r.at.thick)
    ),
    Column(
        "slant_deg",
        "how far the line is off parallel to what it is measured from; positive: it moves away "
        "from there as it goes on from its start",
        lambda r: r.at.slant,
        3,
    ),
    Column("joint", "name of the joint", lambda r: r.at.joint.name),
    Column("kind", "kind of the joint", lambda r: r.at.joint.kind),
    Column("piece", "the piece that the board belongs to", lambda r: r.at.mate.piece),
    Column("line_mm", "the same distance", lambda r: r.at.line, 4),
    Column("start_mm", "the same", lambda r: r.at.start, 4),
    Column("runs_mm", "the same", lambda r: r.at.runs, 4),
    Column("reaches_mm", "the same", lambda r: r.at.thick, 4),
)


def rows(project: Project) -> Iterator[Row]:
    """Yield the lines board by board, in the project's order."""
    lines: dict[str, list[MatingLine]] = {board.name: [] for board in project.boards}
    for line in mating_lines(project):
        lines[line.mate.name].append(line)
    for some in lines.values():
        yield from (Row(line, project.unit) for line in some)
