"""hardware.csv: the screws by kind, with some to spare, their bits, and whatever else is bought."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...models.piece.project import Bore, Hardware, Project
from ...models.words.lengths import format_length
from .csvfile import Column
from .steps import fastened, set_back

FILE = "hardware.csv"
SPARE_PERCENT = 5


@dataclass(frozen=True)
class Row:
    """One thing to buy."""

    kind: str
    item: str
    detail: str
    quantity: int
    to_buy: int
    pieces: str


COLUMNS: tuple[Column[Row], ...] = (
    Column(
        "kind",
        "`screw`, `bit` (that drives the screws), `spacer` (to set boards back, used again), "
        "`sheet` (of sheet goods) or `other`",
        lambda r: r.kind,
    ),
    Column("item", "what to ask for", lambda r: r.item),
    Column("detail", "size or make, where it matters", lambda r: r.detail),
    Column("quantity", "how many the project takes", lambda r: r.quantity),
    Column(
        "to_buy",
        f"for screws the quantity and {SPARE_PERCENT} % more, rounded up to a whole screw; "
        "for the rest the quantity",
        lambda r: r.to_buy,
    ),
    Column("pieces", "the pieces that it goes into", lambda r: r.pieces),
)


def with_spare(count: int) -> int:
    """Return the count and 5 % more, rounded up, in whole numbers."""
    return -(-count * (100 + SPARE_PERCENT) // 100)


def rows(project: Project) -> Iterator[Row]:
    """Yield screws by title, bits by length, spacers by thickness, the rest in project order."""
    screws: dict[str, list[Bore]] = {}
    for bore in project.bores:
        screws.setdefault(bore.screw.title, []).append(bore)
    for title, bores in sorted(screws.items()):
        count = len(bores)
        pieces = "; ".join(dict.fromkeys(project.board_named[b.board].piece for b in bores))
        yield Row("screw", title, "", count, with_spare(count), pieces)
    yield from _bits(project)
    yield from _spacers(project)
    yield from _glue(project)
    things: dict[tuple[str, str], list[Hardware]] = {}
    for thing in project.hardware:
        things.setdefault((thing.name, thing.detail), []).append(thing)
    for (name, detail), same in things.items():
        count = sum(thing.quantity for thing in same)
        pieces = "; ".join(dict.fromkeys(thing.piece for thing in same))
        yield Row("other", name, detail, count, count, pieces)


def _glue(project: Project) -> Iterator[Row]:
    """Glue, where a joint has nothing else."""
    joints = [joint for joint in project.joints if fastened(project, joint) == "glue"]
    if joints:
        pieces = "; ".join(dict.fromkeys(project.board_named[j.first].piece for j in joints))
        yield Row("other", "wood glue", "for the joints without screws", 1, 1, pieces)


def _bits(project: Project) -> Iterator[Row]:
    """One of each length that is driven with."""
    found: dict[float, list[str]] = {}
    for bore in project.bores:
        board = project.board_named[bore.board]
        found.setdefault(bore.bit(board), []).append(board.piece)
    for length in sorted(found):
        pieces = "; ".join(dict.fromkeys(found[length]))
        free = f"{format_length(length, project.unit)} free, from screw to driver"
        yield Row("bit", "driver bit", free, 1, 1, pieces)


def _spacers(project: Project) -> Iterator[Row]:
    """Two of each thickness, one under either end of a board; they serve one joint after another.

    Common practice, no source.
    """
    found: dict[float, list[str]] = {}
    for joint in project.joints:
        back = set_back(project, joint)
        if back is not None:
            piece = project.board_named[joint.first].piece
            found.setdefault(round(back, 3), []).append(piece)
    for back in sorted(found):
        pieces = "; ".join(dict.fromkeys(found[back]))
        yield Row("spacer", "spacer", format_length(back, project.unit), 2, 2, pieces)
