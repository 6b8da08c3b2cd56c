r"""A case of sheet goods: base cabinet, wall cabinet, tall cupboard or bookcase, by its sizes.

 Seen from the front                        A side from within, toe kick by notch
 ___________________________                 ____________________________
|  |_____ stretchers _____|  |              |____|                  |____|  stretchers
|  |                      |  |              | .                       .  |
|  |                      |  |              | .   pin rows, 32 mm     .  |
|  |____ fixed shelf _____|  |              |____________________________|  fixed shelf
|  |                      |  |              | .                       .  |
|  |______________________|  |              |____________________________|
|__|_______bottom_________|__|              |_______ bottom _____________|
|  |      toe kick        |  |                  |                        |
|__|______________________|__|                  |________________________|

Bottom, shelves and stretchers stand between the sides and are bored into them: bottom and shelves
from their undersides, stretchers and top from their upper faces. The base of a wall cabinet is its
bottom: leave the toe kick out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal

from pydantic import Field, model_validator

from ..board import (
    BACK,
    BOTTOM,
    FRONT,
    LEFT,
    RIGHT,
    SIDES,
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
from ..params import Count, Length, Params, Size
from ..project import Hardware, Joint
from ..recipe import PieceParams
from ..shop import Piece, Shop
from . import Design
from .drawer_box import SIDE_SLIDES, DrawerParams, Front, drawer, drawer_box, slides
from .face_frame import FrameParams, Share, face_frame, grid, shared

# Common practice, no source.
PIN_PITCH = 32.0  # mm between the holes of a row of shelf pins
PIN_RADIUS = 2.5  # mm
_PIN_DEPTH = 11.0  # mm
_PIN_SKIN = 4.0  # mm of wood at least behind a pin
_PIN_INSET = 37.0  # mm from the front and the back of the case to a row
_PIN_ROOM = 64.0  # mm that rows keep from bottom, top and fixed shelves
_SHELF_PLAY = 1.0  # mm at each end of an adjustable shelf
_SHELF_BACK = 3.0  # mm from an adjustable shelf's front edge to the case's
_BEHIND_DRAWER = 10.0  # mm of air
_LEAST_INSIDE = 60.0  # mm each way: a hand and a driver
_UP: Vec = (0.0, 0.0, 1.0)
_COVERED: dict[Side, Seen] = {side: "hidden" for side in SIDES if side != TOP}


class ToeKick(Params):
    """The step at the front of the floor."""

    height: Length = Field(100.0, description="from the floor to the bottom's underside")
    setback: Length = Field(70.0, description="from the front of the case to the kick board")
    made: Literal["notched sides", "separate base"] = Field(
        "notched sides", description="sides notched around it, or a frame that the case stands on"
    )


class CaseBack(Params):
    """The panel that closes the back."""

    stock: str = Field(description="label of the stock")
    fit: Literal["rebate", "planted"] = Field(
        "rebate", description="in a rebate of the sides, or planted on their back edges"
    )
    rebate: Length | None = Field(
        None, description="how far it reaches into the sides; default: half their thickness"
    )


class Adjustable(Params):
    """Shelves on pins in rows of holes."""

    shelves: Count = Field(1, description="number of shelves")
    stock: str | None = Field(None, description="label of the stock; default: the case's")


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

    stock: str = Field(description="label of the stock for sides, bottom, stretchers and shelves")
    size: Size = Field(description="outside, width x height, toe kick counted, face frame not")
    depth: Length = Field(description="outside, back counted, face frame not")
    toe_kick: ToeKick | None = Field(None, description="step at the front of the floor")
    top: Literal["stretchers", "panel"] = Field(
        "stretchers", description="two stretchers under a worktop, or a closed top"
    )
    stretcher: Length = Field(100.0, description="width of the stretchers")
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


@dataclass(frozen=True)
class _Case:
    """A case's boards in its own frame, from its sizes."""

    shop: Shop
    params: Case
    stock: Stock
    sheet: Stock | None

    @property
    def thick(self) -> float:
        """Of the sides and what stands between them, mm."""
        return self.stock.thickness

    @property
    def width(self) -> float:
        """Outside, mm."""
        return self.params.size[0]

    @property
    def height(self) -> float:
        """From the floor, mm."""
        return self.params.size[1]

    @property
    def inside(self) -> float:
        """Width between the sides, mm."""
        return self.width - 2 * self.thick

    @property
    def deep(self) -> float:
        """From the front to the back panel, mm."""
        return self.params.depth - (self.sheet.thickness if self.sheet else 0.0)

    @property
    def kick(self) -> float:
        """Height of the toe kick, mm."""
        return self.params.toe_kick.height if self.params.toe_kick else 0.0

    @property
    def based(self) -> bool:
        """Whether the case stands on a base of its own."""
        return self.params.toe_kick is not None and self.params.toe_kick.made == "separate base"

    @property
    def notched(self) -> bool:
        """Whether the sides are notched around the toe kick."""
        return self.params.toe_kick is not None and not self.based

    @property
    def low(self) -> float:
        """The bottom's upper face, mm from the floor."""
        return self.kick + self.thick

    @property
    def high(self) -> float:
        """The underside of stretchers or top, mm from the floor."""
        return self.height - self.thick

    @property
    def rebate(self) -> float:
        """How far the back reaches into the sides, mm."""
        back = self.params.back
        if back is None or back.fit == "planted":
            return 0.0
        return self.thick / 2 if back.rebate is None else back.rebate

    @property
    def foot(self) -> float:
        """Where the sides begin, mm from the floor."""
        return self.kick if self.based else 0.0

    # --- boards ----------------------------------------------------------------------------

    def side(self, hand: str, holes: list[tuple[float, float]]) -> Board:
        """A side; its grain runs up, its front edge is the board's back edge.

        Args:
            hand: left or right.
            holes: places of pin holes, from the front and from the floor (mm).
        """
        left = hand == "left"
        thick, foot = self.thick, self.foot
        width = self.params.depth if self.rebate else self.deep
        inner, outer = (BOTTOM, TOP) if left else (TOP, BOTTOM)
        skin, way = (0.0, 1.0) if left else (thick, -1.0)
        cuts: list[Cut] = []
        kick = self.params.toe_kick
        if kick is not None and self.notched:
            planes: dict[str, tuple[Vec, float]] = {
                "upper wall": ((1.0, 0.0, 0.0), kick.height),
                "back wall": ((0.0, 1.0, 0.0), kick.setback),
            }
            cuts.append(cut("notch", "toe kick notch", planes))
        if self.rebate:
            planes = {
                "wall": ((0.0, -1.0, 0.0), -self.deep),
                "floor": ((0.0, 0.0, way), skin * way + self.rebate),
            }
            cuts.append(cut("rebate", "rebate", planes))
        depth = min(_PIN_DEPTH, thick - _PIN_SKIN)
        return self.shop.board(
            f"{hand} side",
            self.stock,
            self.height - foot,
            width,
            names={
                inner: "inside",
                outer: "outside",
                FRONT: "front edge",
                BACK: "back edge",
                LEFT: "lower end",
                RIGHT: "upper end",
            },
            seen={BACK: "hidden", LEFT: "hidden", RIGHT: "hidden"},
            cuts=tuple(cuts),
            holes=tuple(
                Hole(f"pin hole {i}", (z - foot, y, skin), (0.0, 0.0, way), PIN_RADIUS, depth)
                for i, (y, z) in enumerate(holes, 1)
            ),
            pose=Pose((thick if left else self.width, 0.0, foot), _UP, (0.0, 1.0, 0.0)),
            hand=hand,
        )

    def across(
        self,
        role: str,
        low: float,
        *,
        front: float = 0.0,
        width: float | None = None,
        seen: dict[Side, Seen] | None = None,
    ) -> Board:
        """A board lying between the sides, its underside at `low` (mm from the floor)."""
        return self.shop.board(
            role,
            self.stock,
            self.inside,
            self.deep - front if width is None else width,
            names={TOP: "upper face", BOTTOM: "underside", FRONT: "front edge", BACK: "back edge"},
            seen={BACK: "hidden", LEFT: "hidden", RIGHT: "hidden", **(seen or {})},
            pose=Pose((self.thick, front, low)),
        )

    def roofs(self) -> list[Board]:
        """The stretchers, or the top."""
        seen: dict[Side, Seen] = {TOP: "hidden"}
        if self.params.top == "panel":
            return [self.across("top", self.high, seen=seen)]
        wide = self.params.stretcher
        rear = self.deep - wide
        seen[BACK] = "concealed"
        return [
            self.across("front stretcher", self.high, width=wide, seen=seen),
            self.across("back stretcher", self.high, front=rear, width=wide, seen=seen),
        ]

    def upright(self, role: str, length: float, x: float, y: float, turned: bool) -> Board:
        """A board of the toe kick, standing on the floor, its top face outside.

        Args:
            role: of the board.
            length: mm.
            x: where its inside face begins, seen along the board.
            y: of its inside face.
            turned: about, to face the back.
        """
        pose = Pose((x, y, 0.0), (-1.0 if turned else 1.0, 0.0, 0.0), _UP)
        return self.shop.board(
            role,
            self.stock,
            length,
            self.kick,
            names={TOP: "outside", BOTTOM: "inside", FRONT: "lower edge", BACK: "upper edge"},
            seen={**_COVERED, TOP: "hidden" if turned else "show"},
            pose=pose,
        )

    def base_end(self, hand: str, front: float) -> Board:
        """An end of the separate base, between its front and back; its top face is inside."""
        length = self.deep - front - 2 * self.thick
        left = hand == "left"
        y = front + self.thick + (0.0 if left else length)
        pose = Pose((0.0 if left else self.width, y, 0.0), (0.0, 1.0 if left else -1.0, 0.0), _UP)
        return self.shop.board(
            f"base {hand} end",
            self.stock,
            length,
            self.kick,
            names={TOP: "inside", BOTTOM: "outside", FRONT: "lower edge", BACK: "upper edge"},
            seen={**_COVERED, BOTTOM: "show", TOP: "hidden"},
            pose=pose,
        )

    def back(self, sheet: Stock) -> Board:
        """The back panel, its grain up, its top face inside."""
        left = self.thick - self.rebate if self.rebate else 0.0
        return self.shop.board(
            "back",
            sheet,
            self.height - self.kick,
            self.width - 2 * left,
            names={TOP: "inside", BOTTOM: "outside", LEFT: "lower end", RIGHT: "upper end"},
            seen=_COVERED,
            pose=Pose((self.width - left, self.params.depth, self.kick), _UP, (-1.0, 0.0, 0.0)),
        )

    # --- pin rows and shelves ----------------------------------------------------------------

    @cached_property
    def levels(self) -> list[float]:
        """Heights of the undersides of the fixed shelves, from the floor and from below (mm)."""
        return sorted(self.low + height for height in self.params.shelves)

    def rows(self, top: float) -> list[float]:
        """Heights of pin holes from the floor (mm), below `top`, on one pitch from the bottom."""
        found, z = [], self.low + _PIN_ROOM
        blocked = [(level - _PIN_ROOM, level + self.thick + _PIN_ROOM) for level in self.levels]
        while z <= top - _PIN_ROOM + 1e-9:
            if not any(low < z < high for low, high in blocked):
                found.append(z)
            z += PIN_PITCH
        return found

    def pin_holes(self, heights: list[float]) -> list[tuple[float, float]]:
        """Places of the holes in a side: from the front and from the floor (mm)."""
        return [(y, z) for y in (_PIN_INSET, self.deep - _PIN_INSET) for z in heights]

    def adjustable(self, made: Adjustable, heights: list[float]) -> Iterator[Board]:
        """Shelves on pins, shared out evenly over the rows.

        Raises:
            RecipeError: there are not as many places.
        """
        stock = (
            self.stock if made.stock is None else self.shop.stock(made.stock, *_ON_PINS, "stock")
        )
        least = stock.thickness + PIN_PITCH
        places: list[float] = []
        for k in range(made.shelves):
            free = [z for z in heights if all(abs(z - p) >= least for p in places)]
            if not free:
                raise self.shop.error(
                    f"the pin rows have places for {k} shelves, not for {made.shelves}; a row "
                    f"keeps {self.shop.length(_PIN_ROOM)} from bottom, top and fixed shelves",
                    *_ON_PINS,
                    "shelves",
                )
            wish = heights[0] + (heights[-1] - heights[0]) * (k + 1) / (made.shelves + 1)
            places.append(min(free, key=lambda z: (abs(z - wish), z)))
        for i, z in enumerate(sorted(places), 1):
            yield self.shop.board(
                f"adjustable shelf {i}" if made.shelves > 1 else "adjustable shelf",
                stock,
                self.inside - 2 * _SHELF_PLAY,
                self.deep - _SHELF_BACK,
                names={TOP: "upper face", BOTTOM: "underside"},
                seen={BACK: "hidden", LEFT: "hidden", RIGHT: "hidden"},
                pose=Pose((self.thick + _SHELF_PLAY, _SHELF_BACK, z + PIN_RADIUS)),
            )


