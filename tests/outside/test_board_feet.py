"""Board feet of the cut list against the published definition: 144 cubic inches a board foot."""

from __future__ import annotations

import pytest

from slantbore.generators.writers.cut_list import COLUMNS, rows
from slantbore.models.piece.board import Stock
from slantbore.models.piece.project import Project
from tests.boards import blank

INCH = 25.4


@pytest.mark.parametrize(
    ("thickness", "width", "feet", "count", "wanted"),
    [
        (1.0, 6.0, 8.0, 1, 4.0),  # thickness x width in inches x length in feet over 12
        (1.0, 8.0, 10.0, 1, 80 / 12),
        (0.75, 5.5, 6.0, 4, 8.25),
    ],
)
def test_board_feet(thickness: float, width: float, feet: float, count: int, wanted: float) -> None:
    stock = Stock("wood", "red-oak", "red oak", thickness * INCH, "hardwood")
    boards = tuple(
        blank(f"board {i}", "pile", "board", stock, feet * 12 * INCH, width * INCH)
        for i in range(count)
    )
    (row,) = rows(Project("pile", "inch", boards, ()))
    column = next(c for c in COLUMNS if c.name == "board_feet")
    assert float(str(column.cell(row))) == pytest.approx(wanted, abs=1e-9)
