"""Small projects that stand a hair to either side of a rule's limit."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from slantbore.models.maths.geometry import Pose, Vec
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, TOP, Board, Hole, Seen, Stock
from slantbore.models.piece.project import Bore, Finding, Joint, Limits, PocketId, Project, Window
from tests.boards import Stated, blank, cut
from tests.generators.small import SCREW, SLOPE, WIDTH, R, T, bore, corner

HAIR = 0.05  # mm
UPRIGHT, SHELF = 300.0, 250.0
MAPLE = Stock("dense", "hard-maple", "hard maple", T, "hardwood")
PINE = Stock("rails", "eastern-white-pine", "eastern white pine", T, "softwood")


@dataclass(frozen=True)
class Pair:
    """One rule's limit from both sides.

    Attributes:
        rule: its code.
        at: from the distance to the limit (mm, negative is short of it) to a project.
        says: words that the finding's message has.
        measures: whether the finding tells the measure of this very limit.
    """

    rule: str
    at: Callable[[float], Project]
    says: str = ""
    measures: bool = True

    def told(self, findings: Iterator[Finding] | tuple[Finding, ...]) -> list[Finding]:
        """Those findings that the pair is about."""
        return [
            f for f in findings
            if f.rule == self.rule and f.severity != "notes" and self.says in f.message
        ]  # fmt: skip


def butt(
    *bores: Bore,
    stock: Stock = PINE,
    pocket: Seen = "concealed",
    upright: Board | None = None,
    up: float = 150.0,
) -> Project:
    """A shelf whose left end meets the bottom face of an upright (that looks to +x)."""
    side = blank(
        "upright", "shelf", "upright", stock, UPRIGHT, WIDTH,
        pose=Pose((0, 0, 0), (0, 0, 1), (0, 1, 0)),
    )  # fmt: skip
    shelf = blank(
        "shelf", "shelf", "shelf", PINE, SHELF, WIDTH, seen={TOP: pocket, BOTTOM: "concealed"},
        pose=Pose((0, 0, up)),
    )  # fmt: skip
    joint = Joint("joint", "butt", "shelf", LEFT, "upright", BOTTOM, bores)
    return Project("butt", "mm", (side, shelf), (joint,))


def pocket(number: int = 0, across: float = WIDTH / 2, shoulder: float = 18.0) -> Bore:
    """A pocket in the top of the shelf."""
    shelf = butt().board_named["shelf"]
    exit: Vec = (0.0, across, T / 2)
    return bore(PocketId("joint", number), shelf, LEFT, exit, "upright", BOTTOM, shoulder=shoulder)


def _radians() -> tuple[float, float]:
    return math.sin(math.radians(SLOPE)), math.cos(math.radians(SLOPE))


def _edge(margin: float, wall: float, seen: Seen = "exposed") -> Project:
    """The counterbore of a shelf's pocket beside its front edge."""
    project = butt(pocket(across=wall + R + margin))
    shelf = project.board_named["shelf"]
    shelf = replace(shelf, seen={**shelf.seen, FRONT: seen})
    boards = tuple(shelf if b.name == "shelf" else b for b in project.boards)
    return replace(project, boards=boards)


def show_wall(margin: float) -> Project:
    return _edge(margin, 3.0)


def hidden_wall(margin: float) -> Project:
    return _edge(margin, 1.5, "concealed")


def wander(margin: float) -> Project:
    return _edge(margin, 0.5, "concealed")


def breakout(margin: float) -> Project:
    return _edge(margin, 0.0)


def tip(margin: float) -> Project:
    """The tip below the far face of the upright: reach L - s, tip's rim lower by r sin t."""
    sine, cosine = _radians()
    # deepest point of the screw's end: (L - s) cos t + r sin t
    engaged = (T - 3.0 - margin - SCREW.radius * sine) / cosine
    return butt(pocket(shoulder=SCREW.length - engaged))


def between(margin: float) -> Project:
    """Two parallel counterbores: their axes 2R + 3 apart."""
    one = pocket(1, across=25.0)
    other = pocket(2, across=25.0 + 2 * R + 3.0 + margin)
    return butt(one, other)


def seat(margin: float) -> Project:
    """The shoulder's centre 0.4 R below the pocket face, measured in the shoulder's plane."""
    sine, cosine = _radians()
    return butt(pocket(shoulder=(T / 2 - (0.4 * R + margin) * cosine) / sine))


def through(margin: float) -> Project:
    """6 mm of wood between the shoulder's rim and the joint: s cos t - R sin t."""
    sine, cosine = _radians()
    screw = replace(SCREW, length=25.4)
    return butt(replace(pocket(shoulder=(6.0 + margin + R * sine) / cosine), screw=screw))