_ON_PINS = ("adjustable",)


def plan(params: Case, shop: Shop) -> Piece:
    """Boards, joints and drawers of a case.

    Raises:
        RecipeError: sizes that make no case, at their place.
    """
    stock = shop.stock(params.stock, "stock")
    sheet = shop.stock(params.back.stock, "back", "stock") if params.back else None
    case = _Case(shop, params, stock, sheet)
    _refuse(case)
    drawers, top = _drawers(case)
    heights = case.rows(top) if params.adjustable else []
    holes = case.pin_holes(heights)
    sides = (case.side("left", holes), case.side("right", holes))
    bottom = case.across(
        "bottom", case.kick, seen={BOTTOM: "hidden" if params.toe_kick else "concealed"}
    )
    shelves = [
        case.across(f"shelf {i}" if len(case.levels) > 1 else "shelf", level, seen=_UNDER)
        for i, level in enumerate(case.levels, 1)
    ]
    roofs = case.roofs()
    step, meetings, glued = _toe_kick(case, sides, bottom)
    # The pockets of the bottom keep clear of what stands under it.
    spread = [
        _between(shop, bottom, sides, "box", BOTTOM, pairs=True, avoid=_stretches(case, step)),
        *(_between(shop, shelf, sides, "box", BOTTOM, pairs=False) for shelf in shelves),
        *(_between(shop, roof, sides, "right-angle", TOP, pairs=False) for roof in roofs),
    ]
    joints, findings = join(shop, [*(m for pair in spread for m in pair), *meetings])
    boards = [*sides, bottom, *shelves, *roofs, *step]
    if sheet is not None:
        back = case.back(sheet)
        boards.append(back)
        glued += [(back, TOP, board, BACK) for board in (bottom, roofs[-1], *shelves)]
        if not case.rebate:
            glued += [(back, TOP, side, BACK) for side in sides]
    hardware: tuple[Hardware, ...] = ()
    if params.adjustable is not None:
        boards += case.adjustable(params.adjustable, heights)
        count = 4 * params.adjustable.shelves
        size = f"for {shop.length(2 * PIN_RADIUS)} holes"
        hardware = (Hardware("shelf pins", size, count, shop.name),)
    piece = Piece(tuple(boards), tuple(joints), hardware, tuple(findings))
    if params.face_frame is not None:
        frame, more = _framed(case, params.face_frame, sides, bottom)
        piece += frame
        glued += more
    return piece + Piece((), tuple(_glued(shop, *pair) for pair in glued)) + drawers


