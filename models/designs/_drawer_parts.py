"""The boards of a drawer, in the frame of its box; see `drawer_box`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from pydantic import Field, model_validator

from ..maths.geometry import Pose
from ..piece.board import BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, BoardSide, Stock, Work
from ..piece.project import Hardware
from ..placing.shop import Keys, Shop
from ..recipe.fields import usual
from ..recipe.params import Length, LengthOrZero, Params, StockName
from ..words.lengths import Usual
from ..work.groove import Groove
from ..work.holes import Holes, Row
from ._looks import BEHIND, INNER, UP, hidden, on_edge

Shares = tuple[float, ...]
"""Rows of the holes for a false front's screws: shares of its height above the bottom."""

# Common practice, no source.
_SCREW_ROOM = 2.5  # mm, radius of the holes that let a false front be moved before it is screwed
_ONE_ROW = 70.0  # mm of height below which one row of such holes serves
_LEAST_HELD = 3.0  # mm of wood left behind a groove
_SLIT = 2.5  # mm of a box's front that may lie behind the reveal of its false front
_COLUMNS = (0.3, 0.7)  # of those holes, as shares of the front's length
_LEAST_INSIDE = 30.0  # mm of room in the box, each way


class FalseFront(Params):
    """The board that is seen, screwed to the box from inside."""

    stock: StockName = Field(description="label of the stock")
    fit: Literal["inset", "overlay"] = Field(
        "inset", description="inset: within the opening; overlay: in front of it"
    )
    reveal: LengthOrZero = usual(
        Usual(2, "1/16"), description="inset: gap to the opening, all round"
    )
    overlap: LengthOrZero = usual(
        Usual(10, "3/8"), description="overlay: how far it laps, all round"
    )


class DrawerParams(Params):
    """What a drawer is made of."""

    stock: StockName = Field(description="label of the stock for sides, front and back")
    bottom: StockName = Field(description="label of the stock for the bottom")
    bottom_up: Length = usual(
        Usual(10, "3/8"), description="from the lower edge to the bottom's underside"
    )
    groove: Length = usual(Usual(6, "1/4"), description="depth of the groove that holds the bottom")
    bottom_play: LengthOrZero = usual(
        Usual(1, "1/32"),
        description="between the bottom and the floor of its groove (common practice: 1 mm)",
    )
    front: FalseFront | None = Field(
        None, description="false front; without one the front's pockets are inside the box"
    )

    @model_validator(mode="after")
    def _held(self) -> DrawerParams:
        if self.bottom_play >= self.groove:
            raise ValueError("`bottom_play` is as much as the groove is deep: nothing would hold")
        return self


@dataclass(frozen=True)
class Front:
    """A false front as placed: its size, and its lower left corner seen from the box's (mm)."""

    stock: Stock
    width: float
    height: float
    left: float
    low: float


