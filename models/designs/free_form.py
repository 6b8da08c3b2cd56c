"""A piece of your own: parts, and the joints between their faces; the places follow from these.

    joints:
      - {kind: butt, board: rail / left end, meets: leg / inside face, pockets_in: back,
         flush: [{face: upper edge, to: upper end}, {face: front, to: front edge, set_back: 1/4}]}

The left end of the rail lies against the inside face of the leg; which leaves the rail free to
slide both ways on that face and to turn, so two more of its faces are said to be flush with faces
of the leg. A board that is held by several joints needs the less from each.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from pydantic import Field, model_validator

from ..maths.geometry import Plane, Pose, Vec, dot
from ..piece.board import LEFT, RIGHT, Board, Side
from ..piece.contact import overlaps, shared_area, surface
from ..piece.convex import standing
from ..piece.project import Finding, Hardware, Joint
from ..placing.assembly import Statement, UnsettledError, solve, trace
from ..placing.joints import join
from ..placing.meetings import ANY_FACE, Meeting, asked, has_line, pocket_face, pocket_faces
from ..placing.shop import Piece, Shop, to_origin
from ..recipe.params import Many, Name, Params
from ..recipe.stated import PieceParams
from ..words.lengths import quoted
from ..words.names import nearest, one_of
from . import Design
from ._free_joints import UNSCREWED, FreeJoint, joint_names
from ._parts import Part, part_board, whole_parts

Way = Literal["right", "left", "back", "front", "up", "down"]
_WAYS: dict[Way, Vec] = {
    "right": (1.0, 0.0, 0.0),
    "left": (-1.0, 0.0, 0.0),
    "back": (0.0, 1.0, 0.0),
    "front": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
_LEAST_AREA = 1e-3  # mm2 that two faces share to be said to touch


class Stance(Params):
    """How the first part stands: which way its length and its width grow."""

    length: Way = Field("right", description="from its left end to its right end")
    width: Way = Field("back", description="from its front edge to its back edge")

    @model_validator(mode="after")
    def _across(self) -> Stance:
        if dot(_WAYS[self.length], _WAYS[self.width]) != 0:
            raise ValueError(f"width: it cannot lie along the length ({self.length}) as well")
        return self


class Bought(Params):
    """Something bought that goes with the piece."""

    name: Name = Field(description="what to ask for")
    detail: str = Field("", description="size or make")
    quantity: Many = Field(1, description="how many")


class FreeForm(PieceParams):
    """A piece of your own, from parts and the joints between their faces."""

    parts: dict[Name, Part] = Field(min_length=1, description="boards, by name")
    joints: list[FreeJoint] = Field(default_factory=list, description="where they meet")
    stands: Stance = Field(default_factory=Stance, description="how the first part stands")
    hardware: list[Bought] = Field(default_factory=list, description="what else is bought")


@dataclass(frozen=True)
class _Ends:
    """A joint's two boards (by part) and faces, resolved."""

    part: str
    side: Side
    mate: str
    mate_side: Side
    pockets: tuple[Side, ...]


def plan(params: FreeForm, shop: Shop) -> Piece:
    """Stand the parts as their joints say, and bore them.

    Raises:
        RecipeError: parts or joints that cannot be, or leave a part no place or more than one.
    """
    parts = whole_parts(params.parts, shop)
    boards = {name: part_board(parts, shop, name) for name in parts}
    ends = [_ends(shop, boards, joint, i) for i, joint in enumerate(params.joints)]
    placed = _stood(params, shop, boards, ends)
    _touching(shop, placed, ends)
    names = joint_names(params.joints, shop)
    meetings = {
        i: asked(shop, _meeting(params.joints[i], placed, end, names[i]))
        for i, end in enumerate(ends)
        if end.pockets
    }
    for i, meeting in meetings.items():
        _has_line(shop, meeting, i)
    joints, findings = _joined(params, shop, placed, ends, names, meetings)
    hardware = tuple(Hardware(h.name, h.detail, h.quantity, shop.name) for h in params.hardware)
    return Piece(tuple(placed.values()), joints, hardware, findings)


# --- joints --------------------------------------------------------------------------------------


def _side(shop: Shop, boards: Mapping[str, Board], text: str, *at: str | int) -> tuple[str, Side]:
    """The part and the side that `part / face` names."""
    part, slash, word = (piece.strip() for piece in text.partition("/"))
    if not slash or not word:
        raise shop.error(
            f"{quoted(text)}: a part and its face must stand here, such as `rail / left end`", *at
        )
    try:
        name = one_of(part, boards, "part")
    except ValueError as error:
        raise shop.error(str(error), *at) from None
    return name, _face(shop, boards[name], name, word, *at)


def _face(shop: Shop, board: Board, name: str, word: str, *at: str | int) -> Side:
    """The side that a face's name, or the side's own word, stands for."""
    cuts = [face for c in board.cuts if c.round is None for face in c.faces]
    called = {face.side: face.side for face in (*board.faces, *cuts)}
    called |= {face.name: face.side for face in (*board.faces, *cuts)}
    if word in called:
        return called[word]
    known = [face.name for face in (*board.faces, *cuts)]
    raise shop.error(
        f"{quoted(word)} is no face of {name}{nearest(word, known)} (faces: {', '.join(known)})",
        *at,
    )


