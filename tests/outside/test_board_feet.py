"""Board feet of the cut list against the trade's own count, and the thickness that wood is sold by.

A board foot is thickness x width in inches x length in feet over 12, the thickness as sold: common
practice, from memory. What is left of it dressed on two sides: NHLA rules, read second hand, for
hardwood; Voluntary Product Standard PS 20, Table 3, dry, for softwood.
"""

from __future__ import annotations

from typing import Literal

import pytest

from slantbore.generators.telling.cut_list import COLUMNS, rows
from slantbore.models.piece.board import Stock
from slantbore.models.piece.project import Project
from slantbore.models.wood.tables import sold_as
from tests.boards import blank

INCH = 25.4


@pytest.mark.parametrize(
    ("kind", "thickness", "width", "feet", "count", "wanted"),
    [
        ("hardwood", 3 / 4, 6.0, 8.0, 1, 4.0),  # 4/4
        ("hardwood", 13 / 16, 8.0, 10.0, 1, 80 / 12),
        ("hardwood", 1 / 2, 6.0, 8.0, 1, 4.0),  # planed from 4/4
        ("hardwood", 1.0, 6.0, 8.0, 1, 5.0),  # 5/4
        ("hardwood", 1 + 3 / 4, 6.0, 8.0, 1, 8.0),  # 8/4
        ("softwood", 3 / 4, 5.5, 6.0, 4, 11.0),  # nominal 1
        ("softwood", 1.5, 3.5, 8.0, 1, 56 / 12),  # nominal 2, as wide as it is
        ("hardwood", 5.0, 6.0, 8.0, 1, 20.0),  # thicker than any that is sold
    ],
)
def test_board_feet(
    kind: Literal["hardwood", "softwood"], thickness: float, width: float, feet: float, count: int,
    wanted: float,
) -> None:  # fmt: skip
    stock = Stock("wood", "red-oak", "red oak", thickness * INCH, kind)
    boards = tuple(
        blank(f"board {i}", "pile", "board", stock, feet * 12 * INCH, width * INCH)
        for i in range(count)
    )
    (row,) = rows(Project("pile", "inch", boards, ()))
    column = next(c for c in COLUMNS if c.name == "board_feet")
    assert float(str(column.cell(row))) == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize(
    ("kind", "dressed", "name"),
    [
        *(("hardwood", dressed, name) for dressed, name in (
            (13 / 16, "4/4"), (1 + 1 / 16, "5/4"), (1 + 5 / 16, "6/4"), (1.75, "8/4"),
            (2.75, "12/4"), (3.75, "16/4"))),
        *(("softwood", dressed, f"nominal {name}") for dressed, name in (
            (3 / 4, "1"), (1.0, "1-1/4"), (1.25, "1-1/2"), (1.5, "2"), (2.0, "2-1/2"), (2.5, "3"),
            (3.0, "3-1/2"), (3.5, "4"))),
    ],
)  # fmt: skip
def test_wood_is_dressed_from_what_the_published_tables_say(
    kind: Literal["hardwood", "softwood"], dressed: float, name: str
) -> None:
    exact, more = sold_as(kind, dressed * INCH), sold_as(kind, (dressed + 1 / 64) * INCH)
    assert exact is not None and exact.name == name
    assert more is None or more.sold > exact.sold
