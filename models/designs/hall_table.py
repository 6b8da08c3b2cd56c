r"""A table on four legs, with up to four drawers in its front apron.

Seen from the front                            Seen from above, without the top
 __________________________________             ____                          ____
|______________top_________________|           |leg_|________________________|leg_|
  |  | _________   _________  |  |               |   |  |             | |  |    |
  |  ||_opening_|_|_________| |  |               |   |  | runner,     | |  |    |   runners below,
  |  |________________________|  |               |   |  | kicker      | |  |    |   kickers above
  |  |                        |  |              _|___|__|_____________|_|__|____|_  the drawers
  |  |                        |  |             |leg_|_______front apron______|leg_|

Runners lie level with the lower side of the openings, kickers with the upper side; a guide on each
runner is level with the opening's own sides. A solid top is screwed from below through pilots that
are slotted across its grain by as much as it moves there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated

from pydantic import Field, model_validator

from ..maths.geometry import Pose, Vec
from ..piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, Side
from ..piece.lever import PLACE, Lever, lever
from ..piece.project import Joint
from ..placing.joints import join
from ..placing.meetings import Meeting, both_ends
from ..placing.shop import Piece, Shop
from ..recipe.fields import Measure, usual
from ..recipe.params import Length, Size, StockName
from ..recipe.stated import PieceParams
from ..words.lengths import Usual, larger_sizes, sizes_toward
from ..work.opening import Opening
from . import Design
from ._drawer_parts import DrawerParams
from ._drawer_screws import drawer_levers
from ._leg_base import Base, BaseParams
from ._looks import INNER, LYING
from ._screwed_top import TableTop, Top
from .drawer_box import drawer, wooden_runners
from .panel import glue_up, panel_meetings

# Common practice, no source.
_RAIL = Usual(22, "7/8")  # of apron above and below an opening
_BETWEEN = Usual(50, "2")  # of apron between two openings
_GUIDE = Usual(25, "7/8")  # width of the guides at the ends
_BEARING = Usual(12, "3/8")  # of runner past the drawer's side
_STEP = Usual(0.5, "1/8")  # in which openings and runners are wide
_BEHIND = Usual(6, "1/4")  # of air behind a drawer
_LEAST_OPENING = 60.0  # mm wide
_LARGER = 2  # times a table's length or depth: larger ones are not thought of
_WIDER = 3  # times an apron's width, likewise
_ALONG: dict[Side, str] = LYING | {
    LEFT: "front end", RIGHT: "back end", FRONT: "right edge", BACK: "left edge",
}  # fmt: skip


class TableDrawer(DrawerParams):
    """The drawers of a table, their openings, and what they run on."""

    opening: Size | None = Field(
        None, description="of each opening, width x height; default: what the apron has room for"
    )
    rail_above: Length = usual(_RAIL, description="apron left above the openings")
    rail_below: Length = usual(
        _RAIL,
        description="apron left below the openings (above an arch), unless `opening` says it",
    )
    between: Length = usual(_BETWEEN, description="apron left between two openings")
    depth: Length | None = Field(None, description="of the boxes; default: as the table allows")
    runner_stock: StockName = Field(
        description="label of the stock for runners, kickers and guides"
    )


class HallTable(BaseParams, PieceParams):
    """A table with set-back aprons, drawers in the front, and a top screwed from below."""

    size: Annotated[
        tuple[float, float], Measure("size", above=True, halves=("length", "depth"))
    ] = Field(description="of the top, length x depth")
    height: Length = Field(description="overall")
    top: TableTop = Field(description="the top")
    drawers: Annotated[int, Measure("count", 0, 4)] = Field(0, description="drawers side by side")
    drawer: TableDrawer | None = Field(None, description="what the drawers are made of")

    @model_validator(mode="after")
    def _whole(self) -> HallTable:
        if self.drawers and self.drawer is None:
            raise ValueError("`drawers` needs a `drawer`: what the drawers are made of")
        return self


@dataclass(frozen=True)
class _Openings:
    """The openings of the front apron, in its frame (mm).

    Attributes:
        lefts: left side of each.
        width: of each.
        low: lower side.
        high: upper side.
    """

    lefts: tuple[float, ...]
    width: float
    low: float
    high: float

    def between(
        self, guide: float, bearing: float
    ) -> Iterator[tuple[str, float, float, float, float]]:
        """Beside and between the openings: from where to where a guide lies, and its runner."""
        rights = [left + self.width for left in self.lefts]
        first, last = self.lefts[0], rights[-1]
        yield "left", first - guide, first, first - guide, first + bearing
        for i, (right, following) in enumerate(zip(rights, self.lefts[1:], strict=False), 1):
            where = "middle" if len(rights) == 2 else f"middle {i}"
            yield where, right, following, right - bearing, following + bearing
        yield "right", last, last + guide, last - bearing, last + guide

    def work(self) -> tuple[Opening, ...]:
        """The openings, through the apron's thickness."""
        return tuple(
            Opening(
                name=f"opening {i}",
                seen="semi-exposed",
                length=self.width,
                width=self.high - self.low,
                from_end=left,
                from_edge=self.low,
            )
            for i, left in enumerate(self.lefts, 1)
        )


