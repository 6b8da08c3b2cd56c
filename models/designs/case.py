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

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ..maths.geometry import Pose
from ..piece.board import BACK, BOTTOM, FRONT, TOP, Board, Seen, Side
from ..piece.lever import Lever, lever
from ..piece.project import Hardware, Joint, JointKind
from ..placing.joints import join
from ..placing.meetings import Meeting, both_ends
from ..placing.shop import Piece, Shop
from ..wood.screws import usual_shoulder
from ..words.lengths import Usual, write_length
from . import Design
from ._case_boards import PIN_INSET, PIN_PITCH, PIN_RADIUS, PIN_SKIN, Carcass
from ._case_drawers import case_drawers
from ._case_params import Case
from ._drawer_screws import drawer_levers
from .face_frame import FrameParams, face_frame, grid

_DRIVER_ROOM = 50.0  # mm that a driver needs past its length; common practice, no source
_RAIL = Usual(90, "3-1/2")
_LEAST_INSIDE = 60.0  # mm each way: a hand and a driver; common practice, no source


def plan(params: Case, shop: Shop) -> Piece:
    """Boards, joints and drawers of a case.

    Raises:
        RecipeError: sizes that make no case, at their place.
    """
    stock = shop.stock(params.stock, "stock")
    sheet = shop.stock(params.back.stock, "back", "stock") if params.back else None
    case = Carcass(shop, params, stock, sheet)
    _refuse(case)
    drawers, top = case_drawers(case)
    heights = case.rows(min(top, case.clear)) if params.adjustable else []
    sides = (case.side("left", heights), case.side("right", heights))
    bottom = case.across(
        "bottom", case.kick, seen={BOTTOM: "concealed" if params.toe_kick else "semi-exposed"}
    )
    shelves = [
        case.across(f"shelf {i}" if len(case.levels) > 1 else "shelf", level, seen=_UNDER)
        for i, level in enumerate(case.levels, 1)
    ]
    roofs = case.roofs()
    step, meetings, glued = _toe_kick(case, sides, bottom)
    rails = [] if params.hanging_rail is None else [case.hanging_rail(params.hanging_rail)]
    glued += [(rail, BACK, roofs[-1], BOTTOM) for rail in rails]
    spread = [
        *(replace(meeting, pairs=True) for meeting in _between("box", bottom, BOTTOM, sides)),
        *(m for shelf in shelves for m in _between("box", shelf, BOTTOM, sides)),
        *(m for roof in roofs for m in _between("butt", roof, TOP, sides)),
        *(m for rail in rails for m in _between("butt", rail, BOTTOM, sides)),
    ]
    boards = [*sides, bottom, *shelves, *roofs, *rails, *step]
    if sheet is not None:
        back = case.back(sheet)
        boards.append(back)
        glued += [(back, TOP, board, BACK) for board in (bottom, roofs[-1], *shelves)]
        glued += [(back, TOP, rail, BOTTOM) for rail in rails]
        if not case.rebate:
            glued += [(back, TOP, side, BACK) for side in sides]
    hardware = _wall_screws(case) if rails else ()
    if params.adjustable is not None:
        boards += case.adjustable(params.adjustable, heights)
        count = 4 * params.adjustable.shelves
        size = f"for {shop.length(2 * PIN_RADIUS)} holes"
        hardware += (Hardware("shelf pins", size, count, shop.name),)
    joints, findings = join(shop, [*spread, *meetings], boards=boards)
    piece = Piece(tuple(boards), tuple(joints), hardware, tuple(findings))
    if params.face_frame is not None:
        frame, more = _framed(case, params.face_frame, boards)
        piece += frame
        glued += more
    return piece + Piece((), tuple(_glued(shop, *pair) for pair in glued)) + drawers


