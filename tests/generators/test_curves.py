"""Arches and rounded corners: true cylinders in the solids, contained by flat sides in closed form.

Volumes are held against the textbook's circular segment, and against the area between an arc and
its two tangents.
"""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from slantbore.generators.build import build
from slantbore.generators.page.mesh import sides
from slantbore.generators.solids.faces import faces_of, outward_faces
from slantbore.generators.solids.meshing import mesh_of
from slantbore.generators.solids.proof import prove
from slantbore.generators.solids.solids import solidify, unbored_solid
from slantbore.models.judging.judge import judge
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import Pose
from slantbore.models.piece.board import (
    BACK,
    BOTTOM,
    FRONT,
    LEFT,
    RIGHT,
    TOP,
    Board,
    Edge,
    End,
    Work,
)
from slantbore.models.piece.convex import pieces
from slantbore.models.piece.groups import shape_key
from slantbore.models.piece.pairs import like_boards
from slantbore.models.piece.project import Finding, Joint, PocketId, Project
from slantbore.models.work.arch import Arch
from slantbore.models.work.end_cut import sawn
from slantbore.models.work.rounding import Rounding
from tests.boards import blank
from tests.generators.measured import solid_gaps

from .preview_fixture import shown
from .small import OAK, PINE, R, T, bore

LENGTH, WIDTH = 400.0, 90.0
OFF = 0.5  # mm that an arch's flat sides may stand off it


def board(*work: Work, length: float = LENGTH) -> Board:
    return blank("rail", "p", "rail", PINE, length, WIDTH, work=work)


def segment(chord: float, rise: float) -> float:
    """Area of a circular segment (textbook): r^2 / 2 (2a - sin 2a), half angle a."""
    radius = (chord**2 / 4 + rise**2) / (2 * rise)
    angle = 2 * math.asin(chord / (2 * radius))
    return radius**2 / 2 * (angle - math.sin(angle))


@pytest.mark.parametrize("edge", [FRONT, BACK])
@pytest.mark.parametrize(("starts", "stops", "rise"), [(0, 0, 12), (60, 100, 30), (150, 150, 50)])
def test_an_arch_takes_a_circular_segment(
    edge: Edge, starts: float, stops: float, rise: float
) -> None:
    arched = board(Arch(edge=edge, rise=rise, starts=starts, stops=stops))
    solid = unbored_solid(arched)
    taken = segment(LENGTH - starts - stops, rise) * T
    assert solid.isValid() and len(solid.Solids()) == 1
    assert solid.Volume() == pytest.approx(LENGTH * WIDTH * T - taken, rel=1e-12)
    # The sides that contain it stand off it by no more than they may, and never inside it.
    wood = sum(_volume(piece.corners) for piece in pieces(arched))
    assert 0 <= solid.Volume() - wood <= OFF * (LENGTH - starts - stops) * 1.6 * T


def _volume(corners: np.ndarray) -> float:
    from scipy.spatial import ConvexHull

    return float(ConvexHull(corners).volume)


def test_an_arch_of_half_a_circle_between_slanting_ends() -> None:
    """Between mitres that leave the arched edge the longer one, over the whole of it."""
    arched = board(*sawn(20.0, 30.0), Arch(edge=FRONT, rise=80.0, starts=120.0, stops=120.0))
    tans = math.tan(math.radians(20.0)) + math.tan(math.radians(30.0))
    whole = (LENGTH * WIDTH - WIDTH**2 / 2 * tans) * T
    solid = unbored_solid(arched)
    assert solid.Volume() == pytest.approx(whole - math.pi * 80.0**2 / 2 * T, rel=1e-12)
    assert Arch(edge=FRONT, rise=80.0, starts=120.0, stops=120.0).radius(arched) == 80.0


