"""What a project is: boards, joints, bores and screws, all placed; what all that follows sees."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Literal

from ..machine.router import Router
from ..machine.saw import Cutting
from ..maths.geometry import ORIGIN, Pose, Vec, along, dot
from ..words.lengths import Unit, format_stocked
from .board import Board, Seen, Side
from .convex import Crowd
from .lever import Change, RecipePath

Severity = Literal["fails", "warns", "notes"]
SLOT_PLAY = 0.2  # mm that a slot is wider than the screw on each side: common practice, no source
JointKind = Literal[
    "mitre", "edge", "butt", "frame", "box", "edging", "top", "housed", "loose",
]  # fmt: skip


@dataclass(frozen=True)
class Limits:
    """How much wood must stay, mm; `max_swing` and the tolerance steer placement.

    The defaults are common practice, no source; a recipe may state its own.

    Attributes:
        show_wall: least wall to a face that shows.
        hidden_wall: least wall to a face that does not show.
        wander: how far the drill may wander off its line: a wall thinner than this may be none.
        tip_cover: least cover of a screw's tip and thread in the mating board.
        between: least distance between bores or screws in one board.
        tolerance: how far a pencil line may be off, each way.
        max_swing: largest swing that placement may choose, degrees.
        moisture_change: by how many percentage points the moisture content of solid wood may rise
            or fall once the piece stands in its room.
    """

    show_wall: float = 3.0
    hidden_wall: float = 1.5
    wander: float = 0.5
    tip_cover: float = 3.0
    between: float = 3.0
    tolerance: float = 1.5
    max_swing: float = 30.0
    moisture_change: float = 4.0

    def wall(self, seen: Seen) -> float:
        """Least wall to a face by how it is seen (mm)."""
        return max(self.show_wall if seen == "exposed" else self.hidden_wall, self.wander)

    @property
    def any_wall(self) -> float:
        """The wall that will do for every face (mm)."""
        return max(self.wall("exposed"), self.wall("concealed"))


@dataclass(frozen=True)
class Drill:
    """The stepped drill and its guide (mm, degrees).

    Attributes:
        name: key of the table or the recipe's own.
        counterbore_radius: R.
        pilot_radius: r.
        slope: angle between the bore's axis and the pocket face.
        bits: free lengths of the driver's bits from the screw's head, short to long.
        driver_radius: of the driver's body.
        driver_length: of the driver's body behind the bit.
        bit_radius: of the bit's shank.
    """

    name: str
    counterbore_radius: float
    pilot_radius: float
    slope: float
    bits: tuple[float, ...]
    bit_radius: float
    driver_radius: float
    driver_length: float

    @property
    def sizes(self) -> tuple[float, float, float]:
        """What it takes of the wood: both radii and the slope."""
        return self.counterbore_radius, self.pilot_radius, self.slope

    def bit(self, depth: float, head: float) -> float:
        """The shortest bit (mm) that keeps the driver off the pocket face, else the longest.

        Args:
            depth: of the exit below the pocket face, mm.
            head: distance from the exit to the top of the screw's head along the axis, mm.
        """
        slope = math.radians(self.slope)
        clear = (depth + self.driver_radius * math.cos(slope)) / math.sin(slope) - head
        return next((bit for bit in self.bits if bit >= clear), self.bits[-1])


@dataclass(frozen=True)
class Screw:
    """A screw, by gauge, thread and length (mm). `radius` is half the nominal shank diameter.

    `title` is what is printed, the recipe's unit first: `#8 x 1-1/4" (32 mm) coarse thread`.
    """

    gauge: str
    thread: Literal["coarse", "fine"]
    length: float
    radius: float
    head_radius: float
    head_height: float
    title: str

    def titled(self, unit: Unit) -> Screw:
        """The same screw, with its length told in a unit before the other one."""
        told = f"{self.gauge} x {format_stocked(self.length, unit)} {self.thread} thread"
        return replace(self, title=told)


@dataclass(frozen=True)
class Bound:
    """What limits a bore: which of its bodies would come too near, and to what.

    Attributes:
        body: of the bore; "" where it is the whole that is stopped.
        face: printed name of the face or cut; "" where it is a board, whichever its face.
        board: role of the board, where that is not the bored one.
    """

    body: str = ""
    face: str = ""
    board: str = ""

    def says(self, board: str = "") -> str:
        """In words; `board` stands for the board's role where a face of it is named."""
        whose = f" of {board or self.board}" if self.face and self.board else ""
        what = f"{self.face}{whose}" or self.board
        return f"{self.body} to {what}" if self.body else what


NEXT_POCKET = Bound(face="the next pocket")
OTHER_BORE = Bound(face="another joint's bore or screw")
END_OF_JOINT = Bound(face="the end of the joint")


