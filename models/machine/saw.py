"""How wood is bought and sawn, and the paper that the plans of it are printed on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from ..words.lengths import Unit

PaperSize = Literal["letter", "a4"]
_FOOT, _METRE = 304.8, 1000.0
SOLD: Mapping[Unit, tuple[float, ...]] = {
    "inch": (8 * _FOOT, 10 * _FOOT, 12 * _FOOT),
    "mm": (2.4 * _METRE, 3.0 * _METRE, 3.6 * _METRE),
}
"""The lengths of boards that yards stock most, mm: common practice, no source."""


@dataclass(frozen=True)
class Cutting:
    """Lengths in mm; what is not stated is common practice, no source.

    Attributes:
        kerf: width of the saw's cut.
        end_trim: off each end of a board, for checks and snipe.
        sheet_trim: off every edge of a sheet, before the first part.
        board_lengths: that boards are sold in.
        waste: share of solid wood that is bought beyond what the parts take, 0 to 1.
        paper: printed on.
    """

    kerf: float = 3.2
    end_trim: float = 25.0
    sheet_trim: float = 6.0
    board_lengths: tuple[float, ...] = SOLD["mm"]
    waste: float = 0.2
    paper: PaperSize = "a4"
