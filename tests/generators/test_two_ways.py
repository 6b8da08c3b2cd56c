"""Closed form against exact solids, for seeded random boards and bores.

A wall is measured twice: by models/ (support functions of a cylinder within half-spaces) and on
solids of the kernel (cylinder and blank intersected as B-rep, then the exact distance from what
they share to the polygon of each face, or to the box of each cut). The solids are built in brep.py
by a second hand: they share neither code nor formula with the closed form or with generators/.

    always                                    closed form <= solid + 1e-6 mm
    where the wall is less than is asked      closed form == solid within 1e-6 mm, where a negative
                                              wall (how far the bore stands out) counts as contact

Every case is measured twice in closed form: with the usual limits, where a wall beyond them may be
a lower bound, and with limits so large that every wall has to be the distance itself.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from slantbore.models.judging.measures import Wall
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import Plane, Pose, Vec, along, cross, dot, turned, unit
from slantbore.models.piece.board import (
    BACK,
    BOTTOM,
    FRONT,
    LEFT,
    RIGHT,
    SIDES,
    TOP,
    Board,
    Stock,
)
from slantbore.models.piece.project import (
    Bore,
    Drill,
    Joint,
    Limits,
    PocketId,
    Project,
    Screw,
    Window,
)
from slantbore.models.work.end_cut import sawn
from tests.boards import blank, cut
from tests.generators.brep import BEYOND, Box, Prism, cylinder, distance, shared

CASES, SHARDS = 2000, 10
MATE_EVERY = 7  # of so many cases one is measured in the mating board too; prime to SHARDS
SAME = 1e-6  # mm
STOCK = Stock("oak", "red-oak", "red oak", 19.05, "hardwood")


@dataclass(frozen=True)
class Case:
    number: int
    prism: Prism
    boxes: tuple[Box, ...]
    board: Board
    mate_prism: Prism
    mate_boxes: tuple[Box, ...]
    mate: Board
    bore: Bore


def _mitre(rng: random.Random) -> float:
    return rng.choice([0.0, 45.0, 22.5, 30.0, 60.0, rng.uniform(-50.0, 60.0)])


def _bevel(rng: random.Random) -> float:
    return rng.choice([0.0, 0.0, rng.uniform(-25.0, 25.0)])


def _prism(rng: random.Random) -> Prism:
    width = rng.choice([38.1, 63.5, rng.uniform(25.0, 130.0)])
    thickness = rng.choice([12.7, 19.05, 38.1, rng.uniform(11.0, 45.0)])
    ends = [_mitre(rng), _mitre(rng), _bevel(rng), _bevel(rng)]
    edges = [_bevel(rng), _bevel(rng)] if width > 1.5 * thickness else [0.0, 0.0]
    tans = [abs(math.tan(math.radians(angle))) for angle in ends]
    taken = sum(
        width * mitre + thickness * bevel * math.hypot(1.0, mitre)
        for mitre, bevel in zip(tans[:2], tans[2:], strict=True)
    )
    return Prism(taken + rng.uniform(20.0, 300.0), width, thickness, *ends, *edges)


def _boxes(rng: random.Random, prism: Prism) -> tuple[Box, ...]:
    """None to two cuts: rebates on the edges, grooves along, housings across, openings through."""
    w, t = prism.width, prism.thickness
    deep = rng.uniform(0.2, 0.6) * t
    wide = rng.uniform(4.0, 0.35 * w)
    start = rng.uniform(0.1, 0.5)
    first = start * prism.length
    made = [
        Box("inside rebate", (None, None), (w - wide, None), (t - deep, None)),
        Box("outside rebate", (None, None), (None, wide), (None, deep)),
        Box("groove", (None, None), (start * w, start * w + wide), (None, deep)),
        Box("housing", (first, first + wide), (None, None), (t - deep, None)),
        Box(
            "opening", (first, first + 2 * wide), (start * w, start * w + wide),
            (None, None),
        ),
        Box("stopped groove", (None, 0.4 * prism.length), (start * w, start * w + wide),
            (t - deep, None)),
    ]  # fmt: skip
    return tuple(rng.sample(made, rng.choice([0, 0, 1, 2])))


def _board(name: str, prism: Prism, boxes: tuple[Box, ...], pose: Pose) -> Board:
    angles = {key: value for key, value in vars(prism).items() if "_" in key}
    return blank(
        name, "piece", name, STOCK, prism.length, prism.width, thickness=prism.thickness,
        work=tuple(sawn(**angles)), pose=pose, cuts=tuple(cut(b.name, b.planes()) for b in boxes),
    )  # fmt: skip


def _spot(rng: random.Random, corners: list[Vec]) -> Vec:
    """A point of a polygon with four corners, often near its ends: bores at a board's corner."""
    end = rng.uniform(0.0, 0.12)
    u, v = rng.choice([end, 1 - end, rng.uniform(0.02, 0.98)]), rng.uniform(0.3, 0.7)
    a, b, c, d = corners
    lower = along(a, (b[0] - a[0], b[1] - a[1], b[2] - a[2]), u)
    upper = along(d, (c[0] - d[0], c[1] - d[1], c[2] - d[2]), u)
    return along(lower, (upper[0] - lower[0], upper[1] - lower[1], upper[2] - lower[2]), v)