@pytest.mark.parametrize("end", [LEFT, RIGHT])
@pytest.mark.parametrize("mitre", [0.0, 30.0, -25.0])
def test_a_rounded_corner_takes_what_lies_between_arc_and_tangents(end: End, mitre: float) -> None:
    rounded = Rounding(end=end, edge=FRONT, radius=25.0)
    whole = board(*sawn(mitre, mitre))
    corner = replace(whole, work=(*whole.work, rounded))
    solid = unbored_solid(corner)
    # Two tangents that turn by an angle: r^2 (tan a/2 - a/2) lies between them and the arc.
    turn = math.radians(90.0 + mitre)
    taken = 25.0**2 * (math.tan(turn / 2) - turn / 2) * T
    assert solid.isValid()
    assert unbored_solid(whole).Volume() - solid.Volume() == pytest.approx(taken, rel=1e-9)
    # As convex pieces it keeps all its wood, and little more.
    wood = sum(_volume(piece.corners) for piece in pieces(corner))
    assert 0 <= wood - solid.Volume() <= OFF * 25.0 * turn * T


def test_curves_are_found_on_the_solid_and_on_the_page() -> None:
    arch = Arch(name="curve", edge=FRONT, rise=30.0)
    curved = board(arch, Rounding(end=RIGHT, edge=BACK, radius=20.0))
    solid = unbored_solid(curved)
    area = {
        face.side: sum(part.Area() for part in faces_of(solid, face.plane, cut))
        for face, cut in outward_faces(curved)
    }
    radius = arch.radius(curved)
    assert area["curve"] == pytest.approx(2 * radius * math.asin(LENGTH / 2 / radius) * T)
    assert area["rounded corner"] == pytest.approx(math.pi / 2 * 20.0 * T)
    assert area[FRONT] == 0.0  # the arch takes the whole edge
    told = sides(mesh_of(solid), curved)
    assert {"curve", "rounded corner", TOP, BOTTOM} <= set(told) and "" not in told


def test_what_was_measured_is_marked_up_to_the_curve() -> None:
    """From the bore to the arch on the shortest way, which a circle has through its middle."""
    arch = Arch(edge=FRONT, rise=30.0)
    curved = board(arch)
    at = (120.0, 60.0, 5.0)
    middle = (LENGTH / 2, 30.0 - arch.radius(curved))
    wood = math.dist(at[:2], middle) - arch.radius(curved)
    finding = Finding("thin-wall", "warns", "", "rail", face="arch", measured=wood, point=at)
    [found] = shown(Project("p", "mm", (curved,), ()), (finding,))["findings"]
    a, b = (np.array(found["mark"][end]) for end in "ab")
    assert np.linalg.norm(b - a) == pytest.approx(wood)
    assert math.dist(b[:2], middle) == pytest.approx(arch.radius(curved))


def test_curves_tell_boards_apart_and_turn_with_them() -> None:
    plain, low, high = (board(*work) for work in ((), (Arch(edge=FRONT, rise=20.0),),
                                                  (Arch(edge=FRONT, rise=21.0),)))  # fmt: skip
    other = board(Arch(edge=BACK, rise=20.0))
    round_ = board(Rounding(end=LEFT, edge=FRONT, radius=20.0))
    far = board(Rounding(end=RIGHT, edge=BACK, radius=20.0))
    boards = tuple(
        replace(one, name=f"{i}") for i, one in enumerate((plain, low, high, other, round_, far))
    )
    project = Project("p", "mm", boards, ())
    assert len({shape_key(project, one) for one in boards}) == 6
    assert [[b.name for b in some] for some in like_boards(project)] == [
        ["0"], ["1", "3"], ["2"], ["4", "5"],
    ]  # fmt: skip


# --- both ways -----------------------------------------------------------------------------------


def bored(rail: Board, exit: tuple[float, float, float], swing: float = 0.0) -> Project:
    post = blank("post", "p", "post", OAK, 300.0, 300.0, pose=Pose((LENGTH, -100.0, -100.0),
                 (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)))  # fmt: skip
    one = bore(PocketId("joint"), rail, RIGHT, exit, "post", BOTTOM, swing)
    joint = Joint("joint", "butt", "rail", RIGHT, "post", BOTTOM, (one,))
    return Project("curved", "mm", (rail, post), (joint,))


def closed(project: Project) -> Mapping[tuple[str, str, str], float]:
    """The closed form by side; a round cut has the one side that its name is."""
    return Study(project).closed