_Pair = tuple[Board, Side, Board, Side]
_UNDER: dict[Side, Seen] = {BOTTOM: "concealed"}


def _glued(shop: Shop, first: Board, face: Side, second: Board, other: Side) -> Joint:
    """Two faces that are glued or pinned, without pockets."""
    short = second.name.removeprefix(shop.label(""))
    return Joint(f"{first.name} to {short}", "butt", first.name, face, second.name, other)


def _between(
    shop: Shop,
    board: Board,
    sides: tuple[Board, Board],
    kind: Literal["box", "right-angle"],
    pocket: Side,
    *,
    pairs: bool,
    avoid: tuple[tuple[float, float], ...] = (),
) -> list[Meeting]:
    """Both ends of a board at the insides of the sides."""
    return [
        Meeting(
            f"{board.name} to {hand} side",
            kind,
            board,
            end,
            pocket,
            side,
            inner,
            pairs=pairs,
            avoid=avoid,
        )
        for side, end, inner, hand in zip(
            sides, (LEFT, RIGHT), (BOTTOM, TOP), ("left", "right"), strict=True
        )
    ]


def _toe_kick(
    case: _Case, sides: tuple[Board, Board], bottom: Board
) -> tuple[list[Board], list[Meeting], list[_Pair]]:
    """The boards under the bottom, how they are bored, and what they are glued to."""
    kick, shop = case.params.toe_kick, case.shop
    if kick is None:
        return [], [], []
    inner = kick.setback + case.thick
    if not case.based:
        board = case.upright("toe kick", case.inside, case.thick, inner, turned=False)
        # The bottom is there when the driver comes.
        under = (kick.height - shop.drill.driver_radius - shop.limits.tolerance, kick.height)
        meetings = _between(shop, board, sides, "right-angle", BOTTOM, pairs=False, avoid=(under,))
        return [board], meetings, [(board, BACK, bottom, BOTTOM)]
    front = case.upright("base front", case.width, 0.0, inner, turned=False)
    rear = case.upright("base back", case.width, case.width, case.deep - case.thick, turned=True)
    meetings = []
    ends = [case.base_end(hand, kick.setback) for hand in ("left", "right")]
    for board, ahead in zip(ends, ((LEFT, RIGHT), (RIGHT, LEFT)), strict=True):
        for mate, end, name in zip((front, rear), ahead, ("front", "back"), strict=True):
            label = f"{board.name} to base {name}"
            meetings.append(Meeting(label, "right-angle", board, end, TOP, mate, BOTTOM))
    return [front, rear, *ends], meetings, [(b, BACK, bottom, BOTTOM) for b in (front, rear)]