def _pose(rng: random.Random, face: Plane, at: Vec, meets: Plane, where: Vec) -> Pose:
    """A pose that puts a point of a board's face on a point of a meeting face, turned at random."""

    def frame(normal: Vec, turn: float) -> tuple[Vec, Vec, Vec]:
        helper: Vec = (1.0, 0.0, 0.0) if abs(normal[0]) < 0.7 else (0.0, 1.0, 0.0)
        side = turned(unit(cross(normal, helper)), normal, turn)
        return normal, side, cross(normal, side)

    own = frame(face.normal, 0.0)
    out = meets.normal
    there = frame((-out[0], -out[1], -out[2]), rng.uniform(0.0, 360.0))

    def carried(v: Vec) -> Vec:
        found: Vec = (0.0, 0.0, 0.0)
        for a, b in zip(own, there, strict=True):
            found = along(found, b, dot(v, a))
        return found

    x, y = carried((1.0, 0.0, 0.0)), carried((0.0, 1.0, 0.0))
    d = carried(at)
    return Pose((where[0] - d[0], where[1] - d[1], where[2] - d[2]), unit(x), unit(y))


def _case(number: int) -> Case:
    rng = random.Random(f"two ways {number}")
    prism = _prism(rng)
    boxes = _boxes(rng, prism)
    board = _board(f"board {number}", prism, boxes, Pose())
    joint_face = rng.choice([LEFT, RIGHT, RIGHT, FRONT, BACK])
    pocket_face = rng.choice([TOP, BOTTOM])
    joint, pocket = board.face(joint_face).plane, board.face(pocket_face).plane
    exit = _spot(rng, prism.corners()[joint_face])
    slope = math.radians(rng.choice([15.0, rng.uniform(8.0, 30.0)]))
    swing = rng.choice([0.0, 15.0, rng.uniform(-30.0, 45.0)])
    inward = unit((-joint.normal[0], -joint.normal[1], 0.0))  # the drill lies on the pocket face
    inward = turned(inward, (0.0, 0.0, 1.0), swing)
    back = unit(
        along(along((0.0, 0.0, 0.0), inward, math.cos(slope)), pocket.normal, math.sin(slope))
    )
    # The shoulder's centre stays in the wood, as the smallest sensible seat wants it.
    deepest = pocket.gap(exit) / math.sin(slope)
    shoulder = min(rng.uniform(0.25, 0.98) * deepest, rng.uniform(8.0, 50.0))
    radius = rng.choice([4.7625, rng.uniform(3.4, 6.5)])
    drill = Drill(
        "stepped", radius, rng.uniform(1.2, 2.4), math.degrees(slope), (125.0,), 3.6, 28, 190
    )
    screw = Screw(
        "#8", "fine", shoulder + rng.uniform(6.0, 32.0), rng.uniform(1.5, 2.6), 4, 2.5, "screw"
    )
    mate_prism = _prism(rng)
    mate_boxes = _boxes(rng, mate_prism)
    mate_face = rng.choice(SIDES)
    flat = _board(f"mate {number}", mate_prism, mate_boxes, Pose())
    spot = _spot(rng, mate_prism.corners()[mate_face])
    mate = flat.placed(_pose(rng, flat.face(mate_face).plane, spot, joint, exit))
    bore = Bore(
        PocketId(f"joint {number}"), board.name, pocket_face, joint_face, mate.name,
        mate_face, exit, back, math.degrees(slope), swing, shoulder, drill, screw,
        Window("corner", 0.0, 0.0, 0.0),
    )  # fmt: skip
    return Case(number, prism, boxes, board, mate_prism, mate_boxes, mate, bore)


def _cases(shard: int) -> list[Case]:
    return [_case(number) for number in range(shard, CASES, SHARDS)]


EVERY = Limits(show_wall=1e4, hidden_wall=1e4, tip_cover=1e4)


def _walls(cases: list[Case], limits: Limits = EVERY) -> list[Wall]:
    """The closed form of some cases, in one go."""
    joints = tuple(
        Joint(
            c.bore.joint, "butt", c.board.name, c.bore.joint_face, c.mate.name, c.bore.mate_face,
            (c.bore,),
        )
        for c in cases
    )  # fmt: skip
    boards = tuple(b for c in cases for b in (c.board, c.mate))
    return list(Study(Project("random", "mm", boards, joints, limits=limits)).walls)