def test_closed_form_is_exact_where_a_flat_side_touches_and_else_on_the_safe_side() -> None:
    # The arch ends at the right end: there its own slope is nearest, for a pocket square to it.
    rng = random.Random("curves")
    gaps = []
    for number in range(60):
        edge: Edge = FRONT if number % 2 else BACK
        rise = rng.uniform(5.0, 40.0)
        stops = rng.choice([0.0, rng.uniform(0.0, 30.0)])
        work: list[Work] = [Arch(edge=edge, rise=rise, starts=rng.uniform(0, 200), stops=stops)]
        if number % 3 == 0:
            across: Edge = BACK if edge == FRONT else FRONT
            work.append(Rounding(end=RIGHT, edge=across, radius=rng.uniform(5.0, 30.0)))
        rail = board(*work)
        exit = (LENGTH, rng.uniform(8.0, WIDTH - 8.0), T / 2)
        project = bored(rail, exit, rng.uniform(-20.0, 20.0))
        solid, ours = solid_gaps(project), closed(project)
        assert all(ours[key] <= gap + 1e-6 for key, gap in solid.items()), number
        key = ("joint pocket", "rail", "arch")
        if math.isfinite(solid[key]) and solid[key] > 1.0:
            gaps.append(solid[key] - ours[key])
    assert len(gaps) > 20 and min(gaps) > -1e-6
    assert sorted(gaps)[len(gaps) // 2] < 2 * OFF  # most are near; far corners may be further off


def test_a_wall_to_the_middle_of_an_arch_is_that_of_the_sum_by_hand() -> None:
    """A pocket over the crown of a steep arch at the end: centre line less radii."""
    arch = Arch(edge=FRONT, rise=20.0, starts=LENGTH - 60.0, stops=0.0)
    rail = board(arch)
    # The pilot runs along the end's normal over the crown, 30 mm in, at mid thickness.
    project = bored(rail, (LENGTH, 45.0, T / 2))
    walls = [w for w in Study(project).walls if w.target == "arch" and w.body == "counterbore"]
    assert [wall.gap for wall in walls] == [pytest.approx(45.0 - 20.0 - R, abs=1e-9)]


def test_a_bore_that_breaks_out_into_an_arch_fails_in_both_ways() -> None:
    arch = Arch(edge=FRONT, rise=40.0, starts=200.0)
    for across, wrong in ((30.0, True), (75.0, False)):
        project = bored(board(arch), (LENGTH, across, T / 2))
        judged = [f for f in judge(project) if f.rule == "breakout"]
        proven = [f for f in prove(solidify(project)) if f.rule == "breakout"]
        assert bool(judged) == bool(proven) == wrong
        assert {f.face for f in (*judged, *proven)} <= {"arch"}


def test_a_recipe_s_part_may_be_arched_and_rounded(tmp_path: Path) -> None:
    recipe = tmp_path / "arched.yaml"
    recipe.write_text("""\
name: arched stand
units: mm
stock:
  pine: {wood: eastern-white-pine, thickness: 19}
build:
  - design: free-form
    name: stand
    parts:
      rail: {stock: pine, length: 400, width: 90, faces: {top face: back, bottom face: front},
             arches: [{edge: front edge, rise: 25}], seen: {back: concealed},
             rounded: [{end: left end, edge: back edge, radius: 20},
                       {end: left end, edge: front edge, radius: 3, name: eased corner}]}
      post: {stock: pine, length: 300, width: 200}
    joints:
      - kind: butt
        board: rail / right end
        meets: post / top face
        pockets_in: back
        pockets: 2
        flush: [{face: front edge, to: left end}, {face: front, to: back edge}]
""")
    result = build(recipe, tmp_path / "out")
    assert not [f for f in result.findings if f.severity != "notes"]
    said = (tmp_path / "out" / "cut-list.csv").read_text()
    assert "arch 25 mm high along the front edge, from end to end, radius 812.5 mm" in said
    assert "rounded corner 20 mm at the left end and the back edge" in said
    assert "eased corner (rounded corner) 3 mm at the left end and the front edge" in said