def _stretches(case: _Case, step: list[Board]) -> tuple[tuple[float, float], ...]:
    """From the front, where a board under the bottom would meet the head of a screw (mm)."""
    kick = case.params.toe_kick
    if kick is None:
        return ()
    room = case.shop.drill.counterbore_radius + case.shop.limits.tolerance
    ways = [(kick.setback, kick.setback + case.thick)]
    if case.based:
        ways.append((case.deep - case.thick, case.deep))
    return tuple((low - room, high + room) for low, high in ways)


def _framed(
    case: _Case, made: FrameParams, sides: tuple[Board, Board], bottom: Board
) -> tuple[Piece, list[_Pair]]:
    """The face frame before the case, flush with its outsides, and what it is glued to."""
    part, at = case.shop.part("face frame"), ("face_frame",)
    laid = grid(part, (case.width, case.height - case.kick), made, at)
    frame = face_frame(part, laid, made, at, sunk=True)
    thick = frame.boards[0].thickness
    frame = frame.placed(Pose((0.0, -thick, case.kick)))
    named = {board.name.removeprefix(part.label("")): board for board in frame.boards}
    pairs: list[_Pair] = [
        (named["left stile"], BOTTOM, sides[0], FRONT),
        (named["right stile"], BOTTOM, sides[1], FRONT),
        (named["bottom rail"], BOTTOM, bottom, FRONT),
    ]
    return frame, pairs


