"""A small project by hand: two mitred rails with swung pockets, a shelf at an upright."""

from __future__ import annotations

import math
from dataclasses import replace

from slantbore.models.maths.geometry import Pose, Vec, turned
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, Stock
from slantbore.models.piece.project import Bore, Drill, Joint, PocketId, Project, Screw, Window
from slantbore.models.work.groove import Groove
from slantbore.models.work.rebate import Rebate
from tests.boards import blank

R, r, T, WIDTH, LENGTH = 4.7625, 1.75, 19.05, 63.5, 400.0
SLOPE, SHOULDER = 15.0, 16.0

DRILL = Drill("stepped", R, r, SLOPE, (150.0,), 3.0, 25.0, 200.0)
SCREW = Screw("#8", "coarse", 31.75, 2.1, 4.0, 2.5, '#8 x 32 mm (1-1/4") coarse thread')
PINE = Stock("rails", "eastern-white-pine", "19 mm pine", T, "softwood")
OAK = Stock("shelf", "white-oak", "19 mm oak", T, "hardwood")


def back_from(normal: Vec, slope: float = SLOPE, swing: float = 0.0) -> Vec:
    """Direction `back` of a bore at a joint face with this outward normal, in at the top."""
    c, s = math.cos(math.radians(slope)), math.sin(math.radians(slope))
    square: Vec = (-normal[0] * c, -normal[1] * c, s)
    return turned(square, (0.0, 0.0, 1.0), swing)


def bore(
    pocket: PocketId,
    board: Board,
    face: str,
    exit: Vec,
    mate: str,
    mate_face: str,
    swing: float = 0.0,
    shoulder: float = SHOULDER,
    into_mate: float = 0.0,
) -> Bore:
    """A pocket in the board's top face that leaves at `exit` on `face`."""
    back = back_from(board.face(face).plane.normal, SLOPE, swing)
    window = Window("corner", 0.0, 0.0, 0.0)
    return Bore(
        pocket, board.name, TOP, face, mate, mate_face, exit, back,
        SLOPE, swing, shoulder, DRILL, SCREW, window, into_mate,
    )  # fmt: skip


def mitred(name: str, pose: Pose) -> Board:
    """A rail with both ends at 45 degrees, its front edge the long one; the top face is hidden."""
    return blank(
        name, "mirror", "rail", PINE, LENGTH, WIDTH, left_mitre=45, right_mitre=45,
        names={FRONT: "outside edge", BACK: "inside edge", TOP: "back", BOTTOM: "front"},
        seen={TOP: "concealed", LEFT: "concealed", RIGHT: "concealed"}, pose=pose,
    )  # fmt: skip


def corner(swing: float = 15.0, along_mitre: float = 52.0) -> Project:
    """Three rails of a square mitred frame; the first and the second are bored, so alike."""
    poses = [
        Pose((0, 0, 0), (1, 0, 0), (0, 1, 0)),
        Pose((LENGTH, 0, 0), (0, 1, 0), (-1, 0, 0)),
        Pose((LENGTH, LENGTH, 0), (-1, 0, 0), (0, -1, 0)),
    ]
    boards = [mitred(f"rail {n + 1}", pose) for n, pose in enumerate(poses)]
    half = along_mitre / math.sqrt(2)
    exit: Vec = (LENGTH - half, half, T / 2)
    joints = []
    for n in (0, 1):
        name = f"corner {n + 1}"
        one = bore(PocketId(name), boards[n], RIGHT, exit, boards[n + 1].name, LEFT, -swing)
        joints.append(Joint(name, "mitre", boards[n].name, RIGHT, boards[n + 1].name, LEFT, (one,)))
    return Project("corner", "mm", tuple(boards), tuple(joints))


def butt(shoulder: float = SHOULDER, across: float = 30.0, into_mate: float = 6.0) -> Project:
    """A shelf whose end meets the face of an upright; the upright has a rebate and a groove."""
    upright_pose = Pose((0, 0, 0), (0, 0, 1), (0, 1, 0))
    # The upright's z axis is x cross y = (-1, 0, 0): its bottom face looks to +x.
    groove = Groove(
        name="panel groove", seen="exposed", edge=FRONT, face=TOP, distance=20, width=6, depth=6
    )
    rebate = Rebate(name="back rebate", edge=BACK, face=BOTTOM, width=9, depth=7)
    side = blank(
        "Ständer 1", "shelf", "upright", PINE, LENGTH, WIDTH, work=(groove, rebate),
        pose=upright_pose,
    )  # fmt: skip
    shelf = blank(
        "shelf", "shelf", "shelf", OAK, 250.0, WIDTH - 9.0,
        seen={TOP: "concealed", BOTTOM: "exposed"},
        pose=Pose((0, 0, 150.0)),
    )  # fmt: skip
    pockets = tuple(
        bore(PocketId("shelf end", n), shelf, LEFT, (0.0, y, T / 2), side.name, BOTTOM,
             shoulder=shoulder, into_mate=into_mate)
        for n, y in ((1, across - 15.0), (2, across + 10.0))
    )  # fmt: skip
    joint = Joint("shelf end", "butt", "shelf", LEFT, side.name, BOTTOM, pockets)
    return Project("butt", "mm", (side, shelf), (joint,))


def with_board(project: Project, board: Board) -> Project:
    """The project with one board exchanged, or added when it is new."""
    kept = [b for b in project.boards if b.name != board.name]
    order = {b.name: n for n, b in enumerate(project.boards)}
    boards = sorted([*kept, board], key=lambda b: order.get(b.name, len(order)))
    return replace(project, boards=tuple(boards))
