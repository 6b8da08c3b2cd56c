r"""A drawer: a box whose bottom lies in a groove, and a false front that hides the pockets.

Seen from above                      A side, seen from inside the box
 _________________________            ____________________________
| |        back         | |          |                            |
| |_____________________| |          |                            |
| |                     | |          |____________________________|  groove for the bottom
| |       bottom        | |          |____________________________|
| |_____________________| |          |____________________________|  lower edge
| |        front        | |
|_|_____________________|_|      Front and back stand between the sides and are bored into them from
|________false front______|      their outside faces: a pull loads the screws across, not along.

Other designs build their drawers with `drawer` (into an opening) or `drawer_box` (by its size).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from pydantic import Field, model_validator

from ..board import (
    BACK,
    BOTTOM,
    FRONT,
    LEFT,
    RIGHT,
    TOP,
    Board,
    Cut,
    Hole,
    Seen,
    Side,
    Stock,
    cut,
)
from ..geometry import Pose, Vec
from ..joints import Meeting, join
from ..params import Length, LengthOrZero, Params, Size
from ..project import Hardware, Joint
from ..recipe import PieceParams
from ..shop import Piece, Shop
from . import Design

Keys = tuple[str | int, ...]
"""Where a drawer stands in its piece of the recipe, so that errors have a place."""

# Common practice, no source.
_SCREW_ROOM = 2.5  # mm, radius of the holes that let a false front be moved before it is screwed
_ONE_ROW = 70.0  # mm of height below which one row of such holes serves
_LEAST_HELD = 3.0  # mm of wood left behind a groove
_SLIT = 2.5  # mm of a box's front that may lie behind the reveal of its false front
_LEAST_INSIDE = 30.0  # mm of room in the box, each way


@dataclass(frozen=True)
class Clearance:
    """Air between a drawer's box and its opening (mm): on each side, below and above."""

    side: float
    below: float
    above: float


SIDE_SLIDES = Clearance(12.7, 6.0, 12.0)
"""For side-mounted slides: 12.7 mm (1/2 in) a side. Common practice, no source."""
WOODEN_RUNNERS = Clearance(1.5, 0.0, 3.0)
"""For a box that runs on wooden runners level with the opening. Common practice, no source."""
_RUNNERS = {"side slides": SIDE_SLIDES, "wooden runners": WOODEN_RUNNERS}


class FalseFront(Params):
    """The board that is seen, screwed to the box from inside."""

    stock: str = Field(description="label of the stock")
    fit: Literal["inset", "overlay"] = Field(
        "inset", description="inset: within the opening; overlay: in front of it"
    )
    reveal: LengthOrZero = Field(2.0, description="inset: gap to the opening, all round")
    overlap: LengthOrZero = Field(10.0, description="overlay: how far it laps, all round")


class DrawerParams(Params):
    """What a drawer is made of."""

    stock: str = Field(description="label of the stock for sides, front and back")
    bottom: str = Field(description="label of the stock for the bottom")
    bottom_up: Length = Field(10.0, description="from the lower edge to the bottom's underside")
    groove: Length = Field(6.0, description="depth of the groove that holds the bottom")
    bottom_play: LengthOrZero = Field(
        1.0, description="between the bottom and the floor of its groove (common practice: 1 mm)"
    )
    front: FalseFront | None = Field(
        None, description="false front; without one the front's pockets are inside the box"
    )

    @model_validator(mode="after")
    def _held(self) -> DrawerParams:
        if self.bottom_play >= self.groove:
            raise ValueError("`bottom_play` is as much as the groove is deep: nothing would hold")
        return self


class DrawerBox(DrawerParams, PieceParams):
    """A drawer with a false front, made to run in an opening."""

    opening: Size = Field(description="opening that the drawer runs in, width x height")
    depth: Length = Field(description="of the box, front to back, false front not counted")
    runner: Literal["side slides", "wooden runners"] = Field(
        "side slides", description="what the drawer runs on; decides the clearances"
    )


@dataclass(frozen=True)
class Front:
    """A false front as placed: its size, and its lower left corner seen from the box's (mm)."""

    stock: Stock
    width: float
    height: float
    left: float
    low: float


