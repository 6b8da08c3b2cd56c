"""The windows of hidden pockets along a 45 degree mitre, held to a worked example.

The table is no published source. Its values were worked out for this project, by hand from the
distances of plane and slanted cylinder, before there was any code; its lower ends were confirmed on
B-rep solids. Upper ends of the table measure to the plane of the inside edge. At a mitred end the
edge's own face is farther away: a tool that measures to the face may find more, never less.

    R 4.7625, pilot 1.75, screw 2.1 (radii); stock 19.05, exit at half of it; shoulder 16 from the
    exit, screw 31.75; every wall at least 3 mm; positions from the outside corner; no rebate
"""

from __future__ import annotations

import pytest

from slantbore.models.maths.geometry import Pose
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, Stock
from slantbore.models.piece.project import Drill, Limits, Screw
from slantbore.models.placing.site import Site
from slantbore.models.placing.windows import windows
from tests.boards import blank
from tests.generators.brep import BEYOND, Prism, cylinder, distance, shared

LENGTH, T, R, PILOT, SCREW, S, L = 600.0, 19.05, 4.7625, 1.75, 2.1, 16.0, 31.75
WALL = 3.0
LIMITS = Limits(show_wall=WALL, hidden_wall=1.5, tip_cover=WALL)
# The last column is measured to the plane of the inside edge, nearer than the edge's own face.
WORKED = [
    (63.5, 0.0, 58.80, 83.46),
    (38.1, 15.0, 43.64, 47.83),
    (63.5, 15.0, 43.64, 83.75),
]


def rail(name: str, width: float, pose: Pose) -> Board:
    """The back (top face) and the mitres are hidden; front, outside and inside edge show."""
    return blank(
        name, "frame", name, Stock("oak", "red-oak", "red oak", T, "hardwood"), LENGTH, width,
        left_mitre=45.0, right_mitre=45.0, pose=pose,
        names={FRONT: "outside edge", BACK: "inside edge", TOP: "back", BOTTOM: "front"},
        seen={TOP: "concealed", LEFT: "concealed", RIGHT: "concealed"},
    )  # fmt: skip


def site(width: float) -> Site:
    return Site(
        board=rail("bottom rail", width, Pose()),
        mate=rail("right stile", width, Pose((LENGTH, 0, 0), (0, 1, 0), (-1, 0, 0))),
        joint_face=RIGHT,
        pocket_face=TOP,
        mate_face=LEFT,
        toward=(0.0, 1.0, 0.0),
        datum="outside corner",
        drill=Drill("stepped", R, PILOT, 15.0, (125.0,), 3.6, 28.0, 190.0),
        screw=Screw("#8", "fine", L, SCREW, 4.4, 2.6, "screw"),
        shoulder=S,
    )


def solid_walls(corner: Site, swing: float, position: float) -> dict[tuple[str, str], float]:
    """Walls to the three faces that show, in both rails, on solids of the kernel."""
    prism = Prism(LENGTH, corner.board.width, T, 45.0, 45.0)
    exit, back = corner.exit(position), corner.back(swing)
    own, mate = corner.board.pose, corner.mate.pose
    there = mate.local_point(own.point(exit)), mate.local_direction(own.direction(back))
    rods = {
        "counterbore": cylinder(exit, back, S, S + 60.0, R),
        "pilot and screw": cylinder(exit, back, -BEYOND, S, SCREW),
        "screw in the mate": cylinder(*there, S - L, BEYOND, SCREW),
    }
    found = {}
    for body, rod in rods.items():
        void = shared(prism.solid(), rod)
        for side, face in prism.faces().items():
            if side in (FRONT, BACK, BOTTOM):
                # A counterbore that misses the rail altogether has left it by an edge.
                found[body, side] = 0.0 if void is None else distance(void, face)[0]
    return found


def test_square_to_the_mitre_a_narrow_rail_hides_no_pocket() -> None:
    assert windows(site(38.1), 0.0, LIMITS) == []
    # On solids as well: wherever it is put, some wall is too thin.
    for position in range(4, 52, 4):
        assert min(solid_walls(site(38.1), 0.0, position).values()) < WALL


@pytest.mark.parametrize(("width", "swing", "low", "high"), WORKED)
def test_the_worked_windows_come_out(width: float, swing: float, low: float, high: float) -> None:
    (window,) = windows(site(width), swing, LIMITS)
    assert window.low == pytest.approx(low, abs=0.1)
    assert window.high >= high - 0.5


@pytest.mark.parametrize(("width", "swing", "low", "high"), WORKED)
def test_every_wall_holds_at_the_ends_of_a_window(
    width: float, swing: float, low: float, high: float
) -> None:
    corner = site(width)
    (window,) = windows(corner, swing, LIMITS)
    for position in (window.low, window.position, window.high):
        walls = solid_walls(corner, swing, position)
        assert len(walls) == 9
        assert min(walls.values()) >= WALL - 1e-6, walls
    # The lower end is where the counterbore's wall to the outside edge is spent, and no sooner.
    assert solid_walls(corner, swing, window.low)["counterbore", FRONT] == pytest.approx(
        WALL, abs=1e-4
    )
    assert min(solid_walls(corner, swing, window.low - 0.1).values()) < WALL - 0.01
    # Nor does the upper end come before a wall is spent, beside the edge's own face or past it.
    assert min(solid_walls(corner, swing, window.high).values()) == pytest.approx(WALL, abs=1e-4)
    assert min(solid_walls(corner, swing, window.high + 0.1).values()) < WALL - 0.01