def _ends(shop: Shop, boards: Mapping[str, Board], joint: FreeJoint, index: int) -> _Ends:
    at = ("joints", index)
    part, side = _side(shop, boards, joint.board, *at, "board")
    mate, mate_side = _side(shop, boards, joint.meets, *at, "meets")
    if part == mate:
        raise shop.error(f"{part} is joined to itself", *at, "meets")
    for key, name, word in (("board", part, side), ("meets", mate, mate_side)):
        if word not in boards[name].by_side and joint.kind not in UNSCREWED:
            raise shop.error(
                f"the {word} is a cut's face: only a {' or '.join(UNSCREWED)} joint is made there",
                *at,
                key,
            )
    pockets: tuple[Side, ...] = ()
    if joint.pockets_in == ANY_FACE:
        pockets = tuple(pocket_faces(boards[part], side))
    elif joint.pockets_in is not None:
        word = joint.pockets_in
        pockets = (pocket_face(shop, boards[part], side, word, *at, "pockets_in"),)
    return _Ends(part, side, mate, mate_side, pockets)


def _statements(
    params: FreeForm, shop: Shop, boards: Mapping[str, Board], ends: Sequence[_Ends]
) -> Iterator[Statement]:
    """What every joint says of place."""
    for index, (joint, end) in enumerate(zip(params.joints, ends, strict=True)):
        board, mate = boards[end.part], boards[end.mate]
        here, there = board.outward(end.side), mate.outward(end.mate_side)
        yield Statement(
            index, None, end.part, here, end.mate, there, True, 0.0,
            f"the {_called(board, end.side)} of {end.part} meets the "
            f"{_called(mate, end.mate_side)} of {end.mate}",
        )  # fmt: skip
        for item, flush in enumerate(joint.flush):
            planes: list[Plane] = []
            for key, own, name, base in (("face", board, end.part, here),
                                         ("to", mate, end.mate, there)):  # fmt: skip
                at = ("joints", index, "flush", item, key)
                word = getattr(flush, key)
                side = _face(shop, own, name, word, *at)
                plane = trace(base, own.outward(side))
                if plane is None:
                    raise shop.error(
                        f"the {word} of {name} lies along the joint: say a face that crosses it",
                        *at,
                    )
                planes.append(plane)
            how = f"is flush with the {flush.to} of {end.mate}"
            if flush.set_back > 0:
                how = f"is {shop.length(flush.set_back)} behind the {flush.to} of {end.mate}"
            elif flush.set_back < 0:
                how = f"is {shop.length(-flush.set_back)} proud of the {flush.to} of {end.mate}"
            yield Statement(
                index, item, end.part, planes[0], end.mate, planes[1], False, flush.set_back,
                f"the {flush.face} of {end.part} {how}",
            )  # fmt: skip


def _whole(board: Board, side: Side) -> Side:
    """The blank's own face that looks the way of a cut's face."""
    if side in board.by_side:
        return side
    normal = board.outward(side).normal
    return max(board.faces, key=lambda face: dot(face.plane.normal, normal)).side


def _called(board: Board, side: Side) -> str:
    return board.by_side[side].name if side in board.by_side else side


# --- places --------------------------------------------------------------------------------------


def _stood(
    params: FreeForm, shop: Shop, boards: Mapping[str, Board], ends: Sequence[_Ends]
) -> dict[str, Board]:
    """The boards in their places, the lowest front left corner of all at the origin."""
    start = next(iter(boards))
    pose = Pose((0.0, 0.0, 0.0), _WAYS[params.stands.length], _WAYS[params.stands.width])
    statements = list(_statements(params, shop, boards, ends))
    try:
        stands = solve(boards, start, pose, statements, shop.length)
    except UnsettledError as error:
        keys: tuple[str | int, ...] = ("parts", error.board)
        if error.joint is not None:
            keys = ("joints", error.joint)
            keys += () if error.item is None else ("flush", error.item)
        raise shop.error(str(error), *keys) from None
    placed = {name: board.placed(stands[name]) for name, board in boards.items()}
    shift = to_origin(placed.values())
    return {name: board.placed(board.pose.then(shift)) for name, board in placed.items()}


def _touching(shop: Shop, placed: Mapping[str, Board], ends: Sequence[_Ends]) -> None:
    """Every joint's faces share some area, and no two boards share wood."""
    pieces = {name: standing(board) for name, board in placed.items()}
    for index, end in enumerate(ends):
        board, mate = placed[end.part], placed[end.mate]
        here = surface(board, end.side, pieces[end.part])
        there = surface(mate, end.mate_side, pieces[end.mate])
        if shared_area(here, there, _LEAST_AREA) <= _LEAST_AREA:
            raise shop.error(
                f"the {_called(board, end.side)} of {end.part} and the "
                f"{_called(mate, end.mate_side)} of {end.mate} lie in one plane but do not touch; "
                "look at `flush` and `set_back`, or at the parts' sizes",
                "joints", index,
            )  # fmt: skip
    for a, b, *_ in overlaps(pieces):
        joints = [i for i, end in enumerate(ends) if {end.part, end.mate} == {a, b}]
        joints += [i for i, end in enumerate(ends) if b in (end.part, end.mate)]
        keys: tuple[str | int, ...] = ("joints", joints[0]) if joints else ("parts", b)
        raise shop.error(
            f"{a} and {b} run into each other: shorten one, or move it by `flush` and `set_back`",
            *keys,
        )


