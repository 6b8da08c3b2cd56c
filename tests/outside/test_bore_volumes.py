"""Volumes of slanted bores against textbook closed forms and an independent mesh kernel."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from manifold3d import Manifold

from slantbore.generators.solids.solids import blank_solid, bored_solid, unbored_solid
from slantbore.models.maths.geometry import Plane, Vec, along
from slantbore.models.piece.board import Board, Hole
from slantbore.models.piece.bored import bores_in, pilots_into
from slantbore.models.piece.project import Project
from tests.boards import Stated, blank

from ..generators.small import PINE, R, T, butt, corner, r

SLOPE = math.radians(15.0)
INWARD: Vec = (-math.cos(SLOPE), 0.0, -math.sin(SLOPE))


def taken(thickness: float, depth: float) -> float:
    """Wood that a slanted round hole of radius R takes out of a wide slab (mm3)."""
    slab = blank("slab", "", "", PINE, 400.0, 100.0, thickness=thickness)
    hole = Hole("slanted", (250.0, 50.0, thickness), INWARD, R, depth)
    bored = replace(slab, work=(Stated((hole,)),))
    return blank_solid(slab).Volume() - unbored_solid(bored).Volume()


def test_oblique_cylinder_between_parallel_planes() -> None:
    """Textbook (Cavalieri): V = pi R^2 T / sin(slope); R 4.7625, T 19.05, 15 degrees: 5,244.675."""
    volume = taken(T, 200.0)
    assert volume == pytest.approx(math.pi * R**2 * T / math.sin(SLOPE), rel=1e-9)
    assert volume == pytest.approx(5244.675, abs=5e-4)


def test_truncated_cylinder() -> None:
    """Textbook: a right cylinder under a slanted plane holds pi R^2 times its axis; 2,850.230."""
    volume = taken(60.0, 40.0)
    assert volume == pytest.approx(math.pi * R**2 * 40.0, rel=1e-9)
    assert volume == pytest.approx(2850.230, abs=5e-4)


def ungula(radius: float, s: float) -> float:
    """Textbook: the part of a cylinder between its flat end and a plane at the slope.

    `s` is where the plane crosses the axis, measured from the end, |s| < radius / tan(slope).
    """
    c = s * math.tan(SLOPE)
    root = math.sqrt(radius**2 - c**2)
    segment = radius**2 * (math.pi / 2 + math.asin(c / radius)) + c * root
    return (2 / 3 * root**3 + c * segment) / math.tan(SLOPE)


@pytest.mark.parametrize(
    ("s", "expected"),
    [(0.0, 268.758), (5.0, 478.588), (10.0, 749.164), (R / math.tan(SLOPE), 1266.492)],
)
def test_cylindrical_wedge(s: float, expected: float) -> None:
    """Textbook ungula; at s = 0 it is the cylindrical wedge 2/3 R^2 h with h = R / tan(slope)."""
    volume = taken(60.0, s)
    assert volume == pytest.approx(expected, abs=5e-4)
    if s < 17.0:  # at the last row the plane just passes the rim, where asin loses digits
        assert volume == pytest.approx(ungula(R, s), rel=1e-7)


@pytest.mark.parametrize("shoulder", [16.0, 22.0, 27.0])
def test_stepped_pocket_is_a_cylinder_and_a_cut_cylinder(shoulder: float) -> None:
    """The pilot is a truncated cylinder, the counterbore one too or, near the face, an ungula."""
    project = butt(shoulder=shoulder, into_mate=0.0)
    shelf = project.board_named["shelf"]
    pockets = blank_solid(shelf).Volume() - bored_solid(project, shelf).Volume()
    rest = T / 2 / math.sin(SLOPE) - shoulder
    whole = rest >= R / math.tan(SLOPE)
    counterbore = math.pi * R**2 * rest if whole else ungula(R, rest)
    assert whole == (shoulder < 19.0)  # both kinds are met
    assert pockets == pytest.approx(2 * (math.pi * r**2 * shoulder + counterbore), rel=1e-7)


# --- against a mesh kernel ---------------------------------------------------------------------

SECTIONS = 512


def inside(planes: list[Plane]) -> Manifold:
    """A big cube trimmed by half-spaces."""
    solid = Manifold.cube((5000.0, 5000.0, 5000.0), True)
    for plane in planes:
        n = plane.normal
        solid = solid.trim_by_plane((-n[0], -n[1], -n[2]), -plane.offset)
    return solid


def cylinder(start: Vec, axis: Vec, length: float, radius: float) -> Manifold:
    """A cylinder whose facets touch the round one from inside."""
    x, y, z = axis
    helper: Vec = (0.0, 0.0, 1.0) if abs(z) < 0.9 else (1.0, 0.0, 0.0)
    u = (
        y * helper[2] - z * helper[1],
        z * helper[0] - x * helper[2],
        x * helper[1] - y * helper[0],
    )
    size = math.sqrt(sum(c * c for c in u))
    u = (u[0] / size, u[1] / size, u[2] / size)
    v = (y * u[2] - z * u[1], z * u[0] - x * u[2], x * u[1] - y * u[0])
    rows = [[u[i], v[i], axis[i], start[i]] for i in range(3)]
    return Manifold.cylinder(length, radius, radius, SECTIONS).transform(rows)


def mesh_volumes(project: Project, board: Board) -> tuple[float, float]:
    """Volume of the board before and after its bores, all with the mesh kernel."""
    solid = inside([face.plane for face in board.faces])
    for cut in board.cuts:
        solid -= inside([face.plane for face in cut.faces])
    before = solid.volume()
    for bore in bores_in(project, board):
        solid -= cylinder(along(bore.exit, bore.back, -30.0), bore.back, 30.0 + bore.shoulder, r)
        solid -= cylinder(bore.seat, bore.back, 80.0, R)
    for pilot in pilots_into(project, board):
        depth, radius = pilot.bore.pilot_into_mate, pilot.bore.drill.pilot_radius
        bottom = along(pilot.entry, pilot.back, -depth)
        solid -= cylinder(bottom, pilot.back, depth + 30.0, radius)
    return before, solid.volume()


@pytest.mark.parametrize(
    ("project", "name"),
    [
        (corner(), "rail 1"),
        (corner(swing=0.0, along_mitre=62.0), "rail 2"),
        (corner(swing=0.0, along_mitre=45.0), "rail 1"),  # breaks out of the outside edge
        (butt(), "shelf"),
        (butt(), "Ständer 1"),  # a rebate, a groove and two pilots
        (butt(across=21.0, into_mate=14.0), "Ständer 1"),  # a pilot opens into the groove
    ],
)
def test_bored_board_equals_an_independent_mesh_boolean(project: Project, name: str) -> None:
    """General-purpose mesh kernel (manifold3d): equal within the error of its facets, and no more.

    A regular n-gon in a circle misses the share 1 - sin(2 pi / n) / (2 pi / n) of its area
    (textbook), so the mesh's bores are smaller by at most that share.
    """
    board = project.board_named[name]
    before, after = mesh_volumes(project, board)
    assert unbored_solid(board).Volume() == pytest.approx(before, rel=1e-9)
    lost = unbored_solid(board).Volume() - bored_solid(project, board).Volume()
    turn = 2 * math.pi / SECTIONS
    share = 1 - math.sin(turn) / turn
    assert lost > 10.0
    assert -1e-3 < lost - (before - after) < 1.5 * share * lost + 1e-3


def test_mitred_blank_is_a_prism() -> None:
    """Textbook: trapezium times thickness."""
    rail = corner().boards[0]
    area = (400.0 + (400.0 - 2 * 63.5)) / 2 * 63.5
    assert blank_solid(rail).Volume() == pytest.approx(area * T, rel=1e-12)