def drawer(
    shop: Shop,
    opening: tuple[float, float],
    depth: float,
    clearance: Clearance,
    made: DrawerParams,
    at: Keys = (),
) -> Piece:
    """A drawer in its opening.

    Args:
        shop: view of the part ("drawer 1").
        opening: width and height (mm).
        depth: of the box, front to back (mm).
        clearance: between box and opening.
        made: what it is made of.
        at: keys of `made` in the piece.

    Returns:
        The drawer in the opening's frame: the lower left corner of the opening, on the plane of
        its front, is the origin. An inset false front lies in the opening, an overlay in front.

    Raises:
        RecipeError: sizes that make no drawer, at their place.
    """
    width = opening[0] - 2 * clearance.side
    height = opening[1] - clearance.below - clearance.above
    if made.front is None:
        box = drawer_box(shop, width, depth, height, made, None, at)
        return box.placed(Pose((clearance.side, 0.0, clearance.below)))
    stock = shop.stock(made.front.stock, *at, "front", "stock")
    inset = made.front.fit == "inset"
    beyond = -made.front.reveal if inset else made.front.overlap
    if min(opening) + 2 * beyond <= 0:
        raise shop.error("the reveal leaves nothing of the false front", *at, "front", "reveal")
    front = Front(
        stock,
        opening[0] + 2 * beyond,
        opening[1] + 2 * beyond,
        -clearance.side - beyond,
        -clearance.below - beyond,
    )
    box = drawer_box(shop, width, depth, height, made, front, at)
    back = stock.thickness if inset else 0.0
    return box.placed(Pose((clearance.side, back, clearance.below)))


def drawer_box(
    shop: Shop,
    width: float,
    depth: float,
    height: float,
    made: DrawerParams,
    front: Front | None = None,
    at: Keys = (),
) -> Piece:
    """A drawer by the size of its box.

    Args:
        shop: view of the part.
        width: outside (mm).
        depth: outside, false front not counted (mm).
        height: of sides, front and back (mm).
        made: what it is made of.
        front: the false front; one that does not cover the whole front of the box is refused.
        at: keys of `made` in the piece.

    Returns:
        The drawer in the box's frame: its front left lower corner is the origin, the false front
        lies before it (y < 0).

    Raises:
        RecipeError: sizes that make no drawer, at their place.
    """
    stock = shop.stock(made.stock, *at, "stock")
    sheet = shop.stock(made.bottom, *at, "bottom")
    box = _Box(shop, width, depth, height, made, stock, sheet, front, at)
    box.refuse_unsound()
    sides = (box.side("left side"), box.side("right side"))
    ends = (box.end("front"), box.end("back"))
    boards = [*sides, *ends]
    # The front's pockets are inside the box where nothing hides them, or where no head would sink
    # below the false front. Front and back take the same screws.
    sinks = shop.fastenings(stock.thickness, stock, stock.thickness, sunk=True)
    inside = front is None or not sinks
    meetings = []
    for board, role, faces in zip(ends, ("front", "back"), _CORNERS, strict=True):
        pocket = BOTTOM if role == "front" and inside else TOP
        exit_depth = shop.flush_exit(stock.thickness, stock) if pocket == BOTTOM else None
        for side, hand, face in zip(sides, ("left", "right"), faces, strict=True):
            name = shop.label(f"{role} to {hand} side")
            meetings.append(
                Meeting(
                    name,
                    "box",
                    board,
                    face,
                    pocket,
                    side,
                    TOP,
                    exit_depth=exit_depth,
                    sunk=not inside,
                )
            )
    joints, findings = join(shop, meetings)
    bottom = box.bottom()
    inner = (TOP, TOP, BOTTOM, BOTTOM)
    for board, edge, face in zip(boards, (LEFT, RIGHT, FRONT, BACK), inner, strict=True):
        name = f"bottom in {board.name.removeprefix(shop.label(''))}"
        joints.append(Joint(shop.label(name), "housed", bottom.name, edge, board.name, face))
    boards.append(bottom)
    hardware: tuple[Hardware, ...] = ()
    if front is not None:
        shown = box.false_front(front)
        boards.append(shown)
        name = shop.label("false front to front")
        joints.append(Joint(name, "butt", shown.name, BOTTOM, ends[0].name, TOP))
        hardware = (box.false_front_screws(front, len(ends[0].holes)),)
    return Piece(tuple(boards), tuple(joints), hardware, tuple(findings))


# The ends of front and back that meet the left and the right side.
_CORNERS = ((LEFT, RIGHT), (RIGHT, LEFT))
_UPRIGHT: Vec = (0.0, 0.0, 1.0)
_SEEN: dict[Side, Seen] = {
    TOP: "concealed",
    BOTTOM: "concealed",
    FRONT: "concealed",
    BACK: "concealed",
    LEFT: "hidden",
    RIGHT: "hidden",
}