@dataclass(frozen=True)
class Box:
    """A drawer's sizes and stock, and its boards in the box's frame."""

    shop: Shop
    width: float
    depth: float
    height: float
    made: DrawerParams
    stock: Stock
    sheet: Stock
    front: Front | None
    at: Keys

    def side(self, role: str) -> Board:
        """A side, its top face inside; left and right are alike, turned about."""
        front, back, pose = LEFT, RIGHT, Pose((0.0, 0.0, 0.0), (0.0, 1.0, 0.0), UP)
        if role == "right side":
            front, back = RIGHT, LEFT
            pose = Pose((self.width, self.depth, 0.0), (0.0, -1.0, 0.0), UP)
        names = {**on_edge("inside", "outside"), front: "front end", back: "back end"}
        return self.shop.board(
            role,
            self.stock,
            self.depth,
            self.height,
            names=names,
            seen=INNER | {back: "semi-exposed"},
            work=(self._groove(TOP),),
            pose=pose,
        )

    @property
    def floor(self) -> float:
        """Height of the bottom's upper face (mm)."""
        return self.made.bottom_up + self.sheet.thickness

    def end(self, role: str, rows: Shares = ()) -> Board:
        """Front or back, its top face outside; `rows` of screw holes: none for the usual ones."""
        thick = self.stock.thickness
        seen = dict(INNER)
        work: list[Work] = [self._groove(BOTTOM)]
        pose = Pose((self.width - thick, self.depth - thick, 0.0), (-1.0, 0.0, 0.0), UP)
        if role == "front":
            pose = Pose((thick, thick, 0.0), (1.0, 0.0, 0.0), UP)
            seen[TOP] = "exposed" if self.front is None else "concealed"
            work += [] if self.front is None else [self._screw_holes(rows)]
        return self.shop.board(
            role,
            self.stock,
            self.width - 2 * thick,
            self.height,
            names=on_edge("outside", "inside"),
            seen=seen,
            work=work,
            pose=pose,
        )

    def bottom(self) -> Board:
        """The bottom, in the grooves of all four."""
        inset = self.stock.thickness - self.made.groove + self.made.bottom_play
        return self.shop.board(
            "bottom",
            self.sheet,
            self.width - 2 * inset,
            self.depth - 2 * inset,
            names={TOP: "inside", BOTTOM: "underside"},
            seen=INNER | BEHIND | hidden(FRONT),
            pose=Pose((inset, inset, self.made.bottom_up)),
        )

    def false_front(self, front: Front) -> Board:
        """The board that is seen."""
        size = (front.width, front.height)
        names = on_edge("front", "back")
        pose = Pose((front.left, 0.0, front.low), (1.0, 0.0, 0.0), UP)
        return self.shop.board(
            "false front", front.stock, *size, names=names, seen=hidden(BOTTOM), pose=pose
        )

    def false_front_screws(self, front: Front, count: int) -> Hardware:
        """What holds the false front, from inside through the box's front."""
        said, thick = self.shop.length, self.stock.thickness
        longest = thick + front.stock.thickness - self.shop.limits.tip_cover
        return Hardware(
            "screws with washers for false fronts",
            f"longer than {said(thick)}, at most {said(longest)}",
            count,
            self.shop.name,
        )

    def _groove(self, face: BoardSide) -> Groove:
        """The groove along a board's inside, as wide as the bottom is thick."""
        made, wide = self.made, self.sheet.thickness
        return Groove(edge=FRONT, face=face, distance=made.bottom_up, width=wide, depth=made.groove)

    def _screw_holes(self, rows: Shares) -> Holes:
        """Holes through the front for the screws of the false front, drilled from inside."""
        length, room = self.width - 2 * self.stock.thickness, self.height - self.floor
        first, last = _COLUMNS
        heights = [self.floor + room * row for row in rows or self._usual_rows]
        return Holes(
            name="screw hole",
            face=BOTTOM,
            rows=[Row(edge=FRONT, distance=height) for height in heights],
            first=first * length,
            count=2,
            pitch=(last - first) * length,
            diameter=2 * _SCREW_ROOM,
        )

    @property
    def _usual_rows(self) -> Shares:
        return (0.5,) if self.height < _ONE_ROW else (0.25, 0.75)

    def refuse_unsound(self) -> None:
        """Refuse sizes that make no drawer.

        Raises:
            RecipeError: which size, and what would do.
        """
        said, thick, made = self.shop.length, self.stock.thickness, self.made
        if made.groove > thick - _LEAST_HELD:
            raise self.shop.error(
                f"a groove {said(made.groove)} deep leaves too little of {said(thick)} stock; "
                f"make it at most {said(max(thick - _LEAST_HELD, 0.0))} deep",
                *self.at,
                "groove",
            )
        across = 2 * thick + 2 * _LEAST_INSIDE
        for way, size, least in (
            ("wide", self.width, across),
            ("deep", self.depth, across),
            ("high", self.height, made.bottom_up + self.sheet.thickness + _LEAST_INSIDE),
        ):
            if size < least:
                which = self.shop.inside.strip() or self.shop.name
                raise self.shop.error(
                    f"the box of {which} would be {said(size) if size > 0 else 'nothing'} {way}: "
                    f"at least {said(least)} make a drawer, so give it {said(least - size)} more",
                    *self.at,
                )
        front = self.front
        if front is None:
            return
        right, top = front.left + front.width, front.low + front.height
        bare = max(front.left, front.low, self.width - right, self.height - top)
        if bare > _SLIT:
            raise self.shop.error(
                f"the false front leaves {said(bare)} of the box's front in sight; give it less "
                "reveal or more overlap",
                *self.at,
                "front",
            )
