"""The order of assembly once more, on solids: what drivers and boards pass through on their way.

A driver is a cylinder, and a board that comes to its place along a straight line is its solid with
a prism over every flat face that looks back along that line. Nothing of models.order or
models.convex takes part in either.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import cadquery as cq
import pytest
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.gp import gp_Vec

from slantbore.generators.solids.faces import face_plane
from slantbore.generators.solids.solids import location, unbored_solid
from slantbore.models.designs import piece_models
from slantbore.models.judging.order import Order, assembly_order
from slantbore.models.judging.rules import rules
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import Pose, Vec, dot
from slantbore.models.piece.board import LEFT, TOP, Board
from slantbore.models.piece.project import Bore, Finding, Joint, PocketId, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe
from slantbore.models.work.holes import Holes
from tests.boards import blank, cut
from tests.generators.brep import cylinder, shared
from tests.generators.limits import HAIR
from tests.generators.small import DRILL, PINE, SCREW, WIDTH, T, bore
from tests.generators.test_rule_recipes import rack
from tests.models.advised import advised, written

RECIPES = sorted((Path(__file__).parents[2] / "recipes").glob("*.yaml"))
NOTHING = 1e-3  # mm3
FAR = 2000.0  # mm that a board comes from
HIGH = 400.0
SHOULDER = 18.0
UP: Vec = (0.0, 0.0, 1.0)


def found(project: Project) -> list[Finding]:
    return list(rules()["no-order"].check(Study(project)))


def channel(margin: float, *, outside: bool = False) -> Project:
    """Two uprights on a base, bored from inside: each one's driver just clears the other.

    The driver's body, swept back by the screw's engagement, ends d along the axis from the exit:
    it reaches d sin t + B cos t out of the middle of its upright.

    Args:
        margin: by which it clears (mm).
        outside: whether the second upright has its pocket on its outside instead.
    """
    sine, cosine = math.sin(math.radians(15.0)), math.cos(math.radians(15.0))
    d = SHOULDER + SCREW.head_height + DRILL.bits[0] + DRILL.driver_length
    d += SCREW.length - SHOULDER
    inside = d * sine + DRILL.driver_radius * cosine - T / 2 + margin
    base = blank("base", "rack", "base", PINE, 500.0, WIDTH, pose=Pose((0.0, 0.0, -T)))
    one, other = 100.0, 100.0 + inside
    poses = {
        "left": Pose((one - T, WIDTH, 0), UP, (0, -1, 0)),
        "right": Pose((other + T, 0, 0), UP, (0, 1, 0))
        if not outside
        else Pose((other, WIDTH, 0), UP, (0, -1, 0)),
    }
    boards, joints = [base], []
    for name, pose in poses.items():
        upright = blank(name, "rack", name, PINE, HIGH, WIDTH, seen={TOP: "concealed"}, pose=pose)
        exit: Vec = (0.0, WIDTH / 2, T / 2)
        pocket = bore(PocketId(f"{name} joint"), upright, LEFT, exit, "base", TOP,
                      shoulder=SHOULDER)  # fmt: skip
        joints.append(Joint(pocket.joint, "butt", name, LEFT, "base", TOP, (pocket,)))
        boards.append(upright)
    return Project("rack", "mm", tuple(boards), tuple(joints))


def threaded(margin: float) -> Project:
    """A bar through a plate's opening, with a waist where the plate is: its head just passes."""
    opening = cut("opening",
        {"left": ((-1, 0, 0), -80.0), "right": ((1, 0, 0), 120.0),
         "front": ((0, -1, 0), -80.0), "back": ((0, 1, 0), 81.0 + T)},
    )  # fmt: skip
    plate = blank("plate", "stand", "plate", PINE, 200.0, 200.0, cuts=(opening,))
    wide, low = 40.0 - 2 * margin, -90.0
    along = {"lower": ((-1, 0, 0), low + 0.5), "upper": ((1, 0, 0), -low + T + 0.5)}
    waist = (
        cut("front notch", {**along, "floor": ((0, 1, 0), 5.0)}),
        cut("back notch", {**along, "floor": ((0, -1, 0), -(wide - 5.0))}),
    )
    bar = blank(
        "bar", "stand", "bar", PINE, 200.0, wide, cuts=waist,
        pose=Pose((100.0 - wide / 2, 80.5, low), UP, (1, 0, 0)),
    )  # fmt: skip
    return Project(
        "stand", "mm", (plate, bar), (Joint("held", "housed", "plate", TOP, "bar", LEFT),)
    )


# --- on solids -----------------------------------------------------------------------------------


def standing(board: Board) -> cq.Shape:
    """A board where it stands, with its cuts; round holes stop nothing."""
    return unbored_solid(
        replace(board, work=tuple(work for work in board.work if not isinstance(work, Holes)))
    ).moved(location(board.pose))


def swept(solid: cq.Shape, way: Vec) -> Iterator[cq.Shape]:
    """All that a flat-faced solid passes through on its way to where it stands, in parts."""
    yield solid
    back = gp_Vec(*(-FAR * w for w in way))
    for face in solid.Faces():
        plane = face_plane(face)
        assert plane is not None
        if dot(plane.normal, way) < -1e-9:
            yield cq.Shape.cast(BRepPrimAPI_MakePrism(face.wrapped, back).Shape())


def apart(a: cq.Shape, b: cq.Shape) -> bool:
    one, other = a.BoundingBox(), b.BoundingBox()
    return not all(
        low < high
        for low, high in (
            (one.xmin, other.xmax), (other.xmin, one.xmax), (one.ymin, other.ymax),
            (other.ymin, one.ymax), (one.zmin, other.zmax), (other.zmin, one.zmax),
        )
    )  # fmt: skip