def plan(params: HallTable, shop: Shop) -> Piece:
    """Boards, joints and drawers of a table.

    Raises:
        RecipeError: sizes that make no table, at their place.
    """
    over, stock = params.top.overhang, shop.stock(params.top.stock, "top", "stock")
    width, depth = (size - 2 * over for size in params.size)
    base = Base(shop, params, width, depth, params.height - stock.thickness)
    base.refuse_unsound()
    openings = _openings(params, base) if params.drawer and params.drawers else None
    legs = base.legs()
    aprons = tuple(
        base.apron(side, openings.work() if openings and side == 0 else ()) for side in range(4)
    )
    inner: tuple[Board, ...] = ()
    meetings = base.corners(legs, aprons)
    glued: tuple[Joint, ...] = ()
    if openings and params.drawer:
        inner, held, glued = _runners(params.drawer, base, aprons, openings)
        meetings += held
    above = Top(params.top, base, stock, params.size)
    boards = above.boards()
    meetings = [
        *panel_meetings(shop.part("top"), boards, params.top),
        *meetings,
        *above.meetings(boards, aprons, inner),
    ]
    whole = (*legs, *aprons, *inner, *boards)
    joints, findings = join(shop, meetings, boards=whole)
    reports = (*glue_up(shop.part("top"), boards, params.top), *above.reports())
    piece = Piece(whole, (*joints, *glued), (), tuple(findings), reports)
    if openings and params.drawer:
        piece += _drawers(params.drawer, base, openings)
    return piece.placed(Pose((over, over, 0.0)))


# --- the drawers --------------------------------------------------------------------------------


def _openings(params: HallTable, base: Base) -> _Openings:
    """Where the openings of the front apron are.

    Raises:
        RecipeError: the apron has no room for them.
    """
    made, count, shop, said = params.drawer, params.drawers, base.shop, base.shop.length
    assert made is not None
    length, stock = base.apron_length(0), shop.stock(made.runner_stock, "drawer", "runner_stock")
    arch = params.arch or 0.0
    end = max(base.pocket_reach, shop.usual(_GUIDE)) + shop.limits.tolerance
    room = length - 2 * end - (count - 1) * made.between
    if made.opening is None:
        # The ends are as wide again as the pockets need, where that leaves a fair opening.
        spare = 2 * (shop.drill.counterbore_radius + shop.limits.show_wall) + 8.0
        roomy = room - 2 * spare >= 3 * _LEAST_OPENING * count
        width = (room - 2 * spare if roomy else room) / count
        width -= width % shop.usual(_STEP)
        low, high = made.rail_below + arch, params.apron_width - made.rail_above
    else:
        width, height = made.opening
        high = params.apron_width - made.rail_above
        low = high - height
        if count * width > room + 1e-9:
            raise shop.error(
                f"{count} openings {said(width)} wide leave too little of the {said(length)} apron "
                f"for the pockets at its ends: at most {said(max(room / count, 0.0))} each",
                "drawer",
                "opening",
            )
    if width < _LEAST_OPENING or high - low < 1.0:
        raise shop.error(
            f"each opening would be {said(max(width, 0.0))} wide and {said(max(high - low, 0.0))} "
            "high: take fewer drawers, a longer table or wider aprons",
            "drawers",
        )
    for rail, key, what in (
        (made.rail_above, "rail_above", "kicker"),
        (low - arch, "rail_below" if made.opening is None else "opening", "runner"),
    ):
        if rail < stock.thickness - 1e-9:
            raise shop.error(
                f"the apron keeps {said(max(rail, 0.0))} there, less than the "
                f"{said(stock.thickness)} {what} behind it is thick: leave at least that",
                "drawer",
                key,
            )
    total = count * width + (count - 1) * made.between
    first = (length - total) / 2
    return _Openings(
        tuple(first + i * (width + made.between) for i in range(count)), width, low, high
    )


