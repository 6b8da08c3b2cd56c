"""How much solid wood swells and shrinks across its grain.

Wood Handbook, FPL-GTR-190 (2010), chapter 13: equation 13-2 from 6 to 14 % moisture content, and
13-3 outside of that and up to 30 %. Along the grain wood hardly moves, and sheet goods little.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..maths.geometry import Vec
from ..piece.board import Sawn, Stock
from .tables import Species, species

FIBRE_SATURATION = 30.0
"""Percent moisture content above which wood does not swell (Wood Handbook, p. 13-17)."""
GIVE = 0.25  # mm each way that a screw in a round pilot gives: common practice, no source
SLOT_STEP = 0.5  # mm, slots are made in such steps
_COMMON = 10.0  # percent, the middle of 6 to 14: where the handbook's coefficients were worked out


def dimensional_change(dimension: float, coefficient: float, before: float, after: float) -> float:
    """Change of a dimension across the grain, Wood Handbook eq. 13-2.

    Args:
        dimension: at the first moisture content, any unit of length.
        coefficient: fraction per percent: C_T of flat-sawn boards, C_R of quarter-sawn ones.
        before: first moisture content, percent, from 6 to 14.
        after: last moisture content, percent, from 6 to 14.

    Returns:
        The change in the unit of `dimension`, positive when it swells.

    Raises:
        ValueError: a moisture content outside of 6 to 14 %; use `dimensional_change_beyond`.
    """
    for moisture in (before, after):
        if not 6 <= moisture <= 14:
            raise ValueError(f"{moisture:g} % is outside of 6 to 14 %, where eq. 13-2 holds")
    return dimension * coefficient * (after - before)


def dimensional_change_beyond(
    dimension: float, shrinkage: float, before: float, after: float
) -> float:
    """The same for moisture contents that leave 6 to 14 %, Wood Handbook eq. 13-3.

    Args:
        dimension: at the first moisture content, any unit of length.
        shrinkage: from green to oven-dry, percent, tangential or radial (Table 4-3).
        before: first moisture content, percent, from 0 to 30.
        after: last moisture content, percent, from 0 to 30.

    Raises:
        ValueError: a moisture content that is not from 0 to 30 %, or no shrinkage.
    """
    if not shrinkage > 0:
        raise ValueError(f"a shrinkage of {shrinkage:g} % is none")
    for moisture in (before, after):
        if not 0 <= moisture <= FIBRE_SATURATION:
            raise ValueError(f"{moisture:g} % is outside of 0 to {FIBRE_SATURATION:g} %")
    full = FIBRE_SATURATION * 100 / shrinkage
    return dimension * (after - before) / (full - FIBRE_SATURATION + before)


def coefficient(wood: Species, sawn: Sawn) -> float | None:
    """Fraction by which a board's width changes per percent of moisture content.

    The handbook's own coefficient (Table 13-5); where it has none, eq. 13-3 from the shrinkage at
    10 %, which is how the table's rows come about; None where neither was read.
    """
    given = wood.change_tangential if sawn == "flat" else wood.change_radial
    shrinkage = wood.shrink_tangential_pct if sawn == "flat" else wood.shrink_radial_pct
    if given is not None or shrinkage is None:
        return given
    return dimensional_change_beyond(1.0, shrinkage, _COMMON, _COMMON + 1)


def movement_rate(stock: Stock, points: float) -> float | None:
    """Fraction of its width that a board of a stock moves for a change of moisture content.

    Args:
        stock: of the board.
        points: change of moisture content, percentage points.

    Returns:
        0 for sheet goods (their little movement is left out); None where nothing was read.
    """
    if stock.kind == "sheet":
        return 0.0
    per_point = coefficient(species()[stock.material], stock.sawn)
    return None if per_point is None else per_point * points


@dataclass(frozen=True)
class Slide:
    """How a solid panel slides over a board that holds it, as it swells and shrinks.

    Attributes:
        along: unit vector across the panel's grain in the joint plane, bored board's frame.
        rate: mm that it moves either way, per mm of distance from the line that stays.
        fixed: a point of that line, bored board's frame (mm).
    """

    along: Vec
    rate: float
    fixed: Vec

    def slot(self, exit: Vec) -> float:
        """How much longer than wide the pilot with this exit must be (mm), rounded up."""
        away = sum((p - q) * a for p, q, a in zip(exit, self.fixed, self.along, strict=True))
        needed = 2 * self.rate * abs(away)
        if needed <= 2 * GIVE:
            return 0.0
        return math.ceil(needed / SLOT_STEP - 1e-9) * SLOT_STEP
