"""Sag of shelves against the Wood Handbook's formula and the spans that a standard publishes."""

from __future__ import annotations

import math

import pytest

from slantbore.models.piece.board import Stock
from slantbore.models.wood.beams import (
    CONSTANTS,
    KG_M2_PER_PSF,
    MPA_PER_PSI,
    NEWTON_PER_POUND,
    Strip,
    deflection,
    elasticity,
    longest_span,
    pressure,
    stiffness,
)

INCH = 25.4
FIR, FACED, OAK = 950_000.0, 1_800_000.0, 1_820_000.0

# Architectural Woodwork Standards, 1st edition (2009), rules 4.4.14.10.11, .12 and .13, p. 279:
# longest shelf (in) by material, thickness (in) and load (lb/ft2), at the L/144 of section 10,
# 1.2.21. Read in a retyped copy.
SPANS = [
    ("Douglas-fir plywood, .11", FIR, 0.75, 40, 40),
    ("Douglas-fir plywood, .11", FIR, 0.75, 50, 37),
    ("Douglas-fir plywood, .11", FIR, 1.0, 40, 53),
    ("Douglas-fir plywood, .11", FIR, 1.0, 50, 49),
    ("hardwood-faced plywood, .12", FACED, 0.75, 40, 49),
    ("hardwood-faced plywood, .12", FACED, 0.75, 50, 46),
    ("hardwood-faced plywood, .12", FACED, 1.0, 40, 66),
    ("hardwood-faced plywood, .12", FACED, 1.0, 50, 61),
    ("solid red oak, .13", OAK, 0.75, 40, 49),
    ("solid red oak, .13", OAK, 0.75, 50, 46),
    ("solid red oak, .13", OAK, 1.0, 40, 66),
    ("solid red oak, .13", OAK, 1.0, 50, 61),
]


@pytest.mark.parametrize(("material", "psi", "thick_in", "psf", "longest_in"), SPANS)
def test_published_shelf_spans(
    material: str, psi: float, thick_in: float, psf: float, longest_in: float
) -> None:
    del material
    span = longest_span(pressure(psf * KG_M2_PER_PSF), thick_in * INCH, psi * MPA_PER_PSI)
    assert abs(span / INCH - longest_in) < 1.0


@pytest.mark.parametrize(("material", "psi", "thick_in", "psf", "longest_in"), SPANS)
def test_a_shelf_of_the_published_span_sags_by_its_144th(
    material: str, psi: float, thick_in: float, psf: float, longest_in: float
) -> None:
    """The same spans the other way round, by eq. 9-2: an inch longer is too long, shear or not."""
    del material
    thick, depth = thick_in * INCH, 250.0
    beam = stiffness([Strip(depth, thick, 0.0, psi * MPA_PER_PSI)])

    def sag(span: float) -> float:
        return deflection(pressure(psf * KG_M2_PER_PSF) * span * depth, span, beam)

    shorter, longer = (longest_in - 1) * INCH, (longest_in + 1) * INCH
    assert sag(shorter) < shorter / 144 and sag(longer) > longer / 144


def test_the_stock_tables_carry_the_published_moduli() -> None:
    # The standard's shelves are made of these three; its modulus of red oak is the Wood Handbook's
    # (FPL-GTR-282, Table 5-3b: 1.82 million psi).
    for key, kind, psi in [
        ("red-oak", "hardwood", OAK),
        ("fir-plywood-3-4", "sheet", FIR),
        ("faced-plywood-3-4", "sheet", FACED),
    ]:
        stock = Stock("s", key, key, 19.05, kind)  # type: ignore[arg-type]
        assert elasticity(stock) == pytest.approx(psi * MPA_PER_PSI)
    assert elasticity(Stock("s", "plywood-1-4", "", 6.35, "sheet")) is None


def test_constants_are_those_of_the_table() -> None:
    # Wood Handbook FPL-GTR-282 (2021), Table 9-1, p. 9-3.
    assert CONSTANTS == {
        ("uniform", "simply supported"): (5 / 384, 1 / 8),
        ("uniform", "clamped"): (1 / 384, 1 / 8),
        ("point at mid-span", "simply supported"): (1 / 48, 1 / 4),
        ("point at mid-span", "clamped"): (1 / 192, 1 / 4),
        ("two points at the quarters", "simply supported"): (11 / 768, 1 / 8),
        ("uniform", "cantilever"): (1 / 8, 1 / 2),
        ("point at the end", "cantilever"): (1 / 3, 1.0),
    }


