"""What one screw holds by published formulas: information with limits of use, never a promise.

Two books, two bases of specific gravity; they must not be mixed:

    Wood Handbook  ultimate loads of tests        oven-dry mass, volume at 12 % moisture content
    NDS            reference design values (ASD)  oven-dry mass, oven-dry volume

Design values here are the unadjusted reference values: normal duration, dry in service. Every
function says its units; N and mm for the handbook, pounds and inches for the NDS.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

N_PER_LBF = 4.4482216
MM_PER_INCH = 25.4
LEAST_PENETRATION = 6.0
"""In diameters, tip included: NDS-2018 12.1.5.6."""
FULL_PENETRATION = 10.0
"""In diameters; under it the lateral value shrinks: NDS-2018 Table 12L, footnote 3."""
TIP = 2.0
"""Length of the tapered tip in diameters: NDS-2018 Table L3, footnote 6."""
END_GRAIN_LATERAL = 0.67
"""C_eg for lateral loads on a screw in end grain: NDS-2018 12.5.2.2."""
END_GRAIN_WITHDRAWAL = 0.0
"""C_eg in withdrawal: wood screws are not to be loaded so, NDS-2018 12.2.2.3."""

Mode = Literal["Im", "Is", "II", "IIIm", "IIIs", "IV"]

# Wood Handbook (2021), Table 8-4, screws: greatest G of the group, K in N/mm2.
_LATERAL_K = {
    "hardwood": ((0.33, 0.47, 23.17), (0.47, 0.56, 31.99), (0.56, 0.74, 44.13)),
    "softwood": ((0.29, 0.42, 23.17), (0.42, 0.47, 29.79), (0.47, 0.52, 36.40)),
}
LATERAL_PENETRATION = 7.0
"""In diameters, of thread: Wood Handbook (2021), eq. 8-13."""


def thread_length(length: float) -> float:
    """Length of the thread of a wood screw, any unit: two thirds (NDS-2018 Table L3, fn. 2)."""
    return 2 * length / 3


def handbook_withdrawal(gravity_12: float, diameter: float, thread: float) -> float:
    """Ultimate withdrawal load (N) from side grain: 108.25 G^2 D L.

    Wood Handbook (2021), eq. 8-10, p. 8-10; for lead holes of about 70 % of the root diameter in
    softwoods and 90 % in hardwoods.

    Args:
        gravity_12: G on the 12 % basis.
        diameter: of the shank, mm.
        thread: thread in the wood, mm.
    """
    return 108.25 * gravity_12**2 * diameter * thread


def handbook_lateral(
    kind: Literal["hardwood", "softwood"], gravity_12: float, diameter: float
) -> float | None:
    """Lateral load at the proportional limit (N), side grain: K D^2; None outside the table.

    Wood Handbook (2021), eq. 8-13, p. 8-11, and Table 8-4; needs 7 D of thread in the wood.

    Args:
        kind: of wood.
        gravity_12: G on the 12 % basis.
        diameter: of the shank, mm.
    """
    for low, high, factor in _LATERAL_K[kind]:
        if low <= gravity_12 <= high:
            return factor * diameter**2
    return None


def design_withdrawal(gravity: float, diameter: float) -> float:
    """Reference withdrawal value W (lbf per inch of thread) in side grain: 2850 G^2 D.

    NDS-2018, eq. 12.2-2. For G from 0.31 to 0.73 and #6 to #24.

    Args:
        gravity: G, oven-dry mass over oven-dry volume.
        diameter: inches.
    """
    return 2850 * gravity**2 * diameter


def dowel_bearing(gravity: float) -> float:
    """Dowel bearing strength F_e (psi) for D < 1/4 in: 16600 G^1.84, to the nearest 50 as printed.

    NDS-2018 Table 12.3.3 (formula in footnote 2).
    """
    return 50.0 * round(16600 * math.pow(gravity, 1.84) / 50)


def bending_yield(diameter: float) -> float:
    """Bending yield strength F_yb (psi) of a wood screw by its diameter (inches): NDS Table I1.

    Raises:
        ValueError: a diameter that the table does not have.
    """
    for most, strength in ((0.142, 100e3), (0.177, 90e3), (0.236, 80e3), (0.273, 70e3)):
        if 0.099 <= diameter <= most:
            return strength
    raise ValueError(f"no bending yield strength is published for a diameter of {diameter} in")


def reduction(diameter: float) -> float:
    """R_d for all modes at D < 1/4 in, K_D: 2.2 up to 0.17 in, then 10 D + 0.5.

    NDS-2018 Table 12.3.1B; for a screw D is the root diameter (inches).
    """
    return 2.2 if diameter <= 0.17 else 10 * diameter + 0.5


@dataclass(frozen=True)
class Lateral:
    """A reference lateral value Z (lbf) and the yield mode that governs it."""

    value: float
    mode: Mode


def design_lateral(
    root: float, side: float, main: float, side_bearing: float, main_bearing: float, yield_: float
) -> Lateral:
    """Reference lateral value Z of one screw in single shear, the least of the six yield modes.

    NDS-2018 Table 12.3.1A. Full penetration (10 D) is taken for granted; see `penetration`.

    Args:
        root: D_r, thread root diameter, inches.
        side: l_s, bearing length in the side member, inches.
        main: l_m, bearing length in the main member, inches.
        side_bearing: F_es, psi.
        main_bearing: F_em, psi.
        yield_: F_yb, psi.
    """
    re, rt, rd = main_bearing / side_bearing, main / side, reduction(root)
    bend = 2 * yield_ * root**2 / (3 * main_bearing)
    k1 = math.sqrt(re + 2 * re**2 * (1 + rt + rt**2) + rt**2 * re**3) - re * (1 + rt)
    k1 /= 1 + re
    k2 = -1 + math.sqrt(2 * (1 + re) + bend * (1 + 2 * re) / main**2)
    k3 = -1 + math.sqrt(2 * (1 + re) / re + bend * (2 + re) / side**2)
    modes: dict[Mode, float] = {
        "Im": root * main * main_bearing / rd,
        "Is": root * side * side_bearing / rd,
        "II": k1 * root * side * side_bearing / rd,
        "IIIm": k2 * root * main * main_bearing / ((1 + 2 * re) * rd),
        "IIIs": k3 * root * side * main_bearing / ((2 + re) * rd),
        "IV": root**2 / rd * math.sqrt(2 * main_bearing * yield_ / (3 * (1 + re))),
    }
    governs = min(modes, key=lambda mode: modes[mode])
    return Lateral(modes[governs], governs)


def penetration(depth: float, diameter: float) -> float:
    """Factor on a lateral value for a depth in the main member, tip included: 0, p/10D or 1.

    NDS-2018 12.1.5.6 and Table 12L, footnote 3. Any unit, the same for both.
    """
    if depth < LEAST_PENETRATION * diameter * (1 - 1e-9):
        return 0.0
    return min(1.0, depth / (FULL_PENETRATION * diameter))