def _drawers(case: _Case) -> tuple[Piece, float]:
    """The drawers in their places, and the underside of the lowest (or of the case's top), mm."""
    made, shop = case.params.drawers, case.shop
    nothing = Piece((), ())
    if made is None:
        return nothing, case.high
    at = ("drawers",)
    inset = 0.0
    if made.front is not None and made.front.fit == "inset":
        inset = shop.stock(made.front.stock, *at, "front", "stock").thickness
    frame = case.params.face_frame
    if frame is not None:
        inset = max(0.0, inset - shop.stock(frame.stock, "face_frame", "stock").thickness)
    step = 50.8 if shop.recipe.unit == "inch" else 50.0
    depth = (case.deep - inset - _BEHIND_DRAWER) // step * step
    if depth < step:
        raise shop.error(
            f"the case is too shallow for drawers: it needs {shop.length(3 * step)} at least",
            "depth",
        )
    piece, lowest = (
        _stacked(case, made, depth, at)
        if frame is None
        else _behind_frame(case, made, frame, depth, at)
    )
    for level in case.levels:
        if level + case.thick > lowest + 1e-9:
            raise shop.error(
                f"a fixed shelf stands in the way of the drawers, which come down to "
                f"{shop.length(lowest - case.low)} above the bottom",
                "shelves",
            )
    return piece, lowest


