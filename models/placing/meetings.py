"""Two boards whose faces meet, and how they are to be pulled together."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from ..maths.geometry import Vec, dot
from ..piece.board import LEFT, OPPOSITE, RIGHT, Board, Face, Seen, Side
from ..piece.convex import standing
from ..piece.held import Held
from ..piece.project import JointKind
from ..wood.movement import Slide
from ..wood.screws import Fastening
from ..wood.tables import DrillRow
from ..words.lengths import quoted
from ..words.names import nearest
from .layout import Practice, Shares, Spacing
from .likeness import nearby, surrounded
from .shop import Shop
from .site import Site

ANY_FACE = "any"
"""For a face to bore from: the one least in sight that serves."""
# Common practice, no source: beyond it a screw slides along the joint more than it pulls.
_MOST_LEAN = 30.0  # degrees off square between a pocket face and the joint
HIDDEN_FIRST: dict[Seen, int] = {"concealed": 0, "semi-exposed": 1, "exposed": 2}


@dataclass(frozen=True)
class Meeting:
    """Two faces that meet, and how they are to be pulled together.

    Attributes:
        name: of the joint, unique in the project.
        kind: the trade's word.
        bored: the bored board, placed.
        joint_face: its side that meets the mate.
        pocket_face: its side that the drill enters.
        mate: the mating board, placed.
        mate_face: its side that is met.
        count: of pockets; None: as the kind of joint and the length ask for.
        datum: printed name of what positions are measured from, "" for the side they start at.
        toward: rough direction in which positions grow, bored board's frame; None: from the front
            edge or the left end.
        end: stretch at both ends of the joint to keep free, mm (later trimming).
        shift: moves the wished positions along the joint, mm (staggering).
        flush: whether the mate ends flush with the face opposite the pocket face.
        pairs: whether pockets come in pairs.
        after: boards that stand already when the screws are driven, placed.
        slide: how the mate swells and shrinks past the bored board: the pilots are slotted for it.
        others: more sides that the drill may enter; a side less in sight is tried first.
        swings: that the pockets may have, degrees, in order of preference; none: a mitre's as
            little as serves, any other joint's square.
        crossed: whether the pockets of a mitre are bored from either board in turn.
    """

    name: str
    kind: JointKind
    bored: Board
    joint_face: Side
    pocket_face: Side
    mate: Board
    mate_face: Side
    count: int | None = None
    datum: str = ""
    toward: Vec | None = None
    end: float = 0.0
    shift: float = 0.0
    flush: bool = False
    pairs: bool = False
    after: tuple[Board, ...] = ()
    slide: Slide | None = None
    others: tuple[Side, ...] = ()
    swings: tuple[float, ...] = ()
    crossed: bool = False

    @property
    def thickness(self) -> float:
        """Of the bored board across the pocket face, mm."""
        return self.bored.across(self.pocket_face)

    @property
    def mating_depth(self) -> float:
        """Of the mate square to the joint, mm; at most the bored board's thickness counts.

        Common practice, no source: a screw is chosen as for equal stock, or for the thinner mate.
        """
        return min(self.mate.across(self.mate_face), self.thickness)

    def bored_from(self, side: Side) -> Meeting:
        """The same, bored from another face: what was said of the first one is not true there."""
        if side == self.pocket_face:
            return self
        return replace(self, pocket_face=side, flush=False, others=())

    def fitting(self, shop: Shop, row: DrillRow | None = None) -> list[Fastening]:
        """The screws that fit, the preferred one first; with another drill than the recipe's."""
        found = shop.fastenings(self.thickness, self.mate.stock, self.mating_depth, row)
        return (self.flush and shop.flush(found, self.thickness)) or found

    def fastening(self, shop: Shop) -> Fastening:
        """The preferred screw; where none fits the shortest, to see and to measure."""
        found = self.fitting(shop)
        return found[0] if found else shop.shortest(self.thickness, self.mate.stock)

    @property
    def spacing(self) -> Spacing:
        """Where along the joint pockets are wished."""
        if self.kind == "mitre":
            return Shares(self.count or 1)
        return Practice("edging" if self.pairs else self.kind, self.count, self.shift)

    def plain_site(self, shop: Shop, fastening: Fastening) -> Site:
        """The joint's line, other bores not regarded."""
        return Site(
            self.bored,
            self.mate,
            self.joint_face,
            self.pocket_face,
            self.mate_face,
            self.toward or (1.0, 1.0, 1.0),
            self.datum,
            shop.drill,
            fastening.screw,
            fastening.shoulder,
            fastening.exit_depth,
        )

    def site(self, shop: Shop, fastening: Fastening, held: Held) -> Site:
        """The joint's line, with the bores that both boards hold already."""
        plain = self.plain_site(shop, fastening)
        if self.slide is not None:
            ends = (plain.exit(0.0), plain.exit(plain.reach[1]))
            slot = max(self.slide.slot(end) for end in ends)
            plain = replace(plain, slot=slot, slot_along=self.slide.along)
        full = plain.among(
            datum=self.datum or start_of(plain),
            beside=held.rods(self.bored, self.bored),
            ahead=held.rods(self.mate, self.bored),
            driven_past=tuple(
                (board.role, piece.within(self.bored.pose))
                for board in self.after
                for piece in standing(board)
            ),
        )
        return nearby(surrounded(full, held, shop.limits), shop.limits)