@dataclass(frozen=True)
class Window:
    """Where a bore may lie along its joint, and where it was put.

    Attributes:
        datum: what the position is measured from ("outside corner").
        position: mm from the datum.
        low: lower end of the window (mm).
        high: upper end (mm); `low > high` when there is none.
        low_binds: what stops the bore at the lower end.
        high_binds: what stops it at the upper end.
    """

    datum: str
    position: float
    low: float
    high: float
    low_binds: Bound = Bound()
    high_binds: Bound = Bound()

    @property
    def margin(self) -> float:
        """How far the bore may move to the nearer end (mm); negative when there is no window."""
        if self.low > self.high:
            return self.high - self.low
        return min(self.position - self.low, self.high - self.position)


@dataclass(frozen=True)
class PocketId:
    """Which pocket: of a joint, the number from its datum on; 0 for the only one of its joint."""

    joint: str
    number: int = 0

    def __str__(self) -> str:
        return f"{self.joint} pocket {self.number}" if self.number else f"{self.joint} pocket"


def pockets_of(joint: str, count: int) -> tuple[PocketId, ...]:
    """The pockets of a joint, from its datum on."""
    return tuple(PocketId(joint, n if count > 1 else 0) for n in range(1, count + 1))


@dataclass(frozen=True)
class Bore:
    """One slanted pocket bore and its screw.

                       pocket face
        ________________ _________
                     .-' R  .'          back: unit vector, from the exit up to the pocket face
        joint  ___.-'___.-'             s:    shoulder, from the exit along the axis
        face |--r-- x s                 L:    screw, from the shoulder; L - s stands in the mate
        _____|___________________

    Attributes:
        pocket: which one it is; unique in the project.
        board: name of the bored board.
        pocket_face: side of the bored board that the drill enters.
        joint_face: side of the bored board that the pilot leaves by.
        mate: name of the mating board.
        mate_face: side of the mating board that the screw enters.
        exit: point of the axis on the joint face, board frame (mm).
        back: unit vector along the axis into the bored board, board frame.
        slope: angle between axis and pocket face, degrees.
        swing: turn of the axis about the pocket face's normal, from square to the joint, degrees.
        shoulder: s, distance from exit to shoulder along the axis (mm).
        drill: the drill.
        screw: the screw.
        window: where it may lie along the joint.
        pilot_into_mate: how far the pilot goes on into the mating board along the axis (mm).
        slot: how much longer than wide the pilot is at the joint face, so that the screw may move
            with the mate: half of it each way (mm); 0: a round pilot.
        slot_along: unit vector in the joint plane that the slot runs along, board frame.
    """

    pocket: PocketId
    board: str
    pocket_face: Side
    joint_face: Side
    mate: str
    mate_face: Side
    exit: Vec
    back: Vec
    slope: float
    swing: float
    shoulder: float
    drill: Drill
    screw: Screw
    window: Window
    pilot_into_mate: float = 0.0
    slot: float = 0.0
    slot_along: Vec = (0.0, 0.0, 0.0)

    @cached_property
    def name(self) -> str:
        """Unique in the project, as a name is printed."""
        return str(self.pocket)

    @property
    def joint(self) -> str:
        """Name of its joint."""
        return self.pocket.joint

    @property
    def pilot_radius(self) -> float:
        """Of the pilot in the bored board (mm): the drill's, or of a slot that clears the screw."""
        if self.slot <= 0:
            return self.drill.pilot_radius
        return max(self.drill.pilot_radius, self.screw.radius + SLOT_PLAY)

    @property
    def pilot_shifts(self) -> tuple[Vec, ...]:
        """From the axis to the pilot's axis at the ends of its slot, square to the axis (mm).

        A slot along the joint plane cuts the same wood as one square to the axis, prolonged.
        """
        if self.slot <= 0:
            return ((0.0, 0.0, 0.0),)
        square = along(self.slot_along, self.back, -dot(self.slot_along, self.back))
        half = self.slot / 2
        x, y, z = square
        return ((half * x, half * y, half * z), (-half * x, -half * y, -half * z))

    @property
    def engagement(self) -> float:
        """Length of the screw in the mating board along the axis, L - s (mm)."""
        return self.screw.length - self.shoulder

    @property
    def tip(self) -> Vec:
        """The screw's tip, in the bored board's frame (mm)."""
        return along(self.exit, self.back, -self.engagement)

    @property
    def seat(self) -> Vec:
        """The shoulder's centre, in the bored board's frame (mm)."""
        return along(self.exit, self.back, self.shoulder)

    @property
    def head(self) -> float:
        """Distance from the exit to the top of the screw's head along the axis (mm)."""
        return self.shoulder + self.screw.head_height

    def bit(self, board: Board) -> float:
        """Free length of the bit that drives the screw into the bored board (mm)."""
        return self.drill.bit(board.face(self.pocket_face).plane.gap(self.exit), self.head)

    def run_out(self, board: Board) -> float:
        """Distance from the exit to where the whole counterbore is in the air (mm, on the axis)."""
        plane = board.face(self.pocket_face).plane
        sine = dot(plane.normal, self.back)
        reach = plane.gap(self.exit) / sine
        lean = math.sqrt(1 - sine * sine) / sine
        return reach + self.drill.counterbore_radius * lean + 1.0


