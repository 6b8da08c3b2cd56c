r"""A shelf with edging that stiffens it: one alone, or several between two sides.

From the side, front at the left          From above
   ___ ______________________              _________________________
  |   |      panel           | offset     | |                     | |
  |   |______________________|            | |        panel        | |  edging left and right
  |   |     pockets in pairs,             | |                     | |  stands between
  |___|     on the underside              |_|_____________________|_|
  edging                                  |______front edging_______|

Edging may be deeper than the panel is thick; its upper edge is flush with the panel or stands above
it by an offset.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from pydantic import Field, model_validator

from ..maths.geometry import Pose, Vec
from ..piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, Board, Seen, Side
from ..piece.lever import Lever, lever
from ..piece.project import Joint
from ..placing.joints import join
from ..placing.meetings import Meeting, both_ends
from ..placing.shop import Piece, Shop
from ..recipe.params import Length, LengthOrZero, Params, StockName, YesNo
from ..recipe.stated import PieceParams
from ..wood.loads import USUAL_LOAD, LoadText
from ..words.lengths import sizes_toward
from . import Design
from ._looks import ENDS, LYING, UP, hidden, on_edge, on_end
from ._shelf_load import Bearing, Edge, Section, end_edging, sags, told

_LOWER = 10.0  # mm by which a panel is thought of lower, at most
_WIDEST_EDGING = 200.0  # mm
_FACES = ("outside face", "inside face")
_SIDE_OF: dict[Edge, Side] = {"front": FRONT, "back": BACK, "left": LEFT, "right": RIGHT}


class Sides(Params):
    """Two sides with shelves between them, and a rail at the back that keeps them square."""

    stock: StockName = Field(description="label of the stock for the sides")
    height: Length = Field(description="of the sides")
    shelves: list[Length] = Field(
        min_length=1, description="heights of the shelves' upper faces, from the floor"
    )
    rail: Length | None = Field(
        None, description="width of a rail at the back, under the topmost shelf"
    )


class EdgedShelf(PieceParams):
    """A shelf with edging on one to four edges; alone, or several between two sides."""

    stock: StockName = Field(description="label of the stock for the panel")
    edging_stock: StockName | None = Field(
        None, description="label of the stock for the edging; without it the panel's"
    )
    length: Length = Field(description="whole length of the shelf, edging counted")
    depth: Length = Field(description="whole depth, front to back, edging counted")
    edges: list[Edge] = Field(
        ["front"], min_length=1, max_length=4, description="edges that have edging"
    )
    edging_width: Length | None = Field(
        None, description="height of the edging; without it just enough to cover the panel's edge"
    )
    offset: LengthOrZero = Field(
        0.0, description="from the edging's upper edge down to the panel; 0: flush"
    )
    glued: YesNo = Field(False, description="edging held by glue alone, without pocket screws")
    load: LoadText | None = Field(
        None,
        description="on each shelf, for its sag; without it 40 lb/ft2 (Architectural Woodwork "
        "Standards; 50 lb/ft2 for books)",
    )
    span: Length | None = Field(
        None, description="clear distance between supports; without it the whole length"
    )
    sides: Sides | None = Field(None, description="sides with shelves between them")

    @model_validator(mode="after")
    def _fits(self) -> EdgedShelf:
        for edge in self.edges:
            if self.edges.count(edge) > 1:
                raise ValueError(f"edges: {edge} is named twice")
        if self.span is not None and self.span > self.length:
            raise ValueError("span: it is more than the shelf is long")
        if self.sides is not None and {"left", "right"} & set(self.edges):
            raise ValueError("edges: between sides only the front and the back can have edging")
        if self.sides is not None and self.span is not None:
            raise ValueError("span: the sides hold the shelves, so the length is the span")
        return self


@dataclass(frozen=True)
class Shelf:
    """A shelf as placed: its boards, the panel first, and how they are to be joined."""

    boards: tuple[Board, ...]
    meetings: tuple[Meeting, ...]
    glued: tuple[Joint, ...]

    @property
    def panel(self) -> Board:
        """The board that carries."""
        return self.boards[0]


def shelf(shop: Shop, section: Section, at: Vec = (0.0, 0.0, 0.0)) -> Shelf:
    """A shelf whose front left lower corner is at a point of the piece's frame (mm)."""
    x0, x1 = section.covered("left"), section.length - section.covered("right")
    y0, y1 = section.covered("front"), section.depth - section.covered("back")
    seen: dict[Side, Seen] = {BOTTOM: "semi-exposed"}
    seen |= {_SIDE_OF[edge]: "concealed" for edge in section.edges}
    pose = Pose((x0, y0, section.panel_low)).then(Pose(at))
    panel = shop.board("panel", section.panel, x1 - x0, y1 - y0, names=LYING, seen=seen, pose=pose)
    # Edging stands on its lower edge; its outside face looks away from the panel.
    stands: dict[Edge, tuple[float, Pose]] = {
        "front": (section.length, Pose((0.0, y0, 0.0), (1.0, 0.0, 0.0), UP)),
        "back": (section.length, Pose((section.length, y1, 0.0), (-1.0, 0.0, 0.0), UP)),
        "left": (y1 - y0, Pose((x0, y1, 0.0), (0.0, -1.0, 0.0), UP)),
        "right": (y1 - y0, Pose((x1, y0, 0.0), (0.0, 1.0, 0.0), UP)),
    }
    boards: dict[Edge, Board] = {}
    meetings, glued = [], []
    for edge, (length, stand) in stands.items():
        if edge not in section.edges:
            continue
        ends: dict[Side, Seen] = {}
        if edge in ("left", "right"):
            near, far = (RIGHT, LEFT) if edge == "left" else (LEFT, RIGHT)
            ends = {near: "concealed"} if "front" in section.edges else {}
            ends |= {far: "concealed"} if "back" in section.edges else {}
        board = shop.board(
            f"{edge} edging", section.edging, length, section.height, names=on_edge(*_FACES),
            seen={BOTTOM: "semi-exposed", **ends}, pose=stand.then(Pose(at)),
        )  # fmt: skip
        boards[edge] = board
        name, side = shop.label(f"{edge} edging joint"), _SIDE_OF[edge]
        if section.glued:
            glued.append(Joint(name, "edging", panel.name, side, board.name, BOTTOM))
        else:
            meetings.append(Meeting(name, "edging", panel, side, BOTTOM, board, BOTTOM))
    for across, end_at in (("left", (RIGHT, LEFT)), ("right", (LEFT, RIGHT))):
        for along, end in zip(("front", "back"), end_at, strict=True):
            if across in boards and along in boards:  # butted and glued
                first, second = boards[across].name, boards[along].name
                name = shop.label(f"{along} {across} corner")
                glued.append(Joint(name, "butt", first, end, second, BOTTOM))
    return Shelf((panel, *boards.values()), tuple(meetings), tuple(glued))


