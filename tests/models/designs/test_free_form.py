"""Free-form pieces: places solved from joints, the designs said again part by part."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slantbore.models.designs import piece_models
from slantbore.models.designs.free_form import STARTER
from slantbore.models.judging.judge import judge
from slantbore.models.maths.geometry import Pose, dot
from slantbore.models.piece.board import BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, Stock
from slantbore.models.piece.contact import shared_area, surface
from slantbore.models.piece.convex import standing
from slantbore.models.piece.project import Joint, Project
from slantbore.models.placing.assembly import Statement, solve, trace
from slantbore.models.placing.joints import join
from slantbore.models.placing.meetings import Meeting
from slantbore.models.placing.shop import Shop
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from tests.boards import blank

ROOT = Path(__file__).parents[3]
OAK = Stock("oak", "red-oak", "red oak", 19.05, "hardwood")


def planned(text: str) -> Project:
    return plan(parse_recipe(text, "free.yaml", piece_models()))


def near(values: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(round(v, 5) + 0.0 for v in values)


def wood(project: Project) -> set[object]:
    """Every board by its stock and the planes that bound it where it stands."""
    return {
        (
            board.stock.material,
            frozenset(
                near((*plane.normal, plane.offset))
                for plane in (board.pose.plane(face.plane) for face in board.faces)
            ),
            len(board.cuts),
        )
        for board in project.boards
    }


def pockets(project: Project) -> Sequence[object]:
    """Every bore where it stands: its exit, its axis, its shoulder and its screw."""
    found = []
    for bore in project.bores:
        pose = project.board_named[bore.board].pose
        place, axis = near(pose.point(bore.exit)), near(pose.direction(bore.back))
        found.append((place, axis, near((bore.shoulder,)), bore.screw.title))
    return sorted(found)


# --- the designs, said part by part --------------------------------------------------------------

STOCK = """\
name: piece
units: inch
stock:
  rails: {wood: red-oak, thickness: 3/4}
  panel: {sheet: faced-plywood-3-4}
build:
"""


def frame(sides: int, width: str, length: float, height: float, pockets_each: int) -> str:
    """A mitred frame from its rails; the second and every other one is only a mate."""
    text = f"""\
  - design: free-form
    name: mirror
    stands: {{length: right, width: up}}
    parts:
      rail 1:
        stock: rails
        length: {length!r} mm
        width: {width}
        left_mitre: {180 / sides}
        right_mitre: {180 / sides}
        faces: {{top face: front, bottom face: back, front edge: outside edge}}
        seen: {{back: concealed, left end: concealed, right end: concealed}}
        rebates: [{{edge: back edge, face: bottom face, width: 3/8, depth: 3/8}}]
"""
    for i in range(2, sides + 1):
        text += f"      rail {i}: {{like: rail 1, length: {(length, height)[i % 2 == 0]!r} mm}}\n"
    text += "    joints:\n"
    for i in range(1, sides + 1):
        after = i % sides + 1
        # Rails with odd numbers are bored at both ends.
        one, other = f"rail {i} / right end", f"rail {after} / left end"
        if i % 2 == 0:
            one, other = other, one
        text += (
            f"      - {{kind: mitre, board: {one}, meets: {other}, pockets_in: back, "
            f"pockets: {pockets_each},\n"
            "         flush: [{face: front, to: front}, {face: outside edge, to: outside edge}]}\n"
        )
    return STOCK + text


def designed_frame(sides: int, width: str, sight: str, pockets_each: int) -> Project:
    return planned(
        STOCK + f"  - {{design: mitred-frame, name: mirror, stock: rails, rail_width: {width}, "
        f"sight: {sight}, sides: {sides}, pockets: {pockets_each}, "
        "rebate: {width: 3/8, depth: 3/8}}\n"
    )


@pytest.mark.parametrize(
    ("sides", "width", "sight", "pockets_each"),
    [
        (4, "2-1/2", "16 x 24", 1),
        (4, "1-1/2", "10 x 14", 1),
        (4, "3-1/2", "16 x 16", 2),
        (6, "3", "20 x 20", 1),
        (8, "3", "20 x 20", 1),
    ],
)
def test_a_mitred_frame_said_part_by_part(
    sides: int, width: str, sight: str, pockets_each: int
) -> None:
    design = designed_frame(sides, width, sight, pockets_each)
    lengths = [board.length for board in design.boards]
    free = planned(frame(sides, width, lengths[0], lengths[1], pockets_each))
    assert wood(free) == wood(design)
    assert pockets(free) == pockets(design)
    assert not free.findings and not design.findings
    if width == "1-1/2":
        assert {bore.swing for bore in free.bores} != {0.0}


SHELVES = """\
  - design: free-form
    name: shelf
    stands: {length: up, width: back}
    parts:
      left side: {stock: rails, length: 20, width: 11, faces: {bottom face: inside},
        seen: {inside: semi-exposed, left end: concealed}}
      right side: {stock: rails, length: 20, width: 11, faces: {bottom face: inside},
        seen: {inside: semi-exposed, right end: concealed}}
      panel: {stock: panel, length: 30, width: 10-1/4, faces: {bottom face: underside},
        seen: {underside: semi-exposed, front edge: concealed}}
      lip: {stock: rails, length: 30, width: 1-1/2, faces: {bottom face: inside},
        seen: {inside: semi-exposed}}
    joints:
      - {kind: edging, board: panel / front edge, meets: lip / inside, pockets_in: underside,
         flush: [{face: top face, to: back edge}, {face: left end, to: left end}]}
      - {kind: butt, board: panel / left end, meets: left side / inside,
         pockets_in: underside,
         flush: [{face: back edge, to: back edge}, {face: top face, to: right end, set_back: 4}]}
      - {kind: butt, board: panel / right end, meets: right side / inside,
         pockets_in: underside,
         flush: [{face: back edge, to: back edge}, {face: top face, to: left end, set_back: 4}]}