def _stacked(case: _Case, made: CaseDrawers, depth: float, at: tuple[str]) -> tuple[Piece, float]:
    """Drawers one above the other between the sides."""
    shop, front = case.shop, made.front
    room = case.high - case.low
    place = (*at, "heights")
    heights = shared(shop, room, made.heights or ("rest",), "high", *place, exact=False)
    edges = [case.high]
    for height in heights:
        edges.append(edges[-1] - height)
    if front is not None and front.fit == "overlay" and front.overlap > case.thick:
        raise shop.error(
            f"the fronts would stand out of the case; its sides are {shop.length(case.thick)} "
            "thick, overlap at most as much",
            *at,
            "front",
            "overlap",
        )
    piece = Piece((), ())
    for i, (top, low) in enumerate(pairwise(edges), 1):
        part = shop.part(f"drawer {i}")
        clear = SIDE_SLIDES
        width, height = case.inside - 2 * clear.side, top - low - clear.below - clear.above
        shown, back = None, 0.0
        if front is not None:
            stock = shop.stock(front.stock, *at, "front", "stock")
            beyond = front.overlap if front.fit == "overlay" else -front.reveal
            back = 0.0 if front.fit == "overlay" else stock.thickness
            # Between two fronts lies one reveal.
            above = beyond if i == 1 else -front.reveal / 2
            below = beyond if abs(low - case.low) < 1e-6 else -front.reveal / 2
            shown = Front(
                stock,
                case.inside + 2 * beyond,
                top - low + above + below,
                -clear.side - beyond,
                -clear.below - below,
            )
        box = drawer_box(part, width, depth, height, made, shown, at)
        piece += box.placed(Pose((case.thick + clear.side, back, low + clear.below)))
        piece += Piece((), (), (slides(shop, depth, clear),))
    return piece, edges[-1]


def _behind_frame(
    case: _Case, made: CaseDrawers, frame: FrameParams, depth: float, at: tuple[str]
) -> tuple[Piece, float]:
    """Drawers in the upper openings of a face frame of one column."""
    shop = case.shop
    laid = grid(shop, (case.width, case.height - case.kick), frame, ("face_frame",))
    if len(laid.columns) > 1:
        raise shop.error(
            "a case has nothing between its sides that would carry slides: drawers need a face "
            "frame of one column",
            *at,
        )
    openings, count = laid.columns[0], made.count or 1
    if count > len(openings):
        raise shop.error(f"the face frame has {len(openings)} openings, not {count}", *at, "count")
    if made.front is not None and made.front.fit == "overlay":
        laps = [made.front.overlap * 2] if count > 1 else []
        if laps and laps[0] > frame.rail:
            raise shop.error(
                f"the fronts would meet over the rails, which are {shop.length(frame.rail)} wide; "
                f"overlap at most {shop.length(frame.rail / 2)}",
                *at,
                "front",
                "overlap",
            )
    thick = shop.stock(frame.stock, "face_frame", "stock").thickness
    packing = openings[0].left - case.thick
    if packing < -1e-9 or openings[count - 1].low + case.kick < case.low - 1e-9:
        raise shop.error(
            f"the frame's openings are wider or deeper down than the case inside; make its stiles "
            f"and its bottom rail at least {shop.length(case.thick)} wide",
            "face_frame",
        )
    if openings[0].top + case.kick > case.high + 1e-9:
        raise shop.error(
            "the top drawer would run into the stretcher; make the frame's top rail at least "
            f"{shop.length(case.thick)} wide",
            "face_frame",
        )
    piece = Piece((), ())
    for i, opening in enumerate(openings[:count], 1):
        size = (opening.width, opening.height)
        box = drawer(shop.part(f"drawer {i}"), size, depth, SIDE_SLIDES, made, at)
        piece += box.placed(Pose((opening.left, -thick, case.kick + opening.low)))
        piece += Piece((), (), (slides(shop, depth, SIDE_SLIDES),))
    if packing > 1e-9:
        detail = f"{shop.length(packing)} thick, behind the stiles to carry the slides"
        strips = Hardware("packing strips", detail, 2 * count, shop.name)
        piece += Piece((), (), (strips,))
    return piece, case.kick + openings[count - 1].low