def plan(params: EdgedShelf, shop: Shop) -> Piece:
    """Boards, joints and sag of a shelf, or of shelves between two sides.

    Raises:
        RecipeError: sizes that make no shelf, at their place.
    """
    section = _section(params, shop)
    bearing = _bearing(params, section)
    if params.sides is None:
        one = shelf(shop, section)
        boards, meetings, glued = list(one.boards), list(one.meetings), list(one.glued)
    else:
        boards, meetings, glued = _case(params.sides, shop, section)
    panel = next(board.name for board in boards if board.role.endswith("panel"))
    joints, lacks = join(shop, meetings, boards=boards)
    findings = (*lacks, *sags(shop, bearing, panel), *end_edging(shop, section))
    return Piece(tuple(boards), (*joints, *glued), findings=findings, reports=told(shop, bearing))


def _bearing(params: EdgedShelf, section: Section) -> Bearing:
    return Bearing(section, params.load or USUAL_LOAD, params.span or params.length)


def levers(params: EdgedShelf, shop: Shop) -> Iterator[Lever]:
    """Deeper edging, a shorter span; the panel lower down, glue alone; no edging at the ends."""
    unit, sag = shop.recipe.unit, frozenset(("shelf-sag",))
    if {"front", "back"} & set(params.edges):
        width = _section(params, shop).height
        says, deeper = "make the edging {} wide", sizes_toward(width, _WIDEST_EDGING, unit)
        at = shop.at("edging_width")
        yield lever("edging", at, says, deeper, least=True, cures=sag, size=True)
    span, key, says = params.span or params.length, "span", "hold it every {} or less"
    if params.sides is not None:
        span, key, says = params.length, "length", "make the shelves {} long"
    shorter = sizes_toward(span, span / 8, unit)
    yield lever("span", shop.at(key), says, shorter, least=True, cures=sag, size=True)
    ends = frozenset(("end-edging",))
    yield lever("edges", shop.at("edges"), "edge the front alone", [None], cures=ends)
    if not params.glued:
        lower = sizes_toward(params.offset, params.offset + _LOWER, unit)
        says = "set the panel {} below the edging's upper edge"
        yield lever("offset", shop.at("offset"), says, lower, least=True, size=True)
        yield lever("glue", shop.at("glued"), "hold the edging by glue alone", ["yes"], size=True)


def _section(params: EdgedShelf, shop: Shop) -> Section:
    panel = shop.stock(params.stock, "stock")
    edging = panel
    if params.edging_stock is not None:
        edging = shop.stock(params.edging_stock, "edging_stock")
    least = panel.thickness + params.offset
    height = least if params.edging_width is None else params.edging_width
    if height < least:
        raise shop.error(
            f"edging {shop.length(height)} wide does not cover a panel {shop.length(least)} down; "
            f"make it {shop.length(least)} or more",
            "edging_width",
        )
    edges: frozenset[Edge] = frozenset(params.edges)
    section = Section(
        panel, edging, params.length, params.depth, height, params.offset, edges, params.glued
    )
    for key, whole, ends in (
        ("length", params.length, ("left", "right")),
        ("depth", params.depth, ("front", "back")),
    ):
        taken = edging.thickness * len(edges & set(ends))
        if whole <= taken:
            raise shop.error(
                f"the edging alone is {shop.length(taken)}: no panel is left; make it more", key
            )
    return section