def _wall_screws(case: Carcass) -> tuple[Hardware, ...]:
    """One near each end of the hanging rail, and one every 400 mm between: studs are 16 in apart.

    Common practice, no source; how strong they must be is for the wall and the load to say.
    """
    count = 2 + int(case.inside // 400)
    detail = "through the hanging rail into studs or masonry; size and fixing as wall and load ask"
    return (Hardware("wall screws", detail, count, case.shop.name, holds="wall"),)


_Pair = tuple[Board, Side, Board, Side]
_UNDER: dict[Side, Seen] = {BOTTOM: "semi-exposed"}


def _glued(shop: Shop, first: Board, face: Side, second: Board, other: Side) -> Joint:
    """Two faces that are glued or pinned, without pockets."""
    short = second.name.removeprefix(shop.label(""))
    return Joint(f"{first.name} to {short}", "butt", first.name, face, second.name, other)


def _between(
    kind: JointKind, board: Board, pocket: Side, sides: tuple[Board, Board]
) -> list[Meeting]:
    """Both ends of a board at the insides of the sides."""
    names = (f"{board.name} to {hand} side" for hand in ("left", "right"))
    return both_ends(kind, board, pocket, zip(sides, (BOTTOM, TOP), strict=True), names)


def _toe_kick(
    case: Carcass, sides: tuple[Board, Board], bottom: Board
) -> tuple[list[Board], list[Meeting], list[_Pair]]:
    """The boards under the bottom, how they are bored, and what they are glued to."""
    kick, shop = case.params.toe_kick, case.shop
    if kick is None:
        return [], [], []
    inner = kick.setback + case.thick
    if not case.based:
        board = case.upright("toe kick", case.inside, case.thick, inner, turned=False)
        flush = _between("butt", board, BOTTOM, sides)
        meetings = [replace(meeting, flush=True, after=(bottom,)) for meeting in flush]
        return [board], meetings, [(board, BACK, bottom, BOTTOM)]
    front = case.upright("base front", case.width, 0.0, inner, turned=False)
    rear = case.upright("base back", case.width, case.width, case.deep - case.thick, turned=True)
    meetings = []
    # The pockets are inside where front and back leave room for a driver between them.
    room = case.deep - kick.setback - 2 * case.thick
    bit = shop.drill.bit(case.thick / 2, usual_shoulder(shop.drill, case.thick))
    within = room > bit + shop.drill.driver_length + _DRIVER_ROOM
    ends = [case.base_end(hand, kick.setback, within) for hand in ("left", "right")]
    for board, mates in zip(ends, ((front, rear), (rear, front)), strict=True):
        names = (f"{board.name} to {mate.role}" for mate in mates)
        at: list[tuple[Board, Side]] = [(mate, BOTTOM) for mate in mates]
        both = both_ends("butt", board, TOP if within else BOTTOM, at, names)
        both.sort(key=lambda meeting: meeting.mate is rear)
        meetings += [replace(meeting, flush=within) for meeting in both]
    return [front, rear, *ends], meetings, [(b, BACK, bottom, BOTTOM) for b in (front, rear)]


def _framed(case: Carcass, made: FrameParams, boards: Sequence[Board]) -> tuple[Piece, list[_Pair]]:
    """The face frame before the case, flush with its outsides, and what it is glued to."""
    part, at = case.shop.part("face frame"), ("face_frame",)
    laid = grid(part, (case.width, case.height - case.kick), made, at)
    thick = part.stock(made.stock, *at, "stock").thickness
    behind = Pose((0.0, thick, -case.kick))
    frame = face_frame(
        part, laid, made, at, [board.placed(board.pose.then(behind)) for board in boards]
    ).placed(Pose((0.0, -thick, case.kick)))
    named = {board.name.removeprefix(part.label("")): board for board in frame.boards}
    pairs: list[_Pair] = [
        (named["left stile"], BOTTOM, boards[0], FRONT),
        (named["right stile"], BOTTOM, boards[1], FRONT),
        (named["bottom rail"], BOTTOM, boards[2], FRONT),
    ]
    return frame, pairs


def _refuse(case: Carcass) -> None:
    """Refuse sizes that make no case.

    Raises:
        RecipeError: which size, and what would do.
    """
    shop, params, said = case.shop, case.params, case.shop.length
    kick = params.toe_kick
    for way, size, least in (
        ("wide", case.inside, _LEAST_INSIDE),
        ("high", case.clear - case.low, _LEAST_INSIDE),
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
        wanted = max(wanted, 2 * PIN_INSET + PIN_PITCH)
    if case.deep < wanted:
        raise shop.error(
            f"the case would be {said(case.deep) if case.deep > 0 else 'nothing'} deep inside; "
            f"with its stretchers, toe kick and pin rows it needs {said(wanted)} at least",
            "depth",
        )
    if case.rebate > case.thick - PIN_SKIN:
        raise shop.error(
            f"a rebate {said(case.rebate)} deep leaves too little of sides {said(case.thick)} "
            f"thick; make it at most {said(max(0.0, case.thick - PIN_SKIN))}",
            "back",
        )
    if params.adjustable is not None and case.thick < 2 * PIN_SKIN:
        raise shop.error(
            f"sides {said(case.thick)} thick hold no pins: take {said(2 * PIN_SKIN)} at least",
            "adjustable",
        )
    under = case.low
    for level in case.levels:
        if level < under + _LEAST_INSIDE or level + case.thick > case.clear - _LEAST_INSIDE:
            raise shop.error(
                f"the shelf {said(level - case.low)} above the bottom leaves less than "
                f"{said(_LEAST_INSIDE)} to what is below or above it",
                "shelves",
            )
        under = level + case.thick


def levers(params: Case, shop: Shop) -> Iterator[Lever]:
    """A rail to hang it by, and the groove of its drawers."""
    if params.hanging_rail is None:
        width, says = shop.usual(_RAIL), "give it a hanging rail {} wide"
        at, values = shop.at("hanging_rail"), [write_length(width, shop.recipe.unit)]
        yield lever("rail", at, says, values, cures=frozenset({"tip-over"}))
    if params.drawers is not None:
        yield from drawer_levers(params.drawers, shop, ("drawers",))


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
    # hanging_rail: 90                      # under the top, for a case that is hung or tall
    back: {stock: back, fit: rebate}        # or planted; leave out for none
    adjustable: {shelves: 1}                # on pins, 32 mm rows
    # shelves: [300]                        # fixed ones: heights above the bottom
    # face_frame and drawers: see the recipes that ship with the tool
"""

DESIGN = Design(
    "A case of sheet goods: base, wall or tall, with shelves, face frame and drawers.",
    Case,
    plan,
    STARTER,
    levers,
)
