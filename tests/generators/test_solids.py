"""Boards and screws as solids: built once, sound, in place, with their faces found again."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from slantbore.generators.solids.faces import faces_of, outward_faces
from slantbore.generators.solids.kernel import explain
from slantbore.generators.solids.solids import (
    SolidError,
    Solids,
    blank_corners,
    blank_solid,
    bored_solid,
    location,
    polytope,
    solidify,
    turned_solid,
    unbored_solid,
)
from slantbore.models.maths.geometry import Plane, Pose, along, dot
from slantbore.models.piece.board import BACK, RIGHT, TOP, Face
from slantbore.models.piece.groups import groups, shape_key, upright
from tests.boards import Stated, blank, cut

from .small import OAK, PINE, SCREW, WIDTH, T, butt, corner, with_board


@pytest.fixture(scope="module")
def frame() -> Solids:
    return solidify(corner())


@pytest.fixture(scope="module")
def shelf() -> Solids:
    return solidify(butt())


def test_like_boards_are_built_once(frame: Solids) -> None:
    assert [[b.name for b in group] for group in groups(frame.project)] == [
        ["rail 1", "rail 2"],
        ["rail 3"],
    ]
    assert len(frame.shapes) == 2
    assert len(frame.screws) == 1
    one, two = frame.board_solid("rail 1"), frame.board_solid("rail 2")
    assert one.wrapped.IsPartner(two.wrapped)  # the same geometry in two places
    assert not one.wrapped.IsSame(two.wrapped)


def test_what_makes_boards_alike() -> None:
    project = corner()
    one, two, _ = project.boards
    key = shape_key(project, one)
    assert shape_key(project, two) == key
    renamed = replace(two, name=two.name, role="other", piece="other")
    assert shape_key(with_board(project, renamed), renamed) == key
    for other in (
        replace(two, stock=OAK),
        replace(two, work=(*two.work, Stated((cut("g", {"floor": ((0, 0, -1), -15.0)}),)))),
        blank("rail 2", "mirror", "rail", PINE, 400.0 + 1e-5, WIDTH, left_mitre=45, right_mitre=45),
    ):
        assert shape_key(with_board(project, other), other) != key
    # The very same numbers but for noise far below what the kernel can tell.
    noisy = replace(two, length=two.length + 1e-12, width=two.width - 1e-12)
    assert noisy.faces != two.faces and shape_key(project, noisy) == key


def test_a_moved_bore_or_a_pilot_makes_a_board_distinct() -> None:
    project = butt(into_mate=0.0)
    side = project.board_named["Ständer 1"]
    with_pilots = butt(into_mate=6.0)
    assert shape_key(project, side) != shape_key(with_pilots, side)
    shelf = project.board_named["shelf"]
    assert shape_key(project, shelf) != shape_key(butt(across=31.0), shelf)
    assert shape_key(project, shelf) != shape_key(butt(shoulder=17.0), shelf)


def test_every_solid_is_sound_and_smaller_than_its_blank(shelf: Solids) -> None:
    for board in shelf.project.boards:
        solid = shelf.own_solid(board.name)
        assert solid.isValid()
        assert solid.ShapeType() == "Solid"
        assert solid.Volume() < unbored_solid(board).Volume() <= blank_solid(board).Volume()


def test_pilot_enters_the_mate(shelf: Solids) -> None:
    side = shelf.project.board_named["Ständer 1"]
    drilled = unbored_solid(side).Volume() - shelf.own_solid(side.name).Volume()
    # The pilot's axis reaches 6 mm past the mate face: a right cylinder under a slanted plane.
    assert drilled == pytest.approx(2 * math.pi * 1.75**2 * 6.0, abs=1e-5)


def test_placed_boards_meet_where_the_project_says(frame: Solids) -> None:
    one, two = frame.board_solid("rail 1"), frame.board_solid("rail 2")
    assert one.distance(two) < 1e-9
    for board in frame.project.boards:
        centre = frame.own_solid(board.name).Center().toTuple()
        placed = frame.board_solid(board.name).Center().toTuple()
        assert placed == pytest.approx(board.pose.point(centre), abs=1e-9)


def test_screw_sits_on_the_shoulder_with_its_tip_in_the_mate(shelf: Solids) -> None:
    bore = shelf.project.bores[0]
    screw = shelf.screw_solid(bore.name)
    own = shelf.project.board_named[bore.board].pose
    expected = math.pi * (2.1**2 * 31.75 + 4.0**2 * 2.5)
    assert screw.Volume() == pytest.approx(expected, rel=1e-9)
    back = own.direction(bore.back)
    heights = [dot(v.toTuple(), back) for v in screw.Vertices()]
    assert min(heights) == pytest.approx(dot(own.point(bore.tip), back), abs=1e-9)
    head = along(own.point(bore.seat), back, SCREW.head_height)
    assert max(heights) == pytest.approx(dot(head, back), abs=1e-9)
    # The tip stands in the wood of the mate, the head in the air of the pocket.
    mate = shelf.board_solid(bore.mate)
    assert screw.intersect(mate).Volume() > 0.4 * math.pi * 2.1**2 * bore.engagement
    assert screw.Center().x < own.point(bore.exit)[0] + 15.75


def test_faces_are_found_by_plane(shelf: Solids) -> None:
    side = shelf.project.board_named["Ständer 1"]
    solid = shelf.own_solid(side.name)
    found = {face.side: faces_of(solid, face.plane, within) for face, within in outward_faces(side)}
    assert all(found.values())
    assert len(found[TOP]) == 2  # the groove splits it
    assert sum(f.Area() for f in found[TOP]) == pytest.approx(400.0 * (WIDTH - 6.0))
    assert sum(f.Area() for f in found["panel groove floor"]) == pytest.approx(400.0 * 6.0)
    assert sum(f.Area() for f in found["back rebate wall"]) == pytest.approx(400.0 * 7.0)
    flat = [f for f in solid.Faces() if f.geomType() == "PLANE"]
    # Every flat face belongs to a side, but for the flat bottoms of the two pilots.
    assert len(flat) == sum(map(len, found.values())) + 2


def test_two_grooves_of_one_depth_keep_their_own_floors() -> None:
    floors = ((0.0, 0.0, -1.0), -(T - 5.0))
    grooves = tuple(
        cut(name, {"floor": floors, "near": ((0, -1, 0), -y), "far": ((0, 1, 0), y + w)})
        for name, y, w in (("one", 10.0, 4.0), ("two", 30.0, 7.0))
    )
    board = blank("b", "", "", PINE, 100.0, WIDTH, cuts=grooves)
    solid = unbored_solid(board)
    areas = {
        face.side: sum(part.Area() for part in faces_of(solid, face.plane, within))
        for face, within in outward_faces(board)
    }
    assert areas["one floor"] == pytest.approx(400.0)
    assert areas["two floor"] == pytest.approx(700.0)


def test_a_face_that_is_cut_away_is_not_there() -> None:
    away = cut("all", {"wall": ((0, -1, 0), -(WIDTH - 5.0))})
    board = blank("b", "", "", PINE, 100.0, WIDTH, cuts=(away,))
    assert faces_of(unbored_solid(board), board.face(BACK).plane) == ()
    assert faces_of(unbored_solid(board), board.face(RIGHT).plane) != ()


@pytest.mark.parametrize("sides", [3, 4, 5, 7, 12])
def test_polytope_of_a_regular_prism(sides: int) -> None:
    """Textbook: a regular prism holds n r^2 tan(pi / n) h, r the inradius."""
    around = [
        Plane((math.cos(turn), math.sin(turn), 0.0), 10.0)
        for turn in (2 * math.pi * k / sides for k in range(sides))
    ]
    ends = [Plane((0.0, 0.0, 1.0), 5.0), Plane((0.0, 0.0, -1.0), 2.0)]
    idle = [Plane((0.0, 0.0, 1.0), 50.0)]  # touches nothing
    solid = polytope(around + ends + idle, "prism")
    assert solid.Volume() == pytest.approx(sides * 100 * math.tan(math.pi / sides) * 7, rel=1e-12)
    assert len(solid.Faces()) == sides + 2
    assert len(solid.Edges()) == 3 * sides  # shared, as Euler's formula wants it
    assert len(solid.Vertices()) == 2 * sides


def test_more_than_three_planes_may_meet_in_a_corner() -> None:
    """Textbook: a square pyramid holds a third of base times height."""
    s = math.sqrt(0.5)
    planes = [Plane((s, 0, s), 10 * s), Plane((-s, 0, s), 10 * s), Plane((0, s, s), 10 * s),
              Plane((0, -s, s), 10 * s), Plane((0, 0, -1), 0.0)]  # fmt: skip
    solid = polytope(planes, "pyramid")
    assert solid.Volume() == pytest.approx(20.0 * 20.0 * 10.0 / 3.0, rel=1e-12)
    assert len(solid.Vertices()) == 5


def test_planes_that_leave_nothing_or_no_end_are_refused() -> None:
    apart = [Plane((1, 0, 0), -1.0), Plane((-1, 0, 0), -1.0), Plane((0, 1, 0), 1.0),
             Plane((0, -1, 0), 1.0), Plane((0, 0, 1), 1.0), Plane((0, 0, -1), 1.0)]  # fmt: skip
    with pytest.raises(SolidError, match="lost board: its faces leave no solid"):
        polytope(apart, "lost board")
    planes = [face.plane for face in blank("b", "", "", PINE, 100.0, WIDTH).faces]
    with pytest.raises(SolidError, match="endless board"):
        polytope(planes[:5], "endless board")


def test_a_board_that_falls_apart_is_made_in_pieces() -> None:
    through = cut("saw cut", {"near": ((-1, 0, 0), -50.0), "far": ((1, 0, 0), 53.0)})
    project = corner()
    rail = replace(project.boards[2], work=(*project.boards[2].work, Stated((through,))))
    left = solidify(with_board(project, rail)).own_solid("rail 3")
    assert [part.isValid() for part in left.Solids()] == [True, True]
    whole = unbored_solid(project.boards[2]).Volume()
    assert left.Volume() == pytest.approx(whole - 3.0 * 51.5 * T)  # in the mitre


def test_a_board_that_is_cut_away_is_named() -> None:
    everything = cut("all", {"above": ((0, 0, -1), 5.0)})
    board = blank("gone", "", "", PINE, 100.0, WIDTH, cuts=(everything,))
    with pytest.raises(SolidError, match="gone: .* nothing is left"):
        unbored_solid(board)


def test_cut_that_misses_the_blank_changes_nothing() -> None:
    board = blank("b", "", "", PINE, 100.0, WIDTH)
    outside = cut("off", {"above": ((0, 0, -1), -(T + 3.0))})
    assert unbored_solid(replace(board, work=(Stated((outside,)),))).Volume() == pytest.approx(
        100.0 * WIDTH * T, rel=1e-12
    )


def test_location_agrees_with_pose() -> None:
    pose = Pose((3.0, -4.0, 5.0), (0.0, 0.6, 0.8), (1.0, 0.0, 0.0))
    tip = turned_solid((1.0, 2.0, 3.0), (0.0, 0.6, -0.8), [(0.0, 1.0), (9.0, 1.0)])
    moved = tip.moved(location(pose))
    assert moved.Center().toTuple() == pytest.approx(pose.point(tip.Center().toTuple()), abs=1e-9)


def test_upright_is_right_handed_and_square() -> None:
    for z in [(1, 0, 0), (0, 1, 0), (0, 0, 1), (0, 0, -1), (0.6, 0.0, 0.8), (0.36, 0.48, 0.8)]:
        x, y = upright(z)
        frame = np.array([x, y, z])
        assert frame @ frame.T == pytest.approx(np.eye(3), abs=1e-12)
        assert np.linalg.det(frame) == pytest.approx(1.0)


def test_corners_of_a_mitred_rail() -> None:
    corners = {tuple(np.round(p, 9) + 0.0) for p in blank_corners(corner().boards[0])}
    flat = [(0.0, 0.0), (400.0, 0.0), (400.0 - WIDTH, WIDTH), (WIDTH, WIDTH)]
    assert corners == {(*p, z) for p in flat for z in (0.0, T)}


def test_progress_counts_distinct_boards() -> None:
    seen: list[tuple[str, int, int]] = []
    solids = Solids(corner())
    solids.own_solid("rail 2")
    solids.made(lambda what, done, total: seen.append((what, done, total)))
    assert seen == [("rail 1", 0, 2), ("rail 3", 1, 2), ("solids", 2, 2)]


def test_cut_faces_are_turned_outward() -> None:
    side = butt().board_named["Ständer 1"]
    for face, within in outward_faces(side):
        if within is None:
            continue
        inner: Face = next(f for f in within.faces if f.side == face.side)
        assert face.plane.normal == tuple(-n for n in inner.plane.normal)


def test_bored_solid_is_the_same_each_time() -> None:
    project = butt()
    volumes = {bored_solid(project, project.boards[0]).Volume() for _ in range(3)}
    assert len(volumes) == 1


def test_missing_library_names_the_package() -> None:
    text = "libGL.so.1: cannot open shared object file: No such file or directory"
    assert "libGL.so.1" in explain(text)
    assert "apt-get install libgl1" in explain(text)
    assert "libodd.so.3" in explain("libodd.so.3: cannot open shared object file")
    assert "pip install cadquery" in explain("No module named 'cadquery'")


BLOCKED = """
import sys
class Blocked:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("OCP", "cadquery"):
            text = "libGL.so.1: cannot open shared object file: No such file or directory"
            raise ImportError(text)
sys.meta_path.insert(0, Blocked())
from slantbore.models.words.errors import SlantboreError
try:
    import slantbore.generators.{module}
except SlantboreError as error:
    print(error)
"""


@pytest.mark.parametrize(
    "module",
    [
        "solids.solids",
        "solids.measure",
        "solids.proof",
        "solids.meshing",
        "solids.step",
        "writers.picture",
    ],
)
def test_every_way_to_the_kernel_says_what_is_missing(module: str) -> None:
    done = subprocess.run(
        [sys.executable, "-c", BLOCKED.replace("{module}", module)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stderr == ""
    assert "sudo apt-get install libgl1" in done.stdout
