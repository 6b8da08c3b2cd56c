"""The `cutting` section of a recipe: how wood is bought and sawn, and on what paper plans stand."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from ..machine.saw import SOLD, Cutting, PaperSize
from ..wood.tables import sheet_goods
from ..words.lengths import Unit, Usual
from .fields import usual
from .params import Length, LengthOrZero, Params, Percent

_USUAL = Cutting()
_WIDEST = 25.4  # mm of kerf: no saw of a shop cuts wider


class CuttingParams(Params):
    """Saw, boards on sale and paper, for the cutting plans; common practice where not stated."""

    kerf: LengthOrZero = usual(Usual(_USUAL.kerf, "1/8"), description="width of the saw's cut")
    end_trim: LengthOrZero = usual(
        Usual(_USUAL.end_trim, "1"), description="off each end of a board, for checks and snipe"
    )
    sheet_trim: LengthOrZero = usual(
        Usual(_USUAL.sheet_trim, "1/4"),
        description="off every edge of a sheet, before the first part",
    )
    board_lengths: Annotated[list[Length], Field(min_length=1, max_length=12)] | None = Field(
        None, description="lengths that boards are sold in; without it those that are stocked most"
    )
    waste: Percent = Field(
        100 * _USUAL.waste, description="percent of solid wood to buy beyond what the parts take"
    )
    paper: PaperSize | None = Field(
        None, description="of the bench papers; without it letter for inch and a4 for mm"
    )

    @model_validator(mode="after")
    def _leaves_wood(self) -> CuttingParams:
        if self.kerf > _WIDEST:
            raise ValueError("kerf: no saw of a workshop cuts as wide as that")
        if self.board_lengths and 2 * self.end_trim >= min(self.board_lengths):
            raise ValueError("end_trim: taken off both ends, it leaves nothing of a board on sale")
        least = min(side for sheet in sheet_goods().values() for side in sheet.sheet)
        if 2 * self.sheet_trim >= least:
            raise ValueError("sheet_trim: taken off every edge, it leaves nothing of a sheet")
        return self


def cutting_of(given: CuttingParams, unit: Unit) -> Cutting:
    """How wood is bought and sawn, for a recipe in some unit."""
    lengths = tuple(sorted(set(given.board_lengths or SOLD[unit])))
    paper = given.paper or ("letter" if unit == "inch" else "a4")
    return Cutting(given.kerf, given.end_trim, given.sheet_trim, lengths, given.waste / 100, paper)