@dataclass(frozen=True)
class _Box:
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
        left = role == "left side"
        ends = (LEFT, RIGHT) if left else (RIGHT, LEFT)
        pose = (
            Pose((0.0, 0.0, 0.0), (0.0, 1.0, 0.0), _UPRIGHT)
            if left
            else Pose((self.width, self.depth, 0.0), (0.0, -1.0, 0.0), _UPRIGHT)
        )
        return self.shop.board(
            role,
            self.stock,
            self.depth,
            self.height,
            names={**_names("inside", "outside"), ends[0]: "front end", ends[1]: "back end"},
            seen={**_SEEN, ends[1]: "concealed"},
            cuts=(self._groove(self.stock.thickness - self.made.groove, -1.0),),
            pose=pose,
        )

    def end(self, role: str) -> Board:
        """Front or back, its top face outside."""
        thick, front = self.stock.thickness, role == "front"
        seen = dict(_SEEN)
        if front:
            seen[TOP] = "show" if self.front is None else "hidden"
        pose = (
            Pose((thick, thick, 0.0), (1.0, 0.0, 0.0), _UPRIGHT)
            if front
            else Pose((self.width - thick, self.depth - thick, 0.0), (-1.0, 0.0, 0.0), _UPRIGHT)
        )
        return self.shop.board(
            role,
            self.stock,
            self.width - 2 * thick,
            self.height,
            names=_names("outside", "inside"),
            seen=seen,
            cuts=(self._groove(self.made.groove, 1.0),),
            holes=self._screw_holes() if front and self.front is not None else (),
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
            seen={**_SEEN, FRONT: "hidden", BACK: "hidden"},
            pose=Pose((inset, inset, self.made.bottom_up)),
        )

    def false_front(self, front: Front) -> Board:
        """The board that is seen."""
        return self.shop.board(
            "false front",
            front.stock,
            front.width,
            front.height,
            names=_names("front", "back"),
            seen={BOTTOM: "hidden"},
            pose=Pose((front.left, 0.0, front.low), (1.0, 0.0, 0.0), _UPRIGHT),
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

    def _groove(self, floor: float, outward: float) -> Cut:
        """The groove along a board, as wide as the bottom is thick.

        Args:
            floor: z of its floor in the board's frame (mm).
            outward: z of the floor's normal out of the groove, 1 or -1.
        """
        low = self.made.bottom_up
        planes: dict[str, tuple[Vec, float]] = {
            "floor": ((0.0, 0.0, outward), outward * floor),
            "lower wall": ((0.0, -1.0, 0.0), -low),
            "upper wall": ((0.0, 1.0, 0.0), low + self.sheet.thickness),
        }
        return cut("groove", "groove", planes)

    def _screw_holes(self) -> tuple[Hole, ...]:
        """Holes through the front for the screws of the false front, drilled from inside."""
        low = self.made.bottom_up + self.sheet.thickness
        length, room = self.width - 2 * self.stock.thickness, self.height - low
        rows = (0.5,) if self.height < _ONE_ROW else (0.25, 0.75)
        mouths = [(length * x, low + room * y, 0.0) for y in rows for x in (0.3, 0.7)]
        return tuple(
            Hole(f"screw hole {i}", mouth, _UPRIGHT, _SCREW_ROOM, self.stock.thickness)
            for i, mouth in enumerate(mouths, 1)
        )

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


def _names(top: str, bottom: str) -> dict[Side, str]:
    return {TOP: top, BOTTOM: bottom, FRONT: "lower edge", BACK: "upper edge"}


# --- the drawer alone ----------------------------------------------------------------------------


def slides(shop: Shop, depth: float, clearance: Clearance) -> Hardware:
    """A pair of side-mounted slides for a box."""
    step = 50.8 if shop.recipe.unit == "inch" else 50.0
    length = max(step, math.floor(depth / step + 1e-9) * step)
    return Hardware(
        "drawer slides, pair",
        f"side-mounted, {shop.length(length)} long, {shop.length(clearance.side)} a side",
        1,
        shop.name,
    )


def plan(params: DrawerBox, shop: Shop) -> Piece:
    """A drawer alone, standing on the lowest of its edges.

    Raises:
        RecipeError: sizes that make no drawer, at their place.
    """
    clearance = _RUNNERS[params.runner]
    piece = drawer(shop, params.opening, params.depth, clearance, params)
    if params.runner == "side slides":
        piece += Piece((), (), (slides(shop, params.depth, clearance),))
    low = [
        min(board.pose.point(far)[axis] for board in piece.boards for far in _far_corners(board))
        for axis in range(3)
    ]
    return piece.placed(Pose((-low[0], -low[1], -low[2])))


def _far_corners(board: Board) -> tuple[Vec, Vec]:
    return (0.0, 0.0, 0.0), (board.length, board.width, board.thickness)


STARTER = """\
# A drawer: plywood box with its bottom in a groove, false front that hides the pockets.
# Change `opening` first: the hole that the drawer runs in, width x height.
name: my drawer
units: mm

stock:
  box: {sheet: birch-ply-15}
  bottom: {sheet: plywood-1-4}
  front: {wood: hard-maple, thickness: 19}

build:
  - design: drawer-box
    name: drawer
    stock: box
    bottom: bottom
    opening: 420 x 160
    depth: 450
    runner: side slides       # or wooden runners
    front: {stock: front, fit: overlay, overlap: 10}   # or fit: inset with a reveal
"""

DESIGN = Design(
    "drawer-box",
    "A drawer: box with its bottom in a groove, false front, clearances for slides or runners.",
    DrawerBox,
    plan,
    STARTER,
)
