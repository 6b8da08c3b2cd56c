"""Dimensional change against the Wood Handbook, FPL-GTR-190 (2010), chapter 13."""

from __future__ import annotations

import pytest

from slantbore.models.piece.board import Stock
from slantbore.models.wood.movement import (
    coefficient,
    dimensional_change,
    dimensional_change_beyond,
    movement_rate,
)
from slantbore.models.wood.tables import Species, species


def test_worked_example_flat_sawn() -> None:
    """Pp. 13-16 and 13-17: 232 mm (9.15 in), flat-sawn, 8 to 11 %: 233.7 mm (9.217 in).

    The sizes before and after were read in a retyped copy; the coefficient 0.00245 (white fir)
    and the two moisture contents are from memory, and reproduce the printed results.
    """
    assert 232 + dimensional_change(232, 0.00245, 8, 11) == pytest.approx(233.7, abs=0.05)
    assert 9.15 + dimensional_change(9.15, 0.00245, 8, 11) == pytest.approx(9.217, abs=0.0005)
    assert dimensional_change(232, 0.00245, 11, 8) == -dimensional_change(232, 0.00245, 8, 11)


def test_floor_board_example() -> None:
    """A published flooring example (second hand): mesquite 0.00129, 5 in, 6 to 9 %: 0.019 in."""
    assert dimensional_change(5, 0.00129, 6, 9) == pytest.approx(0.019, abs=0.0005)


@pytest.mark.parametrize(("before", "after"), [(5.9, 8), (8, 14.1), (-1, 8)])
def test_first_equation_keeps_to_its_range(before: float, after: float) -> None:
    with pytest.raises(ValueError, match="outside of 6 to 14"):
        dimensional_change(100, 0.003, before, after)


def test_second_equation_keeps_to_its_range() -> None:
    with pytest.raises(ValueError, match="outside of 0 to 30"):
        dimensional_change_beyond(100, 8, 20, 31)
    with pytest.raises(ValueError, match="is none"):
        dimensional_change_beyond(100, 0, 20, 25)


_GROUPS = {"red-oak", "white-oak"}  # coefficients of "commercial" groups of species
_OTHER_SATURATION = {"western-redcedar", "redwood"}  # Table 13-5 takes 22 % there
_ONE_DIGIT_OFF = {"sycamore"}


@pytest.mark.parametrize("sawn", ["flat", "quarter"])
@pytest.mark.parametrize("key", sorted(set(species()) - _GROUPS - _OTHER_SATURATION))
def test_the_two_equations_agree_at_ten_percent(key: str, sawn: str) -> None:
    """Table 13-5 is eq. 13-3 at 10 % with the shrinkage of Table 4-3, to the printed digit."""
    wood = species()[key]
    shrinkage = wood.shrink_tangential_pct if sawn == "flat" else wood.shrink_radial_pct
    given = wood.change_tangential if sawn == "flat" else wood.change_radial
    if shrinkage is None or given is None:
        pytest.skip("one of the two tables has no such row")
    off = 0.000015 if key in _ONE_DIGIT_OFF else 0.0000051
    assert dimensional_change_beyond(1.0, shrinkage, 10, 11) == pytest.approx(given, abs=off)


def test_green_to_oven_dry_is_the_shrinkage() -> None:
    """Shrinkage (Table 4-3) is by definition the change from 30 % to 0 %, of the green size."""
    cherry = species()["cherry"]
    assert cherry.shrink_tangential_pct is not None
    change = dimensional_change_beyond(100.0, cherry.shrink_tangential_pct, 30, 0)
    assert change == pytest.approx(-cherry.shrink_tangential_pct)


def test_a_missing_coefficient_comes_from_the_shrinkage() -> None:
    hickory: Species = species()["shagbark-hickory"]
    assert hickory.change_tangential is None
    assert coefficient(hickory, "flat") == dimensional_change_beyond(1.0, 10.5, 10, 11)
    assert coefficient(species()["white-spruce"], "flat") is None


def test_rate_of_a_stock() -> None:
    """12 in of flat-sawn red oak, 6 points: 0.266 in (from Table 13-5)."""
    oak = Stock("top", "red-oak", "red oak", 19.05, "hardwood")
    rate = movement_rate(oak, 6)
    assert rate is not None and 12 * rate == pytest.approx(0.266, abs=0.0005)
    quarter = movement_rate(Stock("top", "red-oak", "red oak", 19.05, "hardwood", "quarter"), 6)
    assert quarter is not None and quarter < rate
    assert movement_rate(Stock("top", "birch-ply", "ply", 18.0, "sheet"), 6) == 0.0