def both_ends(
    kind: JointKind,
    board: Board,
    pocket: Side,
    mates: Iterable[tuple[Board, Side]],
    names: Iterable[str],
) -> list[Meeting]:
    """The left and the right end of a board at the faces of others, bored from one face.

    Args:
        kind: of both joints.
        board: the bored one.
        pocket: its face that the drill enters.
        mates: what the left and the right end meet.
        names: of the two joints.
    """
    return [
        Meeting(name, kind, board, end, pocket, mate, face)
        for name, end, (mate, face) in zip(names, (LEFT, RIGHT), mates, strict=True)
    ]


def asked(shop: Shop, meeting: Meeting) -> Meeting:
    """The meeting with what the recipe says of this joint in particular.

    Raises:
        RecipeError: it cannot be bored from the face that is named.
    """
    wish = shop.wish(meeting.name)
    if wish.pockets is not None:
        meeting = replace(meeting, count=wish.pockets)
    if wish.pockets_in is None or "/" in wish.pockets_in:  # from the other board: see otherwise.py
        return meeting
    if wish.pockets_in == ANY_FACE:
        first, *others = pocket_faces(meeting.bored, meeting.joint_face)
        return replace(meeting.bored_from(first), others=tuple(others))
    at = shop.wished_at(meeting.name, "pockets_in")
    side = pocket_face(shop, meeting.bored, meeting.joint_face, wish.pockets_in, *at)
    return meeting.bored_from(side)


def pocket_faces(board: Board, joint_face: Side) -> list[Side]:
    """The faces from which a pocket leads to a joint face, the one least in sight first.

    Faces that show are left out, unless there are no others; wide faces come before narrow ones.
    """
    square = _square_to(board, joint_face)
    hidden = [f for f in square if f.seen != "exposed"] or square
    ranked = sorted(hidden, key=lambda f: (HIDDEN_FIRST[f.seen], board.across(f.side)))
    return [face.side for face in ranked]


def pocket_face(shop: Shop, board: Board, joint_face: Side, word: str, *at: str | int) -> Side:
    """The side of a board that a face's name stands for, if a pocket leads from it to the joint.

    Args:
        shop: for the error.
        board: the bored one.
        joint_face: its side that meets the mate.
        word: a face's name or its side.
        at: the piece's key where the word stands.

    Raises:
        RecipeError: there is no such face, or none that a drill can start in.
    """
    called: dict[str, Side] = {f.side: f.side for f in board.faces}
    called |= {f.name: f.side for f in board.faces}
    if word not in called:
        known = [face.name for face in board.faces]
        raise shop.error(
            f"{quoted(word)} is no face of {board.role}{nearest(word, known)} "
            f"(faces: {', '.join(known)})",
            *at,
        )
    square = _square_to(board, joint_face)
    if called[word] not in {face.side for face in square}:
        raise shop.error(
            f"the {word} does not stand square on the joint: no pocket leads from it to the "
            f"{board.face(joint_face).name} (square: {', '.join(face.name for face in square)})",
            *at,
        )
    return called[word]


def _square_to(board: Board, side: Side) -> list[Face]:
    """The faces that border one of a board and stand square to it, or as nearly as a splay asks."""
    normal = board.face(side).plane.normal
    most = math.sin(math.radians(_MOST_LEAN)) + 1e-9
    square = (f for f in board.faces if abs(dot(f.plane.normal, normal)) <= most)
    return [face for face in square if face.side not in (side, OPPOSITE[side])]


def has_line(shop: Shop, meeting: Meeting) -> bool:
    """Whether the faces meet where the screws leave, at the depth of the pilots."""
    return meeting.plain_site(shop, meeting.fastening(shop)).meets


def start_of(site: Site) -> str:
    """Printed name of the bored board's face that the positions start nearest to."""
    start = site.reach[0]
    faces = [f for f in site.board.faces if f.side not in (site.joint_face, site.pocket_face)]
    along_line = [f for f in faces if dot(f.plane.normal, site.line) < -0.3] or faces
    return min(along_line, key=lambda f: abs(f.plane.gap(start))).name
