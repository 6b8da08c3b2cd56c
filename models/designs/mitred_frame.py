r"""A frame with mitred corners: a mirror, a picture, a panel; three to twelve sides.

Seen from the front, n = 4        A rail on its back face
     _____________________          __________________________  outside edge
    |\     top rail      /|         \         back           /
    | \_________________/ |          \______________________/   inside edge, rebate
    | |                 | |
    | |      sight      | |
    | |_________________| |
    | /   bottom rail   \ |
    |/___________________\|
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Annotated, Literal

from pydantic import Field, model_validator

from ..maths.geometry import Pose
from ..piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, Seen, Stock, Work
from ..piece.lever import PLACE, Lever, Setting, lever
from ..piece.project import Hardware
from ..placing.joints import join
from ..placing.meetings import Meeting
from ..placing.shop import Piece, Shop
from ..recipe.fields import Measure, usual
from ..recipe.params import Length, LengthOrZero, Params, Size, StockName
from ..recipe.stated import PieceParams
from ..words.lengths import Usual, sizes_toward
from ..work.end_cut import sawn
from ..work.rebate import Rebate
from . import Design

Bored = Literal["rails", "stiles", "alternate", "turn", "both"]
MOST_POCKETS = 2  # at a corner
_WIDEST_SWING = 45  # beyond, the pull would run along the joint
_WIDEST = 4  # times a rail's width: wider ones are not thought of
_NAMES = {TOP: "front", BOTTOM: "back", FRONT: "outside edge", BACK: "inside edge"}
_SEEN: dict[str, Seen] = {BOTTOM: "concealed", LEFT: "concealed", RIGHT: "concealed"}
_DATUM = "outside corner"


class FrameRebate(Params):
    """A step on the inside edge at the back, for glass and backing."""

    width: Length = Field(description="across the rail, from the inside edge")
    depth: Length = Field(description="from the back")
    clearance: LengthOrZero = usual(
        Usual(1.5, "1/16"),
        description="between glass and rebate, on every side (common practice: 1.5 mm)",
    )


class MitredFrame(PieceParams):
    """A frame with mitred corners, its pockets hidden on the back."""

    exactly_one = ("sight", "rebate_size", "outside")

    stock: StockName = Field(description="label of the stock for the rails")
    rail_width: Length = Field(description="width of the rails")
    sides: Annotated[int, Measure("count", 3, 12)] = Field(4, description="number of sides")
    sight: Size | None = Field(
        None, description="opening seen from the front, width x height (or across the flats twice)"
    )
    rebate_size: Size | None = Field(
        None, description="from rebate to rebate, width x height; needs a rebate"
    )
    outside: Size | None = Field(None, description="outside size, width x height")
    rebate: FrameRebate | None = Field(None, description="step for glass and backing")
    pockets: Annotated[int, Measure("count", 1, MOST_POCKETS)] = Field(
        1, description="pockets per corner"
    )
    bored: Bored | None = Field(
        None,
        description="which rails are bored: rails (top and bottom), stiles (left and right), "
        "alternate (every second), turn (each at one end), both (one pocket from each member)",
    )
    swing: Annotated[float, Measure("angle", 0, _WIDEST_SWING)] | Literal["auto"] = Field(
        "auto", description="turn of the pockets toward the rail's length, or auto"
    )

    @model_validator(mode="after")
    def _whole(self) -> MitredFrame:
        if self.rebate_size is not None and self.rebate is None:
            raise ValueError("`rebate_size` needs a `rebate`")
        width, height = self.size
        if self.sides != 4 and width != height:
            raise ValueError("a frame that is not four-sided is regular: give its size twice")
        if self.rebate is not None and self.rebate.width >= self.rail_width:
            raise ValueError("the rebate is as wide as the rail")
        if self.rebate is not None and self.rebate.clearance >= self.rebate.width:
            raise ValueError("the rebate's clearance is as large as its width: no glass would rest")
        if self.bored in ("rails", "stiles") and self.sides != 4:
            raise ValueError(f"bored: {self.bored} is for four sides; take alternate or turn")
        if self.bored == "alternate" and self.sides % 2:
            raise ValueError("bored: alternate needs an even number of sides; take turn")
        if self.bored == "both" and self.pockets != 2:
            raise ValueError("bored: both needs pockets: 2")
        return self

    @property
    def size(self) -> tuple[float, float]:
        """The size that was given, mm."""
        size = self.sight or self.rebate_size or self.outside
        if size is None:
            raise ValueError("no size was given")
        return size

    @property
    def sight_size(self) -> tuple[float, float]:
        """Width and height of the opening seen from the front, mm."""
        less = 0.0
        if self.rebate_size is not None and self.rebate is not None:
            less = 2 * self.rebate.width
        elif self.outside is not None:
            less = 2 * self.rail_width
        return self.size[0] - less, self.size[1] - less


def plan(params: MitredFrame, shop: Shop) -> Piece:
    """Boards, corners and pockets of a mitred frame.

    Raises:
        RecipeError: sizes that make no frame, at their place.
    """
    stock = shop.stock(params.stock, "stock")
    if min(params.sight_size) <= 0:
        key = "outside" if params.outside else "rebate_size"
        raise shop.error("the rails leave no opening", key)
    if params.rebate is not None and params.rebate.depth >= stock.thickness:
        raise shop.error("the rebate is as deep as the stock is thick", "rebate", "depth")
    rails = _rails(params, shop, stock, params.rail_width)
    joints, findings = join(shop, [_corner(params, shop, rails, i) for i in range(params.sides)])
    hardware, reports = _glass(params, shop)
    return Piece(rails, tuple(joints), hardware, tuple(findings), reports)


def _corner(params: MitredFrame, shop: Shop, rails: Sequence[Board], corner: int) -> Meeting:
    """Where a rail starts and the one before it ends.

    Every rail's back is hidden alike, so the default spares set-ups: every second rail is bored at
    both ends; with an odd number of sides, each rail at one end.

    Raises:
        RecipeError: the recipe asks for more pockets than a corner may have.
    """
    name = shop.label(f"corner {corner + 1}")
    pockets = shop.wish(name).pockets or params.pockets
    if pockets > MOST_POCKETS:
        at = shop.wished_at(name, "pockets")
        raise shop.error(f"pockets {pockets}: 1 or {MOST_POCKETS} per corner", *at)
    before, after = rails[corner - 1], rails[corner]
    bored = params.bored or ("turn" if params.sides % 2 else "alternate")
    crossed = bored == "both" and pockets == MOST_POCKETS
    every_second = bored not in ("turn", "both")
    at_end = (corner - 1) % params.sides % 2 == (bored == "stiles") if every_second else crossed
    return Meeting(
        name=name,
        kind="mitre",
        bored=before if at_end else after,
        joint_face=RIGHT if at_end else LEFT,
        pocket_face=BOTTOM,
        mate=after if at_end else before,
        mate_face=LEFT if at_end else RIGHT,
        count=pockets,
        datum=_DATUM,
        toward=(0.0, 1.0, 0.0),
        swings=() if params.swing == "auto" else (params.swing,),
        crossed=crossed,
    )


def _outline(params: MitredFrame, width: float) -> list[tuple[float, float]]:
    """Outside corners (mm), counter-clockwise from the front, the first at the bottom left."""
    across, up = (s + 2 * width for s in params.sight_size)
    if params.sides == 4:
        return [(0.0, 0.0), (across, 0.0), (across, up), (0.0, up)]
    step = 2 * math.pi / params.sides
    radius = across / 2 / math.cos(step / 2)
    angles = [-math.pi / 2 + step * (i - 0.5) for i in range(params.sides)]
    corners = [(radius * math.cos(a), radius * math.sin(a)) for a in angles]
    left, low = min(x for x, _ in corners), min(z for _, z in corners)
    return [(x - left, z - low) for x, z in corners]


def _rails(params: MitredFrame, shop: Shop, stock: Stock, width: float) -> tuple[Board, ...]:
    corners = _outline(params, width)
    mitre = 180.0 / params.sides
    roles = ["bottom rail", "right stile", "top rail", "left stile"]
    if params.sides != 4:
        roles = [f"rail {i + 1}" for i in range(params.sides)]
    work: list[Work] = [*sawn(left_mitre=mitre, right_mitre=mitre)]
    if params.rebate is not None:
        wide, deep = params.rebate.width, params.rebate.depth
        work.append(Rebate(edge=BACK, face=BOTTOM, width=wide, depth=deep))
    rails = []
    for i, role in enumerate(roles):
        (x0, z0), (x1, z1) = corners[i], corners[(i + 1) % len(corners)]
        length = math.hypot(x1 - x0, z1 - z0)
        dx, dz = (x1 - x0) / length, (z1 - z0) / length
        rails.append(
            shop.board(
                role,
                stock,
                length,
                width,
                names=_NAMES,
                seen=_SEEN,
                work=work,
                pose=Pose((x0, stock.thickness, z0), (dx, 0.0, dz), (-dz, 0.0, dx)),
            )
        )
    return tuple(rails)


def _glass(params: MitredFrame, shop: Shop) -> tuple[tuple[Hardware, ...], tuple[str, ...]]:
    if params.rebate is None:
        return (), ()
    rebate = params.rebate
    grow = 2 * (rebate.width - rebate.clearance)
    width, height = (shop.length(s + grow) for s in params.sight_size)
    size = f"{width} x {height}" if params.sides == 4 else f"{width} across the flats"
    glass = Hardware(
        "glass and backing",
        f"{size}, together at most {shop.length(rebate.depth)} thick",
        1,
        shop.name,
    )
    report = (
        f"{shop.name}: cut glass and backing to {size}; "
        f"{shop.length(rebate.clearance)} clearance on every side of the rebate"
    )
    return (glass,), (report,)


def levers(params: MitredFrame, shop: Shop) -> Iterator[Lever]:
    """A free swing, fewer pockets, each rail bored at one end; wider rails."""
    if params.swing != "auto":
        says = "let placement swing the pockets"
        yield lever("swing", shop.at("swing"), says, ["auto"])
    single = Setting(shop.at("pockets"), "1", "bore {} pocket per corner")
    if params.pockets > 1:
        yield Lever("pockets", [(single, Setting(shop.at("bored"), None))])
    if params.bored != "turn":
        yield lever("bored", shop.at("bored"), "bore each rail at one end", ["turn"])
    widest = _WIDEST * params.rail_width
    if params.outside is not None:
        # The outside size stays: wider rails leave less opening, and some of it must stay.
        widest = min(widest, min(params.outside) / 2)
    yield lever(
        "width",
        shop.at("rail_width"),
        "make the rails {} wide",
        sizes_toward(params.rail_width, widest, shop.recipe.unit),
        least=True,
        cures=PLACE | {"narrow-board"},
        size=True,
    )


STARTER = """\
# A mirror with mitred corners; its pockets stay hidden on the back.
# Change `sight` first: the opening seen from the front, width x height.
name: my mirror
units: inch

stock:
  rails: {wood: red-oak, thickness: 3/4}

build:
  - design: mitred-frame
    name: mirror
    stock: rails
    rail_width: 2-1/2
    sight: 16 x 24            # or rebate_size, or outside: exactly one of the three
    rebate: {width: 3/8, depth: 3/8}   # for glass and backing; leave out for none
    pockets: 1                # per corner, 1 or 2
    swing: auto               # or degrees
"""

DESIGN = Design(
    "A frame with three to twelve mitred corners, its pockets hidden on the back.",
    MitredFrame,
    plan,
    STARTER,
    levers,
)
