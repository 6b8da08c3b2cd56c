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
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from pydantic import Field

from ..maths.geometry import Pose
from ..piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP
from ..piece.lever import Lever, lever
from ..piece.project import Hardware, Joint
from ..placing.shop import Keys, Piece, Shop, to_origin
from ..recipe.params import Length, Size
from ..recipe.stated import PieceParams
from ..words.lengths import Usual, larger_sizes
from . import Design
from ._drawer_parts import Box, DrawerParams, Front
from ._drawer_screws import drawer_levers, screwed


@dataclass(frozen=True)
class Clearance:
    """Air between a drawer's box and its opening (mm): on each side, below and above."""

    side: float
    below: float
    above: float


_LARGER = 1.5  # times an opening's height or width: larger ones are not thought of


def side_slides(shop: Shop) -> Clearance:
    """For side-mounted slides: 1/2 in (12.7 mm) a side. Common practice, no source."""
    return Clearance(12.7, shop.usual(Usual(6, "1/4")), shop.usual(Usual(12, "1/2")))


def wooden_runners(shop: Shop) -> Clearance:
    """For a box that runs on wooden runners level with the opening. Common practice, no source."""
    return Clearance(shop.usual(Usual(1.5, "1/16")), 0.0, shop.usual(Usual(3, "1/8")))


_RUNNERS = {"side slides": side_slides, "wooden runners": wooden_runners}


class DrawerBox(DrawerParams, PieceParams):
    """A drawer with a false front, made to run in an opening."""

    opening: Size = Field(description="opening that the drawer runs in, width x height")
    depth: Length = Field(description="of the box, front to back, false front not counted")
    runner: Literal["side slides", "wooden runners"] = Field(
        "side slides", description="what the drawer runs on; decides the clearances"
    )


def drawer(
    shop: Shop,
    opening: tuple[float, float],
    depth: float,
    clearance: Clearance,
    made: DrawerParams,
    at: Keys = (),
    *,
    above: float | None = None,
    below: float | None = None,
) -> Piece:
    """A drawer in its opening.

    Args:
        shop: view of the part ("drawer 1").
        opening: width and height (mm).
        depth: of the box, front to back (mm).
        clearance: between box and opening.
        made: what it is made of.
        at: keys of `made` in the piece.
        above: how far the false front reaches beyond the opening there (mm); None: as at its sides.
        below: likewise.

    Returns:
        The drawer in the opening's frame: the lower left corner of the opening, on the plane of
        its front, is the origin. An inset false front lies in the opening, an overlay in front.

    Raises:
        RecipeError: sizes that make no drawer, at their place.
    """
    width = opening[0] - 2 * clearance.side
    height = opening[1] - clearance.below - clearance.above
    front, back = None, 0.0
    if made.front is not None:
        stock = shop.stock(made.front.stock, *at, "front", "stock")
        inset = made.front.fit == "inset"
        beyond = -made.front.reveal if inset else made.front.overlap
        if min(opening) + 2 * beyond <= 0:
            raise shop.error("the reveal leaves nothing of the false front", *at, "front", "reveal")
        above, below = (beyond if some is None else some for some in (above, below))
        front = Front(
            stock,
            opening[0] + 2 * beyond,
            opening[1] + above + below,
            -clearance.side - beyond,
            -clearance.below - below,
        )
        back = stock.thickness if inset else 0.0
    box = drawer_box(shop, width, depth, height, made, front, at)
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
    box = Box(shop, width, depth, height, made, stock, sheet, front, at)
    box.refuse_unsound()
    sides = (box.side("left side"), box.side("right side"))
    ends, joints, findings = screwed(box, sides)
    boards = [*sides, *ends]
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
    clearance = _RUNNERS[params.runner](shop)
    piece = drawer(shop, params.opening, params.depth, clearance, params)
    if params.runner == "side slides":
        piece += Piece((), (), (slides(shop, params.depth, clearance),))
    return piece.placed(to_origin(piece.boards))


def levers(params: DrawerBox, shop: Shop) -> Iterator[Lever]:
    """The groove; a higher or a wider opening."""
    yield from drawer_levers(params, shop)
    for axis, says in ((1, "higher"), (0, "wider")):
        sizes = larger_sizes(params.opening, axis, _LARGER, shop.recipe.unit)
        told = f"make the opening {says}, {{}}"
        yield lever(says, shop.at("opening"), told, sizes, least=True, size=True)


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
    "A drawer: box with its bottom in a groove, false front, room for slides or runners.",
    DrawerBox,
    plan,
    STARTER,
    levers,
)