def _refuse(case: _Case) -> None:
    """Refuse sizes that make no case.

    Raises:
        RecipeError: which size, and what would do.
    """
    shop, params, said = case.shop, case.params, case.shop.length
    kick = params.toe_kick
    for way, size, least in (
        ("wide", case.inside, _LEAST_INSIDE),
        ("high", case.high - case.low, _LEAST_INSIDE),
    ):
        if size < least:
            raise shop.error(
                f"the case would be {said(size) if size > 0 else 'nothing'} {way} inside; make it "
                f"{said(least - size)} larger at least",
                "size",
            )
    wanted = _LEAST_INSIDE
    if params.top == "stretchers":
        wanted = max(wanted, 2 * params.stretcher)
    if kick is not None:
        wanted = max(wanted, kick.setback + 2 * case.thick + _LEAST_INSIDE)
    if params.adjustable is not None:
        wanted = max(wanted, 2 * _PIN_INSET + PIN_PITCH)
    if case.deep < wanted:
        raise shop.error(
            f"the case would be {said(case.deep) if case.deep > 0 else 'nothing'} deep inside; "
            f"with its stretchers, toe kick and pin rows it needs {said(wanted)} at least",
            "depth",
        )
    if case.rebate > case.thick - _PIN_SKIN:
        raise shop.error(
            f"a rebate {said(case.rebate)} deep leaves too little of sides {said(case.thick)} "
            f"thick; make it at most {said(max(0.0, case.thick - _PIN_SKIN))}",
            "back",
        )
    under = case.low
    for level in case.levels:
        if level < under + _LEAST_INSIDE or level + case.thick > case.high - _LEAST_INSIDE:
            raise shop.error(
                f"the shelf {said(level - case.low)} above the bottom leaves less than "
                f"{said(_LEAST_INSIDE)} to what is below or above it",
                "shelves",
            )
        under = level + case.thick


STARTER = """\
# A base cabinet: plywood case with toe kick, stretchers under a worktop, one shelf on pins.
# Change `size` first: outside width x height; the depth follows the worktop.
name: my cabinet
units: mm

stock:
  case: {sheet: birch-ply-18}
  back: {sheet: plywood-1-4}

build:
  - design: case
    name: cabinet
    stock: case
    size: 600 x 870
    depth: 560
    toe_kick: {height: 100, setback: 70}    # or made: separate base; leave out for none
    top: stretchers                         # or panel
    back: {stock: back, fit: rebate}        # or planted; leave out for none
    adjustable: {shelves: 1}                # on pins, 32 mm rows
    # shelves: [300]                        # fixed ones: heights above the bottom
    # face_frame and drawers: see the recipes that ship with the tool
"""

DESIGN = Design(
    "case",
    "A case of sheet goods with shelves, toe kick, face frame and drawers: base, wall or tall.",
    Case,
    plan,
    STARTER,
)