def _case(
    sides: Sides, shop: Shop, section: Section
) -> tuple[list[Board], list[Meeting], list[Joint]]:
    """Two sides, the shelves between them and the rail under the topmost one."""
    stock = shop.stock(sides.stock, "sides", "stock")
    thick, inside = stock.thickness, section.length
    there = (thick + inside, 0.0, sides.height)
    left, right = (
        shop.board(
            f"{hand} side", stock, sides.height, section.depth,
            names=on_end(*_FACES, turned=low is RIGHT),
            seen=hidden(low) | {BOTTOM: "semi-exposed"}, pose=pose,
        )
        for hand, low, pose in (
            ("left", LEFT, Pose((thick, 0.0, 0.0), UP, (0.0, 1.0, 0.0))),
            ("right", RIGHT, Pose(there, (0.0, 0.0, -1.0), (0.0, 1.0, 0.0))),
        )
    )  # fmt: skip
    boards = [left, right]
    inner: list[tuple[Board, Side]] = [(left, BOTTOM), (right, BOTTOM)]
    meetings: list[Meeting] = []
    glued: list[Joint] = []
    heights = _heights(sides, shop, section)
    for number, top in enumerate(heights, 1):
        part = shop.part(f"shelf {number}") if len(heights) > 1 else shop
        one = shelf(part, section, (thick, 0.0, top - section.height + section.offset))
        boards += one.boards
        meetings += one.meetings
        glued += one.glued
        names = (part.label(f"{hand} end") for hand in ("left", "right"))
        ends = both_ends("butt", one.panel, BOTTOM, inner, names)
        # The edging is on already, glued up with the panel.
        meetings += [replace(meeting, after=one.boards[1:]) for meeting in ends]
    if sides.rail is not None:
        if thick > section.depth:
            raise shop.error(
                f"the rail is of the sides' stock: {shop.length(thick)} thick, it would stand out "
                f"in front of shelves {shop.length(section.depth)} deep",
                "sides", "stock",
            )  # fmt: skip
        under = heights[-1] - section.panel.thickness
        if "back" in section.edges:
            under -= section.panel_low
        low = under - sides.rail
        below = heights[-2] + section.offset if len(heights) > 1 else 0.0
        if low < below:
            raise shop.error(
                f"no room for the rail: {shop.length(under - below)} is free under the topmost "
                "shelf",
                "sides", "rail",
            )  # fmt: skip
        pose = Pose((thick, section.depth, low), (1.0, 0.0, 0.0), UP)
        faces = on_edge("front", "back")
        seen = ENDS | hidden(BOTTOM)
        rail = shop.board("rail", stock, inside, sides.rail, names=faces, seen=seen, pose=pose)
        boards.append(rail)
        names = (shop.label(f"rail {hand} end") for hand in ("left", "right"))
        meetings += both_ends("butt", rail, BOTTOM, inner, names)
    return boards, meetings, glued


def _heights(sides: Sides, shop: Shop, section: Section) -> list[float]:
    """Heights of the upper faces, lowest first, between the floor and the sides' upper ends."""
    order = sorted(range(len(sides.shelves)), key=lambda i: sides.shelves[i])
    for i in order:
        top = sides.shelves[i]
        low = top - section.height + section.offset
        if low < -1e-9:
            least = section.height - section.offset
            raise shop.error(
                f"a shelf at {shop.length(top)} runs into the floor; make it {shop.length(least)} "
                "or more",
                "sides", "shelves", i,
            )  # fmt: skip
        if top + section.offset > sides.height + 1e-9:
            raise shop.error(
                f"a shelf at {shop.length(top)} stands above the sides; make it "
                f"{shop.length(sides.height - section.offset)} or less",
                "sides", "shelves", i,
            )  # fmt: skip
    return [sides.shelves[i] for i in order]


STARTER = """\
# Shelves with edging: a plywood panel, stiffened by a lip that is deeper than the panel is thick.
# Change `length` first, and read the sag; then `edging_width`.
name: my shelf
units: inch

stock:
  panel: {sheet: fir-plywood-3-4}
  lip: {wood: red-oak, thickness: 3/4}

build:
  - design: edged-shelf
    name: shelf
    stock: panel
    edging_stock: lip
    length: 36
    depth: 11
    edges: [front]            # front, back, left, right
    edging_width: 1-1/2       # height of the edging
    offset: 0                 # the panel lies that much below the edging's upper edge
    load: 50 lb/ft2           # or for a whole shelf 25 kg
    # sides:                  # two sides make a book-shelf of it
    #   stock: lip
    #   height: 40
    #   shelves: [4, 16, 28, 39]
    #   rail: 3
"""

DESIGN = Design(
    "A shelf with edging, alone or between two sides; tells how far it sags.",
    EdgedShelf,
    plan,
    STARTER,
    levers,
)