"""


def test_a_shelf_between_sides_said_part_by_part() -> None:
    design = planned(
        STOCK + "  - {design: edged-shelf, name: shelf, stock: panel, edging_stock: rails, "
        "length: 30, depth: 11, edging_width: 1-1/2, "
        "sides: {stock: rails, height: 20, shelves: [16]}}\n"
    )
    free = planned(STOCK + SHELVES)
    assert wood(free) == wood(design)
    assert pockets(free) == pockets(design)


CORNER = """\
  - design: free-form
    name: table
    stands: {length: up, width: back}
    parts:
      leg: {stock: leg, length: 28, width: 1-3/4, seen: {left end: concealed}}
      front apron: {stock: rails, length: 20, width: 4,
        faces: {top face: outside, bottom face: inside, back edge: upper edge},
        seen: {inside: concealed, left end: concealed, right end: concealed, upper edge: concealed}}
      side apron: {like: front apron, length: 14}
    joints:
      - {kind: butt, board: front apron / left end, meets: leg / bottom face,
         pockets_in: inside, pockets: 3,
         flush: [{face: upper edge, to: right end},
                 {face: outside, to: front edge, set_back: 1/4}]}
      - {kind: butt, board: side apron / right end, meets: leg / back edge,
         pockets_in: inside, pockets: 3,
         flush: [{face: upper edge, to: right end},
                 {face: outside, to: top face, set_back: 1/4}]}
