"""What a recipe says of a case."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from ..recipe.fields import usual
from ..recipe.params import Count, Length, Params, Size, StockName
from ..recipe.stated import PieceParams
from ..words.lengths import Usual
from ._drawer_parts import DrawerParams
from .face_frame import FrameParams, Share


class ToeKick(Params):
    """The step at the front of the floor."""

    height: Length = usual(Usual(100, "4"), description="from the floor to the bottom's underside")
    setback: Length = usual(
        Usual(70, "2-3/4"), description="from the front of the case to the kick board"
    )
    made: Literal["notched sides", "separate base"] = Field(
        "notched sides", description="sides notched around it, or a frame that the case stands on"
    )


class CaseBack(Params):
    """The panel that closes the back."""

    stock: StockName = Field(description="label of the stock")
    fit: Literal["rebate", "planted"] = Field(
        "rebate", description="in a rebate of the sides, or planted on their back edges"
    )
    rebate: Length | None = Field(
        None, description="how far it reaches into the sides; default: half their thickness"
    )


class Adjustable(Params):
    """Shelves on pins in rows of holes."""

    shelves: Count = Field(1, description="number of shelves")
    stock: StockName | None = Field(None, description="label of the stock; default: the case's")


class CaseDrawers(DrawerParams):
    """Drawers on side-mounted slides, from the top down."""

    heights: tuple[Share, ...] | None = Field(
        None,
        min_length=1,
        description="of their openings, each a length or rest; for a case without a face frame",
    )
    count: Count | None = Field(
        None, description="how many openings of the face frame hold drawers, from the top"
    )


class Case(PieceParams):
    """A case of sheet goods between two sides."""

    stock: StockName = Field(
        description="label of the stock for sides, bottom, stretchers and shelves"
    )
    size: Size = Field(description="outside, width x height, toe kick counted, face frame not")
    depth: Length = Field(description="outside, back counted, face frame not")
    toe_kick: ToeKick | None = Field(None, description="step at the front of the floor")
    top: Literal["stretchers", "panel"] = Field(
        "stretchers", description="two stretchers under a worktop, or a closed top"
    )
    stretcher: Length = usual(Usual(100, "4"), description="width of the stretchers")
    hanging_rail: Length | None = Field(
        None, description="width of a rail under the top at the back, for screws into the wall"
    )
    back: CaseBack | None = Field(None, description="panel that closes the back")
    shelves: tuple[Length, ...] = Field(
        (), description="fixed shelves: from the bottom's upper face to each underside"
    )
    adjustable: Adjustable | None = Field(None, description="shelves on pins")
    face_frame: FrameParams | None = Field(None, description="frame on the front edges")
    drawers: CaseDrawers | None = Field(None, description="drawers on side-mounted slides")

    @model_validator(mode="after")
    def _whole(self) -> Case:
        drawers = self.drawers
        if drawers is None:
            return self
        if self.face_frame is None and (drawers.heights is None or drawers.count is not None):
            raise ValueError("drawers of a case without a face frame take `heights`, no `count`")
        if self.face_frame is not None and (drawers.count is None or drawers.heights is not None):
            raise ValueError("drawers behind a face frame take `count`, no `heights`")
        return self