# --- pockets -------------------------------------------------------------------------------------


def _meeting(joint: FreeJoint, placed: Mapping[str, Board], end: _Ends, name: str) -> Meeting:
    board, mate = placed[end.part], placed[end.mate]
    first, *others = end.pockets
    plain = Meeting(
        name,
        joint.kind,
        board,
        end.side,
        first,
        mate,
        end.mate_side,
        joint.pockets,
        others=tuple(others),
    )
    if joint.kind != "mitre" or end.side not in (LEFT, RIGHT):
        return plain
    # Positions on a mitre count from its outside corner: the sharp one.
    normal = board.face(end.side).plane.normal
    across: Vec = (0.0, 1.0 if normal[1] >= 0 else -1.0, 0.0)
    return replace(plain, toward=across, datum="outside corner")


def _has_line(shop: Shop, meeting: Meeting, index: int) -> None:
    """The faces meet where the screws leave, at the depth of the pilots."""
    if not any(has_line(shop, meeting.bored_from(side)) for side in
               (meeting.pocket_face, *meeting.others)):  # fmt: skip
        face = meeting.bored.face(meeting.pocket_face).name
        raise shop.error(
            f"the screws would leave {shop.length(meeting.thickness / 2)} below the {face} of "
            f"{meeting.bored.role}, where it does not touch {meeting.mate.role}; bore it from "
            "another face, or let more of it meet",
            "joints", index, "pockets_in",
        )  # fmt: skip


def _joined(
    params: FreeForm,
    shop: Shop,
    placed: Mapping[str, Board],
    ends: Sequence[_Ends],
    names: Sequence[str],
    meetings: Mapping[int, Meeting],
) -> tuple[tuple[Joint, ...], tuple[Finding, ...]]:
    """All joints in the recipe's order."""
    done: dict[int, Joint] = {}
    for index, end in enumerate(ends):
        if not end.pockets:
            board, mate, kind = placed[end.part], placed[end.mate], params.joints[index].kind
            here, there = _whole(board, end.side), _whole(mate, end.mate_side)
            done[index] = Joint(names[index], kind, board.name, here, mate.name, there)
    joined, lacks = join(shop, list(meetings.values()), boards=list(placed.values()))
    done |= dict(zip(meetings, joined, strict=True))
    return tuple(done[i] for i in sorted(done)), tuple(lacks)


STARTER = """\
# A small stand of your own: two sides, a shelf between them, a top that overhangs.
# Change the parts' sizes first; the places follow from the joints.
name: my stand
units: inch

stock:
  ply: {sheet: plywood-3-4}

build:
  - design: free-form
    name: stand
    stands: {length: up, width: back}     # how the first part stands
    parts:
      # A board lies with its grain from left to right: left and right end, front and back edge,
      # top and bottom face. Call the faces what they are in the piece.
      left side:
        stock: ply
        length: 18
        width: 12
        faces: {top face: outside, bottom face: inside, left end: foot, right end: upper end}
        seen: {inside: semi-exposed, foot: concealed, upper end: concealed}
      right side:
        like: left side
        faces: {bottom face: outside, top face: inside, left end: foot, right end: upper end}
      shelf:
        stock: ply
        length: 16
        width: 11
        faces: {bottom face: underside}
        seen: {underside: semi-exposed, left end: concealed, right end: concealed}
      top:
        stock: ply
        length: 20
        width: 13
        faces: {bottom face: underside}
        seen: {underside: semi-exposed}
    joints:
      # board: the bored one, with the face by which it meets the other; flush: what else of its
      # place the joint settles.
      - kind: butt
        board: shelf / left end
        meets: left side / inside
        pockets_in: underside
        flush:
          - {face: front edge, to: front edge, set_back: 1/2}
          - {face: underside, to: foot, set_back: 3}
      - kind: butt
        board: shelf / right end
        meets: right side / inside
        pockets_in: underside
        flush:
          - {face: front edge, to: front edge, set_back: 1/2}
          - {face: underside, to: foot, set_back: 3}
      - kind: butt
        board: left side / upper end
        meets: top / underside
        pockets_in: inside
        flush:
          - {face: front edge, to: front edge, set_back: 1/2}
          - {face: outside, to: left end, set_back: 1-1/4}
      - kind: butt
        board: right side / upper end
        meets: top / underside
        pockets_in: inside
"""

DESIGN = Design(
    "A piece of your own: parts, and the joints between their faces.", FreeForm, plan, STARTER
)