@dataclass(frozen=True)
class Joint:
    """Two faces that meet, and the bores that pull them together.

    Attributes:
        name: unique in the project ("mirror corner 1").
        kind: the trade's word.
        first: name of a board, and `first_face` its side.
        second: name of the other board, and `second_face` its side.
        bores: may be empty (glued, housed or loose).
        key: where its recipe may say how it is bored otherwise; () where there is none.
    """

    name: str
    kind: JointKind
    first: str
    first_face: Side
    second: str
    second_face: Side
    bores: tuple[Bore, ...] = ()
    key: RecipePath = ()

    def pocket_key(self, bore: Bore) -> RecipePath:
        """Where its recipe may say how one of its pockets is bored otherwise."""
        return (*self.key[:-1], str(replace(bore.pocket, joint=str(self.key[-1]))))


@dataclass(frozen=True)
class Hardware:
    """Something bought that is neither board nor screw: glass, slides, pins, spacers.

    Attributes:
        name: what to ask for.
        detail: size or make, where it matters.
        quantity: how many.
        piece: that it goes into.
        holds: what it fastens the piece to: `wall`, `neighbour`, `worktop`, `floor`; else "".
    """

    name: str
    detail: str
    quantity: int
    piece: str
    holds: str = ""


@dataclass(frozen=True)
class Finding:
    """What a rule or a proof has to say.

    Attributes:
        rule: code, a page of its own.
        severity: fails, warns or notes.
        message: one sentence.
        board: name, or "".
        joint: name, or "".
        bore: name, or "".
        face: printed name of the face, or "".
        measured: mm, where the rule measures.
        needed: mm, where the rule measures.
        remedy: what to change, computed.
        point: in the project's frame (mm).
        changes: the remedy, one way after the other, so that a program can apply it.
        solid: whether it was measured on a solid, not in closed form.
    """

    rule: str
    severity: Severity
    message: str
    board: str = ""
    joint: str = ""
    bore: str = ""
    face: str = ""
    measured: float | None = None
    needed: float | None = None
    remedy: str = ""
    point: Vec | None = None
    changes: tuple[Change, ...] = ()
    solid: bool = False


@dataclass(frozen=True)
class Project:
    """A whole project, placed. Lengths in mm, printed in `unit`; without a router the usual one.

    `stands` is where pieces stand and how they are turned, by name; one not in it as it was laid
    out: its width along x, its front towards -y.
    `copies` has the names of the copies of each piece of which there are several.
    """

    name: str
    unit: Unit
    boards: tuple[Board, ...]
    joints: tuple[Joint, ...]
    hardware: tuple[Hardware, ...] = ()
    limits: Limits = field(default_factory=Limits)
    findings: tuple[Finding, ...] = ()
    reports: tuple[str, ...] = ()
    router: Router | None = None
    cutting: Cutting = Cutting()
    stands: Mapping[str, Pose] = field(default_factory=dict)
    copies: tuple[tuple[str, ...], ...] = ()

    @cached_property
    def board_named(self) -> Mapping[str, Board]:
        """Boards by name."""
        return {board.name: board for board in self.boards}

    def stand(self, piece: str) -> Pose:
        """Where a piece stands: from its own frame to the project's."""
        return self.stands.get(piece, ORIGIN)

    @cached_property
    def joint_named(self) -> Mapping[str, Joint]:
        """Joints by name."""
        return {joint.name: joint for joint in self.joints}

    @cached_property
    def crowd(self) -> Crowd:
        """The boards where they stand."""
        return Crowd(self.boards)

    @cached_property
    def bores(self) -> tuple[Bore, ...]:
        """Every bore, joint by joint."""
        return tuple(bore for joint in self.joints for bore in joint.bores)

    @cached_property
    def bored(self) -> Mapping[str, tuple[Bore, ...]]:
        """The bores whose pocket is in a board, by its name."""
        return self._bores_by("board")

    @cached_property
    def screwed(self) -> Mapping[str, tuple[Bore, ...]]:
        """The bores whose screw enters a board as the mate, by its name."""
        return self._bores_by("mate")

    def _bores_by(self, end: str) -> Mapping[str, tuple[Bore, ...]]:
        found: dict[str, list[Bore]] = {board.name: [] for board in self.boards}
        for bore in self.bores:
            found[getattr(bore, end)].append(bore)
        return {name: tuple(bores) for name, bores in found.items()}