def _runners(
    made: TableDrawer, base: Base, aprons: Sequence[Board], openings: _Openings
) -> tuple[tuple[Board, ...], list[Meeting], tuple[Joint, ...]]:
    """Runners below, kickers above and guides beside the drawers, from front to back apron.

    Returns:
        The boards, the screwed joints, and the glued ones.
    """
    shop = base.shop
    stock = shop.stock(made.runner_stock, "drawer", "runner_stock")
    side = wooden_runners(shop).side + shop.stock(made.stock, "drawer", "stock").thickness
    step, guide = shop.usual(_STEP), shop.usual(_GUIDE)
    bearing = math.ceil((side + shop.usual(_BEARING)) / step - 1e-9) * step
    if 2 * bearing >= openings.width:
        raise shop.error(
            f"an opening {shop.length(openings.width)} wide has no room for two runners: at least "
            f"{shop.length(2 * bearing)}",
            "drawer",
            "stock",
        )
    run = base.depth - 2 * base.inset
    left = base.leg_size
    low, high, thick = base.lower + openings.low, base.lower + openings.high, stock.thickness

    def lying(role: str, start: float, end: float, bottom: float) -> Board:
        # Its grain runs from front to back; x of the board to the back, y to the left.
        pose = Pose((left + end, base.inset, bottom), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0))
        return shop.board(role, stock, run, end - start, names=_ALONG, seen=INNER, pose=pose)

    boards, glued = [], []
    meetings: list[Meeting] = []
    across = (aprons[0], aprons[2])
    for where, guide_from, guide_to, start, end in openings.between(guide, bearing):
        runner = lying(f"{where} runner", start, end, low - thick)
        # A kicker keeps to the openings: the apron beside them is for the top's screws.
        inside = (start if where != "left" else guide_to, end if where != "right" else guide_from)
        kicker = lying(f"{where} kicker", *inside, high)
        beside = lying(f"{where} guide", guide_from, guide_to, low)
        boards += [runner, kicker, beside]
        for board, pocket in ((runner, BOTTOM), (kicker, TOP)):
            names = (shop.label(f"{board.role} to {apron.role}") for apron in across)
            meetings += both_ends("butt", board, pocket, ((a, BOTTOM) for a in across), names)
        for end_face, apron in zip((LEFT, RIGHT), across, strict=True):
            name = shop.label(f"{beside.role} to {apron.role}")
            glued.append(Joint(name, "butt", beside.name, end_face, apron.name, BOTTOM))
        name = shop.label(f"{where} guide on runner")
        glued.append(Joint(name, "butt", beside.name, BOTTOM, runner.name, TOP))
    return tuple(boards), meetings, tuple(glued)


def _drawers(made: TableDrawer, base: Base, openings: _Openings) -> Piece:
    """The drawers in their openings; one that is deeper than the table runs into its apron."""
    shop, clearance = base.shop, wooden_runners(base.shop)
    before = 0.0
    if made.front is not None and made.front.fit == "inset":
        before = shop.stock(made.front.stock, "drawer", "front", "stock").thickness
    outside = base.params.setback
    room = base.depth - base.inset - outside - before - shop.usual(_BEHIND)
    depth = room if made.depth is None else made.depth
    piece = Piece((), ())
    size = (openings.width, openings.high - openings.low)
    for i, left in enumerate(openings.lefts, 1):
        name = "drawer" if len(openings.lefts) == 1 else f"drawer {i}"
        built = drawer(shop.part(name), size, depth, clearance, made, ("drawer",))
        at: Vec = (base.leg_size + left, outside, base.lower + openings.low)
        piece += built.placed(Pose(at))
    return piece


def levers(params: HallTable, shop: Shop) -> Iterator[Lever]:
    """The groove of its drawers; fewer screws, wider aprons, a deeper or a longer table."""
    if params.drawer is not None:
        yield from drawer_levers(params.drawer, shop, ("drawer",))
    fewer = [str(count) for count in range(params.screws - 1, 0, -1)]
    yield lever("screws", shop.at("screws"), "take {} screws at each end of an apron", fewer)
    unit, now = shop.recipe.unit, params.apron_width
    wider = sizes_toward(now, min(_WIDER * now, params.height / 2), unit)
    says = "make the aprons {} wide"
    yield lever("width", shop.at("apron_width"), says, wider, least=True, size=True)
    reached = PLACE | {"no-order", "out-of-reach"}
    for axis, says in ((1, "deeper"), (0, "longer")):
        sizes = larger_sizes(params.size, axis, _LARGER, unit)
        told = f"make the table {says}, {{}}"
        yield lever(says, shop.at("size"), told, sizes, least=True, cures=reached, size=True)


STARTER = """\
# A narrow table with two drawers, for a hall; its top is free to swell and shrink.
# Change `size` and `height` first: of the top, length x depth, and overall.
name: my table
units: inch

stock:
  top: {wood: hard-maple, thickness: 3/4}
  legs: {wood: hard-maple, thickness: 1-3/4}
  aprons: {wood: hard-maple, thickness: 3/4}
  inner: {wood: yellow-poplar, thickness: 3/4}    # runners, kickers, guides
  box: {sheet: birch-ply-15}
  bottom: {sheet: plywood-1-4}

build:
  - design: hall-table
    name: table
    size: 42 x 15
    height: 31
    top: {stock: top, overhang: 1}     # fixing: rigid holds a solid top (and warns)
    leg_stock: legs
    foot: 1                            # tapered on the inside faces; leave out for square legs
    apron_stock: aprons
    apron_width: 5-1/2
    setback: 1/4                       # aprons behind the legs' outer faces
    drawers: 2                         # 0 to 4; 0: a plain table, needs no `drawer`
    drawer:
      stock: box
      bottom: bottom
      front: {stock: aprons, fit: inset, reveal: 1/16}
      runner_stock: inner
"""

DESIGN = Design(
    "A table with set-back aprons, square or tapered legs, drawers and a top that may move.",
    HallTable,
    plan,
    STARTER,
    levers,
)