def in_common(parts: Iterator[cq.Shape], other: cq.Shape) -> float:
    """The largest volume (mm3) that one of some parts shares with a solid."""
    met = (shared(part, other) for part in parts if not apart(part, other))
    return max((float(some.Volume()) for some in met if some is not None), default=0.0)


def driver(project: Project, bore: Bore) -> cq.Solid:
    """What the driver's body passes through, where it stands."""
    low = bore.head + bore.drill.bits[0]
    high = low + bore.drill.driver_length + bore.engagement
    rod = cylinder(bore.exit, bore.back, low, high, bore.drill.driver_radius)
    return rod.moved(location(project.board_named[bore.board].pose))


def runs_into(project: Project, order: Order) -> list[tuple[str, str]]:
    """Boards that run into boards on the way, in the steps of an order."""
    solids = {board.name: standing(board) for board in project.boards}
    return [
        (name, other)
        for step in order.steps
        if step.way
        for name in step.boards
        for other in step.onto
        if in_common(swept(solids[name], step.way), solids[other]) > NOTHING
    ]


# --- a hair to either side -----------------------------------------------------------------------


def test_drivers_that_clear_each_other_have_an_order() -> None:
    project = channel(HAIR)
    assert not found(project)
    order = assembly_order(project)
    assert sorted(bore.name for step in order.steps for bore in step.bores) == sorted(
        bore.name for bore in project.bores
    )
    assert not runs_into(project, order)
    left, right = (standing(project.board_named[name]) for name in ("left", "right"))
    one, other = (driver(project, bore) for bore in project.bores)
    assert shared(one, right) is None and shared(other, left) is None


def test_drivers_that_meet_each_others_boards_have_none() -> None:
    project = channel(-HAIR)
    (finding,) = found(project)
    assert finding.severity == "fails" and finding.board and finding.joint and finding.point
    assert "left joint pocket cannot be driven once the right is there" in finding.message
    assert "right joint pocket cannot be driven once the left is there" in finding.message
    left, right = (standing(project.board_named[name]) for name in ("left", "right"))
    for pocket, there in zip(project.bores, (right, left), strict=True):
        met = shared(driver(project, pocket), there)
        assert met is not None and met.Volume() > NOTHING
        # Where the finding says: on the skin of the board that is in the way.
        if pocket.name == finding.bore:
            place = cq.Vertex.makeVertex(*finding.point)
            assert place.distance(there) < 2 * HAIR


def test_what_is_told_to_change_gives_an_order() -> None:
    hidden = rack(-HAIR).replace(
        "top face: concealed", "top face: concealed, bottom face: concealed"
    )
    recipe, _, findings = advised(hidden)
    (finding,) = [f for f in findings if f.rule == "no-order"]
    told = {
        (str(s.path[3]), s.value)
        for change in finding.changes
        for s in change.edit
        if s.path[0] == "build"
    }
    assert told == {("left to base", "bottom face"), ("right to base", "bottom face")}
    for change in finding.changes:
        changed = plan(written(recipe, change))
        assert not found(changed)
        assert not runs_into(changed, assembly_order(changed))
    # One that is bored from outside comes last.
    project = channel(-HAIR, outside=True)
    assert not found(project)
    last = assembly_order(project).steps[-1]
    assert [bore.name for bore in last.bores] == ["right joint pocket"]
    assert not runs_into(project, assembly_order(project))


def test_a_bar_that_passes_the_opening_is_brought_in() -> None:
    project = threaded(HAIR)
    assert not found(project)
    order = assembly_order(project)
    assert [step.way for step in order.steps] in ([None, UP], [None, (0.0, 0.0, -1.0)])
    assert not runs_into(project, order)


def test_a_bar_that_is_caught_in_the_opening_is_told() -> None:
    project = threaded(-HAIR)
    (finding,) = found(project)
    assert finding.severity == "fails"
    assert "none of these can be brought in last along a straight line" in finding.message
    assert "bar" in finding.message and "plate" in finding.message
    plate, bar = (standing(project.board_named[name]) for name in ("plate", "bar"))
    assert in_common(iter([bar]), plate) == 0.0
    for x in (-1.0, 0.0, 1.0):
        for y in (-1.0, 0.0, 1.0):
            for z in (-1.0, 0.0, 1.0):
                size = math.sqrt(x * x + y * y + z * z)
                if size:
                    way: Vec = (x / size, y / size, z / size)
                    assert in_common(swept(bar, way), plate) > NOTHING


def test_a_sweep_sees_what_stands_in_the_way() -> None:
    """The tool of these tests: a board slid over another, past it, and along its face."""
    flat = blank("flat", "", "", PINE, 100.0, 50.0)

    def there(z: float, y: float = 0.0) -> cq.Shape:
        return standing(blank("post", "", "", PINE, 20.0, 20.0, pose=Pose((300.0, y, z))))

    way: Vec = (-1.0, 0.0, 0.0)
    assert in_common(swept(standing(flat), way), there(0.0)) == pytest.approx(20.0 * 20.0 * T)
    assert in_common(swept(standing(flat), way), there(T)) == 0.0
    assert in_common(swept(standing(flat), way), there(0.0, 50.0)) == 0.0
    assert in_common(swept(standing(flat), (1.0, 0.0, 0.0)), there(0.0)) == 0.0


@pytest.mark.parametrize("recipe", RECIPES, ids=lambda path: path.stem)
def test_the_boards_of_a_recipe_come_to_their_places(recipe: Path) -> None:
    project = plan(read_recipe(recipe, piece_models()))
    order = assembly_order(project)
    assert not order.stuck and len(order.steps) > 3
    assert not runs_into(project, order)