"""


def test_a_table_corner_said_part_by_part() -> None:
    """Against the same boards stood by hand: a leg, two aprons set back a quarter inch."""
    text = STOCK.replace("build:", "  leg: {wood: red-oak, thickness: 1-3/4}\nbuild:") + CORNER
    recipe = parse_recipe(text, "free.yaml", piece_models())
    free = plan(recipe)
    shop = Shop.of(recipe, 0, recipe.pieces[0])
    inch, square = 25.4, 1.75 * 25.4
    rails, low = recipe.stock["rails"], 24 * inch
    seen = {BOTTOM: "concealed", LEFT: "concealed", RIGHT: "concealed", "back edge": "concealed"}
    leg = shop.board(
        "leg", recipe.stock["leg"], 28 * inch, square, seen={LEFT: "concealed"},
        pose=Pose((square, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)),
    )  # fmt: skip
    # The outside of the front apron looks to the front, that of the side apron to the left.
    front = shop.board(
        "front apron", rails, 20 * inch, 4 * inch, seen=seen,  # type: ignore[arg-type]
        pose=Pose((square, inch, low), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    )  # fmt: skip
    side = shop.board(
        "side apron", rails, 14 * inch, 4 * inch, seen=seen,  # type: ignore[arg-type]
        pose=Pose((inch, square + 14 * inch, low), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0)),
    )  # fmt: skip
    meetings = [
        Meeting("a", "butt", front, LEFT, BOTTOM, leg, BOTTOM, 3),
        Meeting("b", "butt", side, RIGHT, BOTTOM, leg, "back edge", 3),
    ]
    joints, findings = join(shop, meetings)
    hand = Project("hand", "inch", (leg, front, side), tuple(joints), findings=tuple(findings))
    assert wood(free) == wood(hand)
    assert pockets(free) == pockets(hand) and len(free.bores) == 6
    assert not free.findings and not findings


# --- places --------------------------------------------------------------------------------------


def statements(project: Project) -> list[Statement]:
    """What a project's joints say of place, measured on it: two faces that meet, two flush."""
    said: list[Statement] = []
    for number, joint in enumerate(project.joints):
        one, two = project.board_named[joint.first], project.board_named[joint.second]
        try:
            here, there = one.outward(joint.first_face), two.outward(joint.second_face)
        except KeyError:
            continue
        mine, other = one.pose.plane(here), two.pose.plane(there)
        if dot(mine.normal, other.normal) > -1 + 1e-9 or abs(mine.offset + other.offset) > 1e-6:
            continue
        own = [Statement(number, None, one.name, here, two.name, there, True, 0.0, joint.name)]
        for face in one.faces:
            plane = trace(here, face.plane)
            for mate in two.faces:
                against = trace(there, mate.plane)
                if plane is None or against is None or len(own) == 3:
                    continue
                a, b = one.pose.plane(plane), two.pose.plane(against)
                known = [one.pose.plane(s.plane).normal for s in own[1:]]
                if dot(a.normal, b.normal) > 1 - 1e-9 and not any(
                    abs(dot(a.normal, n)) > 1 - 1e-6 for n in known
                ):
                    behind = b.offset - a.offset
                    own.append(
                        Statement(number, len(own) - 1, one.name, plane, two.name, against, False,
                                  behind, joint.name)
                    )  # fmt: skip
        if len(own) == 3:
            said += own
    return said


def reached(start: str, said: list[Statement]) -> list[str]:
    """The boards that statements lead to from one."""
    known = [start]
    for name in known:
        for s in said:
            known += [other for other in (s.first, s.second)
                      if name in (s.first, s.second) and other not in known]  # fmt: skip
    return known


RECIPES = sorted((ROOT / "recipes").glob("*.yaml"))


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
def test_every_shipped_recipe_stands_again_from_its_joints_alone(path: Path) -> None:
    project = planned(path.read_text(encoding="utf-8"))
    said = statements(project)
    boards = dict(project.board_named)
    start = project.joints[0].first
    names = reached(start, said)
    assert len(names) > 1
    said = [s for s in said if s.first in names]
    random.Random(1).shuffle(names)
    random.Random(2).shuffle(said)
    stands = solve({n: boards[n] for n in names}, start, boards[start].pose, said, str)
    for name in names:
        board = boards[name]
        for corner in ((0.0, 0.0, 0.0), (board.length, board.width, board.thickness)):
            assert math.dist(stands[name].point(corner), board.pose.point(corner)) < 1e-6


@settings(max_examples=20, deadline=None)
@given(st.permutations(range(3)), st.sampled_from(["right", "up", "front"]))
def test_neither_the_order_of_joints_nor_how_it_stands_matters(order: list[int], way: str) -> None:
    recipe = parse_recipe(STOCK + SHELVES, "free.yaml", piece_models())
    before = plan(recipe)
    (piece,) = recipe.pieces
    shuffled = [piece.joints[i] for i in order]  # type: ignore[attr-defined]
    width = {"right": "up", "up": "left", "front": "right"}[way]
    stands = type(piece.stands)(length=way, width=width)  # type: ignore[attr-defined]
    changed = piece.model_copy(update={"joints": shuffled, "stands": stands})
    after = plan(type(recipe)(**{**recipe.__dict__, "pieces": (changed,)}))

    def distances(project: Project) -> list[float]:
        middles = [
            b.pose.point((b.length / 2, b.width / 2, b.thickness / 2)) for b in project.boards
        ]
        return [math.dist(a, b) for a in middles for b in middles]

    assert distances(after) == pytest.approx(distances(before), abs=1e-9)
    assert len(after.bores) == len(before.bores)


def test_the_lowest_front_left_corner_is_the_origin() -> None:
    project = planned(STOCK + SHELVES)
    corners = [
        b.pose.point((x, y, z))
        for b in project.boards
        for x in (0.0, b.length) for y in (0.0, b.width) for z in (0.0, b.thickness)
    ]  # fmt: skip
    assert [min(c[i] for c in corners) for i in range(3)] == pytest.approx([0, 0, 0], abs=1e-9)


