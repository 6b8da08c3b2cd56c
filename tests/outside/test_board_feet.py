"""Board feet against the trade's own sums.

A board foot is a board 1 ft long, 1 ft wide and 1 in thick, 144 cubic inches (American Softwood
Lumber Standard PS 20, and the grading rules for hardwood lumber; both from memory). Boards are
sold by their nominal sizes: width and thickness in inches times length in feet, over 12.
"""

from __future__ import annotations

import pytest

from slantbore.generators.exporters.cut_list import board_feet

INCH, FOOT = 25.4, 304.8


@pytest.mark.parametrize(
    ("thickness_in", "width_in", "length_ft", "feet"),
    [
        (1, 12, 1, 1.0),  # the definition
        (1, 6, 8, 4.0),  # a 1 x 6, 8 ft long
        (1, 8, 10, 6.667),  # 4/4 stock, 8 in wide, 10 ft long
        (2, 4, 8, 5.333),  # a 2 x 4, 8 ft long
        (1.25, 9, 6, 5.625),  # 5/4 stock
    ],
)
def test_board_feet(thickness_in: float, width_in: float, length_ft: float, feet: float) -> None:
    found = board_feet(length_ft * FOOT, width_in * INCH, thickness_in * INCH)
    assert found == pytest.approx(feet, abs=5e-4)
    assert found == pytest.approx(thickness_in * width_in * length_ft / 12)