@pytest.mark.parametrize(("case"), list(CONSTANTS))
def test_constants_follow_from_the_bending_moment(case: tuple[str, str]) -> None:
    """Textbook unit-load integral over the moments M and m: k_b and k_s, without the table.

    W = L = E I = G A' = 1. A clamped beam carries the end moment that keeps its ends level.
    """
    loading, support = case
    n = 200_001
    xs = [i / (n - 1) for i in range(n)]

    def moment(x: float) -> float:
        if support == "cantilever":  # held at 0
            return (1 - x) ** 2 / 2 if loading == "uniform" else 1 - x
        if loading == "uniform":
            return x * (1 - x) / 2
        if loading == "point at mid-span":
            return min(x, 1 - x) / 2
        return min(x, 0.25, 1 - x) / 2

    def mean(values: list[float]) -> float:
        return (sum(values) - (values[0] + values[-1]) / 2) / (n - 1)

    real = [moment(x) for x in xs]
    if support == "clamped":
        fixing = mean(real)
        real = [m - fixing for m in real]
    unit = [1 - x if support == "cantilever" else min(x, 1 - x) / 2 for x in xs]
    bend, shear = CONSTANTS[case]  # type: ignore[index]
    assert mean([a * b for a, b in zip(real, unit, strict=True)]) == pytest.approx(bend, rel=1e-8)
    # Shear: M at the point of greatest deflection, less M at the support.
    at = n - 1 if support == "cantilever" else n // 2
    assert abs(moment(xs[at]) - moment(0.0)) == pytest.approx(shear, rel=1e-8)


def test_a_worked_shelf() -> None:
    """800 x 250 x 19 mm, 12 500 MPa, 50 kg/m: 1.464 mm in bending and 0.0127 mm in shear.

    Worked by hand from eq. 9-2 and Table 9-1 (no published worked example was found):
    I = 250 x 19^3 / 12, W = 50 x 0.8 x 9.80665 N, G = E / 16, A' = 5 x 250 x 19 / 6.
    """
    beam = stiffness([Strip(250.0, 19.0, 0.0, 12_500.0)])
    load = 50 * 0.8 * 9.80665
    assert 5 / 384 * load * 800**3 / beam.bending == pytest.approx(1.464, abs=5e-4)
    assert 1 / 8 * load * 800 / beam.shear == pytest.approx(0.0127, abs=5e-5)
    assert deflection(load, 800.0, beam) == pytest.approx(1.464 + 0.0127, abs=6e-4)


def test_a_composite_section_is_that_of_the_textbook() -> None:
    """Parallel axes: a flange on a web, one wood; and a halved beam is the beam."""
    e = 10_000.0
    whole = stiffness([Strip(40.0, 90.0, 0.0, e)])
    halves = stiffness([Strip(40.0, 45.0, -22.5, e), Strip(40.0, 45.0, 22.5, e)])
    assert halves.bending == pytest.approx(whole.bending) and halves.shear == whole.shear
    # T: flange 100 x 20 on a web 20 x 100, centre 90 from the foot of the web:
    # y = (2000 x 110 + 2000 x 50) / 4000 = 80;
    # I = 100 x 20^3 / 12 + 2000 x 30^2 + 20 x 100^3 / 12 + 2000 x 30^2 = 5 333 333.3 mm4.
    tee = stiffness([Strip(100.0, 20.0, 110.0, e), Strip(20.0, 100.0, 50.0, e)])
    assert tee.bending / e == pytest.approx(5_333_333.333, rel=1e-9)
    # A strip twice as stiff counts as one twice as wide.
    mixed = stiffness([Strip(100.0, 20.0, 110.0, e), Strip(20.0, 100.0, 50.0, 2 * e)])
    wide = stiffness([Strip(100.0, 20.0, 110.0, e), Strip(40.0, 100.0, 50.0, e)])
    assert mixed.bending == pytest.approx(wide.bending)


def test_units() -> None:
    assert math.isclose(NEWTON_PER_POUND, 4.4482216152605)  # NIST SP 811, appendix B.8
    assert math.isclose(MPA_PER_PSI, 6.894757293168e-3, rel_tol=1e-9)  # NIST SP 811
    assert math.isclose(KG_M2_PER_PSF, 4.882428, rel_tol=1e-6)  # NIST SP 811