def test_the_area_that_two_faces_share() -> None:
    post = blank("post", "p", "post", OAK, 400.0, 60.0)
    rail = blank("rail", "p", "rail", OAK, 300.0, 80.0)

    def on_the_face(y: float, z: float) -> Board:
        """The rail's left end on the post's top face, its width along the post."""
        return rail.placed(Pose((y, 10.0, z), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)))

    def shared(a: Board, side: str, b: Board, other: str) -> float:
        return shared_area(surface(a, side, standing(a)), surface(b, other, standing(b)))

    assert shared(post, TOP, on_the_face(100.0, 19.05), LEFT) == pytest.approx(80 * 19.05)
    assert shared(post, TOP, on_the_face(-30.0, 19.05), LEFT) == pytest.approx(50 * 19.05)
    assert shared(post, TOP, on_the_face(400.0, 19.05), LEFT) == 0.0
    mitred = blank("m", "p", "m", OAK, 300.0, 50.0, left_mitre=45.0)
    assert shared(mitred, LEFT, mitred, LEFT) == pytest.approx(50 * math.sqrt(2) * 19.05)


def test_flush_at_a_mitre_is_flush_at_its_corner() -> None:
    rail = blank("r", "p", "r", OAK, 300.0, 50.0, left_mitre=45.0, right_mitre=45.0)
    edge = trace(rail.outward(LEFT), rail.outward(FRONT))
    assert edge is not None and abs(edge.gap((0.0, 0.0, 5.0))) < 1e-9
    assert abs(dot(edge.normal, rail.outward(LEFT).normal)) < 1e-12
    assert trace(rail.outward(LEFT), rail.outward(LEFT)) is None


TRAY = """\
  - design: free-form
    name: tray
    parts:
      bottom: {stock: rails, length: 12, width: 8}
      front: {stock: rails, length: 12, width: 3,
        grooves: [{edge: front edge, face: bottom face, distance: 1/2, width: 3/4, depth: 1/4}]}
      back: {like: front}
      tongue: {stock: rails, length: 12, width: 2, seen: {bottom face: semi-exposed},
        rebates: [{edge: back edge, face: top face, width: 1/4, depth: 1/4}]}
    joints:
      - {kind: housed, board: bottom / front edge, meets: front / groove floor,
         flush: [{face: left end, to: left end}]}
      - {kind: housed, board: front / groove wall, meets: bottom / top face}
      - {kind: housed, board: bottom / back edge, meets: back / groove floor,
         flush: [{face: left end, to: right end}, {face: bottom face, to: front edge,
                  set_back: 1/2}]}
      - {kind: edge, board: tongue / front edge, meets: front / back edge, pockets_in: bottom face,
         flush: [{face: bottom face, to: bottom face}, {face: left end, to: left end}]}
"""


def test_a_board_lies_in_a_groove() -> None:
    project = planned(STOCK + TRAY)
    bottom, front, back, _ = project.boards
    z = [b.pose.point((0.0, 0.0, 0.0))[2] for b in (bottom, front, back)]
    assert z[0] - min(z) == pytest.approx(12.7) and z[1] == pytest.approx(z[2])
    assert [joint.kind for joint in project.joints] == ["housed"] * 3 + ["edge"]
    # Each rests against the blank's face that looks the way of the groove's floor or wall.
    assert [joint.second_face for joint in project.joints] == [BOTTOM, TOP, BOTTOM, "back edge"]
    assert not [f for f in judge(project) if f.severity == "fails"]


def test_the_starter_checks_clean() -> None:
    project = planned(STARTER)
    assert {f.severity for f in judge(project)} <= {"notes"}
    assert {joint.kind for joint in project.joints} == {"butt"}


def test_a_joint_without_pockets_is_glued() -> None:
    project = planned(STOCK + SHELVES.replace("pockets_in: underside,\n", "\n", 1))
    glued: Joint = next(joint for joint in project.joints if not joint.bores)
    assert glued.name in {joint.name for joint in project.joints}


def test_what_is_bought_is_told() -> None:
    project = planned(
        STOCK + SHELVES + "    hardware: [{name: felt pad, detail: 20 mm, quantity: 4}]\n"
    )
    (pads,) = project.hardware
    assert (pads.name, pads.detail, pads.quantity, pads.piece) == ("felt pad", "20 mm", 4, "shelf")
