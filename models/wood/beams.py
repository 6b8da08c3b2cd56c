"""How far a shelf sags: straight beams under a load, also of two woods glued along their length.

Wood Handbook, FPL-GTR-282 (2021), chapter 9: deflection eq. 9-2 (p. 9-2) with the constants of
Table 9-1 (p. 9-3), second moment of area eq. 9-3, shear area eq. 9-4. The limit and the loads for
shelves: Architectural Woodwork Standards, 1st edition (2009), section 10, 1.2.21 (p. 253).

Short-term values for clear wood at 12 % moisture content: a shelf that stays loaded goes on sagging
(from memory: about as much again). They serve to choose a shelf, not to promise a capacity.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ..piece.board import Stock
from .tables import MM_PER_INCH, sheet_goods, species

GRAVITY = 9.80665  # m/s2, ISO 80000-3
NEWTON_PER_POUND = 0.45359237 * GRAVITY
MPA_PER_PSI = NEWTON_PER_POUND / MM_PER_INCH**2
KG_M2_PER_PSF = 0.45359237 / (12 * MM_PER_INCH / 1000) ** 2

SHELF_LIMIT = 144.0
"""A shelf may sag by its span over this (Architectural Woodwork Standards, section 10, 1.2.21)."""
LARGEST_SHELF_LOAD = 90.7
"""kg on any one shelf, 200 lb (the same clause)."""

Loading = Literal["uniform", "point at mid-span", "two points at the quarters", "point at the end"]
Support = Literal["simply supported", "clamped", "cantilever"]

# Wood Handbook Table 9-1: bending constant k_b and shear constant k_s.
CONSTANTS: dict[tuple[Loading, Support], tuple[float, float]] = {
    ("uniform", "simply supported"): (5 / 384, 1 / 8),
    ("uniform", "clamped"): (1 / 384, 1 / 8),
    ("point at mid-span", "simply supported"): (1 / 48, 1 / 4),
    ("point at mid-span", "clamped"): (1 / 192, 1 / 4),
    ("two points at the quarters", "simply supported"): (11 / 768, 1 / 8),
    ("uniform", "cantilever"): (1 / 8, 1 / 2),
    ("point at the end", "cantilever"): (1 / 3, 1.0),
}
# Shear modulus of a wood whose own is not known, as a part of its modulus of elasticity: the
# Wood Handbook's E_L / 16, stated with eq. 9-9.
_SHEAR_PART = 1 / 16


@dataclass(frozen=True)
class Strip:
    """A rectangle of a beam's section.

    Attributes:
        width: b, mm, level.
        height: h, mm, upright.
        middle: height of its centre above any level common to the strips, mm.
        elasticity: modulus of elasticity along the beam, MPa.
    """

    width: float
    height: float
    middle: float
    elasticity: float


@dataclass(frozen=True)
class Stiffness:
    """What resists the load: E I in N mm2 and G A' in N."""

    bending: float
    shear: float


def stiffness(strips: Sequence[Strip]) -> Stiffness:
    """The stiffness of strips that are joined along their whole length and bend as one.

    E I about the common neutral axis (transformed section, textbook): the sum of E b h3 / 12 and
    E b h d2, d from the axis that goes through the centre of the E-weighted area. The strips'
    shear stiffnesses G 5 b h / 6 add up.
    """
    weight = [s.elasticity * s.width * s.height for s in strips]
    axis = sum(w * s.middle for w, s in zip(weight, strips, strict=True)) / sum(weight)
    bending = sum(
        w * (s.height**2 / 12 + (s.middle - axis) ** 2) for w, s in zip(weight, strips, strict=True)
    )
    return Stiffness(bending, sum(weight) * _SHEAR_PART * 5 / 6)


def deflection(
    load: float,
    span: float,
    beam: Stiffness,
    loading: Loading = "uniform",
    support: Support = "simply supported",
) -> float:
    """Largest deflection (mm): k_b W L3 / (E I) + k_s W L / (G A'), Wood Handbook eq. 9-2.

    Args:
        load: W, the whole load, N.
        span: L, mm.
        beam: stiffness of the section.
        loading: how the load lies.
        support: how the beam is held.

    Raises:
        KeyError: Table 9-1 has no such case.
    """
    bend, shear = CONSTANTS[loading, support]
    return bend * load * span**3 / beam.bending + shear * load * span / beam.shear


def longest_span(
    pressure: float, thickness: float, elasticity: float, limit: float = SHELF_LIMIT
) -> float:
    """The longest plain shelf (mm) that sags by no more than its length over `limit`.

    L = (384 E t3 / 12 / (5 limit q))^(1/3): bending alone, as the published spans have it; the
    depth of the shelf cancels.

    Args:
        pressure: q, N per mm2 of shelf.
        thickness: t, mm.
        elasticity: E, MPa.
        limit: span over deflection.
    """
    return math.cbrt(384 * elasticity * thickness**3 / 12 / (5 * limit * pressure))


def elasticity(stock: Stock) -> float | None:
    """Modulus of elasticity along a board of the stock (MPa); None where none is published."""
    if stock.kind == "sheet":
        psi = sheet_goods()[stock.material].elasticity_psi
    else:
        psi = species()[stock.material].elasticity_psi
    return None if psi is None else psi * MPA_PER_PSI


def pressure(kg_per_m2: float) -> float:
    """A mass spread over a shelf (kg/m2) as the pressure that it makes (MPa)."""
    return kg_per_m2 * GRAVITY / 1e6