def engaged(margin: float) -> Project:
    """A screw that stands two diameters deep."""
    return butt(pocket(shoulder=SCREW.length - 4 * SCREW.radius - margin))


def near_end(margin: float) -> Project:
    """A screw 2.5 diameters from the end of an upright of maple; its tip is the nearest to it."""
    sine, _ = _radians()
    one = pocket()
    low = 2.5 * 2 * SCREW.radius + margin + one.engagement * sine
    return butt(one, stock=MAPLE, up=low - T / 2)


def slanting(margin: float) -> Project:
    """The counterbore of a swung pocket beside the outside edge of a mitred rail, 3 mm away."""
    # Where it is 3 mm was found on solids before: 43.64 mm along the mitre; exactly, by halving.
    low, high = 30.0, 60.0
    while high - low > 1e-9:
        middle = (low + high) / 2
        low, high = (low, middle) if _outside(middle) >= 3.0 + margin else (middle, high)
    return corner(15.0, high)


def _outside(along_mitre: float) -> float:
    """Wall to the outside edge by hand: of a disc whose plane is square to the axis.

    The counterbore comes nearest at the pocket face or at its shoulder; here at the point of the
    ellipse on the pocket face that lies farthest out.
    """
    # Axis in plan: from the exit, 45 degrees square to the mitre turned by 15 toward the length.
    sine, cosine = _radians()
    turn = math.radians(45 - 15)
    plan = (-math.cos(turn), -math.sin(turn))
    y = along_mitre / math.sqrt(2)
    run = T / 2 / math.tan(math.radians(SLOPE))
    centre = y + plan[1] * run
    # An ellipse of half axes R / sin t along the axis in plan and R across.
    reach = math.hypot(R / sine * plan[1], R * plan[0])
    return centre - reach


def _with(project: Project, name: str, **changed: object) -> Project:
    """The project with something else about one board."""
    boards = tuple(replace(b, **changed) if b.name == name else b for b in project.boards)  # type: ignore[arg-type]
    return replace(project, boards=boards)


LEG = 40.0
APRON = LEG - T  # where an apron's outside lies when its inside is flush with the leg's
DOWN, UP = 35.0, WIDTH - 35.0  # mm from an apron's upper edge to a pocket, and from its lower edge


def crossing(margin: float) -> Project:
    """Two aprons at a leg, flush with its inside faces: their screws pass over each other in it.

    The screws are level, so that the axes pass at the difference of their heights: 2 r + 3.
    """
    high = 300.0
    leg = blank(
        "leg", "table", "leg", MAPLE, 400.0, LEG, thickness=LEG,
        pose=Pose((LEG, 0, 0), (0, 0, 1), (0, 1, 0)),
    )  # fmt: skip
    poses = {
        "apron": Pose((LEG, APRON, high), (1, 0, 0), (0, 0, -1)),
        "short apron": Pose((APRON, LEG, high - WIDTH), (0, 1, 0), (0, 0, 1)),
    }
    lower = UP - 2 * SCREW.radius - 3.0 - margin
    joints = []
    aprons = []
    for (name, pose), side, across in zip(
        poses.items(), (BOTTOM, BACK), (DOWN, lower), strict=True
    ):
        apron = blank(name, "table", name, PINE, 300.0, WIDTH, seen={TOP: "concealed"}, pose=pose)
        one = bore(PocketId(f"{name} joint"), apron, LEFT, (0.0, across, T / 2), "leg", side)
        joints.append(Joint(one.joint, "butt", name, LEFT, "leg", side, (one,)))
        aprons.append(apron)
    return Project("corner of a table", "mm", (leg, *aprons), tuple(joints))


PIN = Hole("pin hole", (26.0, 0.0, T), (0.0, 0.0, -1.0), 2.5, 10.0)


def beside_hole(margin: float) -> Project:
    """A counterbore that passes a pin hole in the shelf at right angles: R + the hole's + 3."""
    across = 25.0
    hole = replace(PIN, mouth=(26.0, across + R + PIN.radius + 3.0 + margin, T))
    return _with(butt(pocket(across=across)), "shelf", work=(Stated((hole,)),))


GROOVE = 8.0  # mm deep, and 6 mm wide


def beside_groove(margin: float) -> Project:
    """A counterbore beside a groove along the shelf's pocket face, 1.5 mm from its wall."""
    across = 25.0
    wall = across + R + 1.5 + margin
    groove = cut(
        "groove",
        {"floor": ((0, 0, -1), -(T - GROOVE)), "front wall": ((0, -1, 0), -wall),
         "back wall": ((0, 1, 0), wall + 6.0)},
    )  # fmt: skip
    return _with(butt(pocket(across=across)), "shelf", work=(Stated((groove,)),))


