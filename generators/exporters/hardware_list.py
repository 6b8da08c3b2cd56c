"""hardware.csv: the screws by kind, with some to spare, and whatever else is bought."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from ...models.project import Project
from ..csvfile import Column, write_csv
from . import Exporter, Product

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
    Column("kind", "`screw`, or `other`", lambda r: r.kind),
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
    """Yield the screws by title, then the rest in the project's order."""
    screws: dict[str, list[str]] = {}
    for bore in project.bores:
        piece = project.board_named[bore.board].piece
        screws.setdefault(bore.screw.title, []).append(piece)
    for title in sorted(screws):
        count = len(screws[title])
        pieces = "; ".join(dict.fromkeys(screws[title]))
        yield Row("screw", title, "", count, with_spare(count), pieces)
    for thing in project.hardware:
        yield Row("other", thing.name, thing.detail, thing.quantity, thing.quantity, thing.piece)


def write(product: Product, folder: Path) -> None:
    """Write the file."""
    write_csv(folder / FILE, COLUMNS, rows(product.project))


EXPORTER = Exporter("hardware list", FILE, "screws and what else is bought", write)