def _faults(case: Case, walls: list[Wall], *, in_mate: bool, seen: Counter[str]) -> Iterator[str]:
    """Where the two ways disagree about one bore in one of its boards."""
    bore = case.bore
    if in_mate:
        board, prism, boxes = case.mate, case.mate_prism, case.mate_boxes
        point = board.pose.local_point(bore.exit)
        axis = board.pose.local_direction(bore.back)
        rods = {"screw": cylinder(point, axis, -bore.engagement, BEYOND, bore.screw.radius)}
    else:
        board, prism, boxes = case.board, case.prism, case.boxes
        thick = max(bore.screw.radius, bore.drill.pilot_radius)
        thicker = "screw" if bore.screw.radius > bore.drill.pilot_radius else "pilot"
        far = bore.run_out(board) + BEYOND  # past its run-out a bore must not meet wood again
        rods = {
            "counterbore": cylinder(
                bore.exit, bore.back, bore.shoulder, far, bore.drill.counterbore_radius
            ),
            thicker: cylinder(bore.exit, bore.back, -BEYOND, bore.shoulder, thick),
        }
    solid, faces = prism.solid(), prism.faces()
    size = (prism.length, prism.width, prism.thickness)
    blocks = {box.name: shared(solid, box.solid(*size)) for box in boxes}
    for body, rod in rods.items():
        void = shared(solid, rod)
        for wall in walls:
            if wall.body != body or wall.board.name != board.name:
                continue
            what = f"case {case.number}, {body} to {wall.target} of {wall.board.name}"
            if void is None:
                seen["no void"] += 1
                continue
            target = blocks[wall.target] if wall.cut else faces[wall.target]
            if target is None:
                seen["no cut"] += 1
                if not math.isinf(wall.gap):
                    yield f"{what}: {wall.gap:.6f} from a cut that takes no wood"
                continue
            yield from _about(what, wall, board, distance(void, target)[0], seen)


def _about(
    what: str, wall: Wall, board: Board, measured: float, seen: Counter[str]
) -> Iterator[str]:
    if wall.gap > measured + SAME:
        yield f"{what}: closed form {wall.gap:.9f} over solid {measured:.9f}"
    if wall.out:
        seen["meets a cut" if wall.cut else "break out"] += 1
        if measured > SAME:
            yield f"{what}: said to come out by {-wall.gap:.6f}, but {measured:.6f} away"
        return
    if abs(wall.gap - measured) > SAME:
        yield f"{what}: closed form {wall.gap:.9f}, solid {measured:.9f}"
    # Of the refined ones only those count that a plane does not settle.
    near = board.pose.local_point(wall.point)
    planes = [f.plane for c in board.cuts for f in c.faces if c.name == wall.target]
    planes = planes if wall.cut else [board.face(wall.target).plane]
    square = any(abs(abs(plane.gap(near)) - wall.gap) < SAME for plane in planes)
    seen[f"{'square to' if square else 'past'} a {'cut' if wall.cut else 'face'}"] += 1


@pytest.mark.parametrize("shard", range(SHARDS))
def test_the_closed_form_never_promises_more_wood_than_the_solid_has(shard: int) -> None:
    cases = _cases(shard)
    seen: Counter[str] = Counter()
    faults: list[str] = []
    for case in cases:
        found = _walls([case])
        faults += _faults(case, found, in_mate=False, seen=seen)
        if case.number % MATE_EVERY == 0:
            faults += _faults(case, found, in_mate=True, seen=seen)
    assert not faults, "\n".join(faults[:20])
    # The cases reach every branch of the compare, or it would compare nothing.
    assert len(cases) == CASES // SHARDS
    assert seen["square to a face"] > 2 * len(cases), seen
    assert min(seen["break out"], seen["past a face"]) > len(cases) // 4, seen
    assert min(seen["meets a cut"], seen["square to a cut"], seen["past a cut"]) > 10, seen


def test_what_is_not_asked_for_is_a_lower_bound() -> None:
    cases = _cases(1)
    exact = {(w.bore.name, w.body, w.board.name, w.target): w for w in _walls(cases)}
    bounds = _walls(cases, Limits())
    less = 0
    for wall in bounds:
        full = exact[wall.bore.name, wall.body, wall.board.name, wall.target]
        assert full.exact or full.out or math.isinf(full.gap)
        assert wall.out == full.out
        assert wall.gap <= full.gap + 1e-9 or wall.out
        if wall.exact:
            assert wall.gap == full.gap or abs(wall.gap - full.gap) < 1e-8
        less += wall.gap < full.gap - 1e-3
    assert less > len(cases), "bounds are to be less than distances somewhere"


def test_a_wall_does_not_depend_on_what_else_is_measured() -> None:
    """Unlike boards share padded arrays, and planes out of a rod's reach are left out of them."""
    cases = _cases(0)
    apart = [wall for case in cases for wall in _walls([case])]
    together = {(w.bore.name, w.body, w.board.name, w.target): w for w in _walls(cases)}
    assert len(apart) == len(together)
    for wall in apart:
        other = together[wall.bore.name, wall.body, wall.board.name, wall.target]
        assert other.out == wall.out
        assert other.gap == wall.gap or abs(other.gap - wall.gap) < 1e-9