def tip_beside_groove(margin: float) -> Project:
    """A screw's tip beside a groove in the far face of the upright, 3 mm from its wall."""
    across = 25.0
    wall = across + SCREW.radius + 3.0 + margin
    groove = cut(
        "groove",
        {"floor": ((0, 0, -1), -(T - 6.0)), "front wall": ((0, -1, 0), -wall),
         "back wall": ((0, 1, 0), wall + 6.0)},
    )  # fmt: skip
    return _with(butt(pocket(across=across)), "upright", work=(Stated((groove,)),))


def driver(margin: float) -> Project:
    """The driver's body just over the shelf: its front rim at d sin t - B cos t above the exit."""
    sine, cosine = _radians()
    one = pocket()
    out = (T / 2 + one.drill.driver_radius * cosine + margin) / sine
    bit = out - one.shoulder - one.screw.head_height
    return butt(replace(one, drill=replace(one.drill, bits=(bit,))))


def as_wide(project: Project, width: float) -> Project:
    """The same boards, all of one width."""
    boards = tuple(
        blank(b.name, b.piece, b.role, b.stock, b.length, width, pose=b.pose,
              seen={TOP: "concealed", BOTTOM: "concealed"})
        for b in project.boards
    )  # fmt: skip
    return replace(project, boards=boards)


def window(margin: float) -> Project:
    """A shelf so narrow that a pocket has twice the tolerance between the walls to both edges."""
    room = 2 * Limits().tolerance + margin
    width = 2 * (R + 3.0) + room
    project = butt(
        replace(
            pocket(across=width / 2),
            window=Window("front edge", width / 2, R + 3.0, R + 3.0 + room),
        )
    )
    return as_wide(project, width)


def narrow(margin: float) -> Project:
    """A shelf as wide as two pockets side by side and half of one beside and between them: 7 R."""
    width = 7 * R + margin
    off = 1.5 * R + margin / 4
    project = butt(pocket(1, width / 2 - off), pocket(2, width / 2 + off))
    return as_wide(project, width)


def screw_by_pocket(margin: float) -> Project:
    """A screw that comes up from a post below and passes the shelf's counterbore: R + r + 3.

    Seen from the front the axes cross, 20 mm from the shelf's end.
    """
    slope = math.tan(math.radians(SLOPE))
    project = butt(pocket())
    across, x = project.bores[0].exit[1] - R - SCREW.radius - 3.0 - margin, 20.0
    enters = x + (T / 2 + x * slope) * slope
    post = blank(
        "post", "shelf", "post", PINE, 100.0, 40.0, seen={TOP: "concealed"},
        pose=Pose((enters - T / 2, across - 20.0, 150.0), (0, 0, -1), (0, 1, 0)),
    )  # fmt: skip
    other = bore(PocketId("post joint"), post, LEFT, (0.0, 20.0, T / 2), "shelf", BOTTOM)
    other = replace(other, screw=replace(SCREW, length=other.shoulder + 17.5))
    joint = Joint("post joint", "butt", "post", LEFT, "shelf", BOTTOM, (other,))
    return replace(project, boards=(*project.boards, post), joints=(*project.joints, joint))


def stocked(margin: float) -> Project:
    """A screw 0.5 mm longer than the one in stock."""
    return butt(replace(pocket(), screw=replace(SCREW, length=SCREW.length + 0.5 - margin)))


PAIRS = {
    "wall to a face that shows": Pair("thin-wall", show_wall, "counterbore"),
    "wall to a hidden face": Pair("thin-wall", hidden_wall, "counterbore"),
    "wall at a slant": Pair("thin-wall", slanting, "outside edge"),
    "wall to a groove": Pair("thin-wall", beside_groove, "the groove"),
    "breakout": Pair("breakout", breakout, measures=False),
    "cover of the tip": Pair("tip-cover", tip),
    "tip beside a groove": Pair("tip-cover", tip_beside_groove, "the groove"),
    "two pockets": Pair("too-close", between),
    "screws that cross": Pair("too-close", crossing),
    "screw beside a pocket": Pair("too-close", screw_by_pocket),
    "beside a round hole": Pair("too-close", beside_hole, "pin hole"),
    "seat of the head": Pair("seat", seat, "of the shoulder"),
    "wood before the shoulder": Pair("seat", through, "pull through"),
    "depth in the mate": Pair("engagement", engaged, "tapered tip"),
    "length in stock": Pair("engagement", stocked, "not stocked", measures=False),
    "end of a dense board": Pair("splitting", near_end, "splits easily", measures=False),
    "driver over the board": Pair("out-of-reach", driver, "driver's body", measures=False),
    "width for two pockets": Pair("narrow-board", narrow),
    "room for a pencil line": Pair("narrow-window", window),
}
