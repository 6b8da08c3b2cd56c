"""The limits of the rules on solids of the bare kernel: what the closed form says, measured again.

Boards, cylinders and discs are built in brep.py by a second hand; every measure is the kernel's own
distance, area or volume. Each pair of projects stands 0.05 mm to either side of a limit.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import cadquery as cq
import pytest

from slantbore.generators.solids.proof import prove
from slantbore.generators.solids.solids import screw_solid, solidify
from slantbore.models.judging.judge import judge
from slantbore.models.judging.rules.seat import height, share
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import along
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP
from slantbore.models.piece.grain import in_mate
from slantbore.models.piece.project import Bore, Limits, Project
from slantbore.models.wood.tables import screw_kinds
from tests.generators.brep import Box, Prism, cylinder, distance, shared
from tests.generators.limits import HAIR, LEG, PAIRS, butt, pocket, wander
from tests.generators.small import LENGTH, WIDTH, R, T

CLOSE = 1e-5  # mm
Measure = Callable[[Project], float]

SHELF = Prism(250.0, WIDTH, T, 0.0, 0.0)
UPRIGHT = Prism(300.0, WIDTH, T, 0.0, 0.0)
POST = Prism(400.0, LEG, LEG, 0.0, 0.0)
RAIL = Prism(LENGTH, WIDTH, T, 45.0, 45.0)


def counterbore(bore: Bore) -> cq.Solid:
    return cylinder(bore.exit, bore.back, bore.shoulder, bore.shoulder + 60.0, R)


def shoulder(bore: Bore) -> cq.Face:
    """The disc that the head seats on."""
    disc = cq.Solid.makeCylinder(R, 1.0, cq.Vector(*bore.seat), cq.Vector(*bore.back))
    seat = cq.Vector(*bore.seat)
    return min(disc.Faces(), key=lambda f: (f.Center() - seat).Length)


def wall(prism: Prism, side: str) -> Measure:
    def measured(project: Project) -> float:
        bore = project.bores[0]
        void = shared(counterbore(bore), prism.solid())
        assert void is not None
        return distance(void, prism.faces()[side])[0]

    return measured


def beyond(project: Project) -> float:
    """Wall to the shelf's front edge, negative by how far the counterbore stands out of it."""
    bore = project.bores[0]
    slab = Prism(250.0, WIDTH + 40.0, T, 0.0, 0.0).solid().moved(cq.Location(cq.Vector(0, -20, 0)))
    void = shared(counterbore(bore), slab)
    assert void is not None
    return float(void.BoundingBox(tolerance=1e-7).ymin)


def screw_in(project: Project, bore: Bore, mate: Prism) -> cq.Shape:
    """The screw within its mating board, in that board's frame."""
    boards = project.board_named
    entry, _, axis = in_mate(bore, boards[bore.board], boards[bore.mate])
    void = shared(cylinder(entry, axis, -bore.engagement, 20.0, bore.screw.radius), mate.solid())
    assert void is not None
    return void


def tip_cover(project: Project) -> float:
    void = screw_in(project, project.bores[0], UPRIGHT)
    return distance(void, UPRIGHT.faces()[TOP])[0]


def apart(project: Project) -> float:
    one, other = project.bores
    return distance(counterbore(one), counterbore(other))[0]


def screws_apart(project: Project) -> float:
    """Between two screws in the leg."""
    one, other = (screw_in(project, bore, POST) for bore in project.bores)
    return distance(one, other)[0]


def from_hole(project: Project) -> float:
    """Between the counterbore and the pin hole of the shelf."""
    (hole,) = project.board_named["shelf"].holes
    void = shared(counterbore(project.bores[0]), SHELF.solid())
    assert void is not None
    return distance(void, cylinder(hole.mouth, hole.inward, 0.0, hole.depth, hole.radius))[0]


def groove_of(project: Project, name: str, prism: Prism) -> cq.Solid:
    """The groove as a box, its planes read off the board's cut."""
    (groove,) = project.board_named[name].cuts
    floor, front, back = (face.plane.offset for face in groove.faces)
    box = Box("groove", (None, None), (-front, back), (-floor, None))
    return box.solid(prism.length, prism.width, prism.thickness)


def from_groove(project: Project) -> float:
    void = shared(counterbore(project.bores[0]), SHELF.solid())
    assert void is not None
    return distance(void, groove_of(project, "shelf", SHELF))[0]


def tip_from_groove(project: Project) -> float:
    void = screw_in(project, project.bores[0], UPRIGHT)
    return distance(void, groove_of(project, "upright", UPRIGHT))[0]


def body(bore: Bore) -> cq.Solid:
    """What the driver's body sweeps while the screw is driven."""
    drill = bore.drill
    low = bore.head + drill.bits[0]
    high = low + drill.driver_length + bore.engagement
    return cylinder(bore.exit, bore.back, low, high, drill.driver_radius)


def over_shelf(project: Project) -> float:
    """How far the driver's body stays over the shelf: measured from 5 mm under its top face."""
    lower = SHELF.faces()[TOP].moved(cq.Location(cq.Vector(0, 0, -5.0)))
    return distance(body(project.bores[0]), lower)[0] - 5.0


def room(project: Project) -> float:
    """Twice the tolerance, and what the walls have over 3 mm when the pocket is off by as much."""
    (bore,) = project.bores
    width = project.board_named["shelf"].width
    shelf = Prism(SHELF.length, width, T, 0.0, 0.0)
    off = Limits().tolerance
    least = []
    for side, shift in ((FRONT, -off), (BACK, off)):
        x, y, z = bore.exit
        void = shared(counterbore(replace(bore, exit=(x, y + shift, z))), shelf.solid())
        assert void is not None
        least.append(distance(void, shelf.faces()[side])[0] - 3.0)
    assert least[0] == pytest.approx(least[1], abs=CLOSE)
    return 2 * off + sum(least)


def width_beside(project: Project) -> float:
    """The shelf's width less that of both pockets, and half a pocket thrice: from solids' boxes."""
    width = project.board_named["shelf"].width
    solid = Prism(SHELF.length, width, T, 0.0, 0.0).solid()
    sizes = []
    for bore in project.bores:
        void = shared(counterbore(bore), solid)
        assert void is not None
        sizes.append(void.BoundingBox(tolerance=1e-7).ylen)
    return float(solid.BoundingBox().ylen - sum(sizes) - 1.5 * max(sizes))


def screw_from_pocket(project: Project) -> float:
    """Between the counterbore of the shelf and the other board's screw in it."""
    own, other = project.bores
    void = shared(counterbore(own), SHELF.solid())
    assert void is not None
    return distance(void, screw_in(project, other, SHELF))[0]


def off_stock(project: Project) -> float:
    """Half a millimetre less what the exported screw is longer than the nearest in the table."""
    solid = screw_solid(project.bores[0].screw)
    length = -float(solid.BoundingBox(tolerance=1e-7).zmin)
    return 0.5 - min(abs(length - stocked) for stocked in screw_kinds()["8"].lengths)


def wood_above(project: Project) -> float:
    """From the shoulder's centre to the pocket face, in the shoulder's plane."""
    bore = project.bores[0]
    centre = cq.Vertex.makeVertex(*bore.seat)
    square = distance(centre, SHELF.faces()[TOP])[0]
    return square / math.cos(math.radians(bore.slope))


def before_shoulder(project: Project) -> float:
    return distance(shoulder(project.bores[0]), SHELF.faces()[LEFT])[0]


def depth(project: Project) -> float:
    """Length along the axis, from the volume: a cylinder cut at a slant has the mean length."""
    bore = project.bores[0]
    void = screw_in(project, bore, UPRIGHT)
    return float(void.Volume()) / (math.pi * bore.screw.radius**2)


def from_end(project: Project) -> float:
    bore = project.bores[0]
    entry, tip, _ = in_mate(bore, project.board_named["shelf"], project.board_named["upright"])
    line = cq.Edge.makeLine(cq.Vector(*entry), cq.Vector(*tip))
    return distance(line, UPRIGHT.faces()[LEFT])[0]


MEASURED: dict[str, tuple[Measure, float]] = {
    "wall to a face that shows": (wall(SHELF, FRONT), 3.0),
    "wall to a hidden face": (wall(SHELF, FRONT), 1.5),
    "wall at a slant": (wall(RAIL, FRONT), 3.0),
    "wall to a groove": (from_groove, 1.5),
    "breakout": (beyond, 0.0),
    "cover of the tip": (tip_cover, 3.0),
    "tip beside a groove": (tip_from_groove, 3.0),
    "two pockets": (apart, 3.0),
    "screws that cross": (screws_apart, 3.0),
    "screw beside a pocket": (screw_from_pocket, 3.0),
    "beside a round hole": (from_hole, 3.0),
    "seat of the head": (wood_above, 0.4 * R),
    "wood before the shoulder": (before_shoulder, 6.0),
    "depth in the mate": (depth, 2 * 4.2),
    "length in stock": (off_stock, 0.0),
    "end of a dense board": (from_end, 2.5 * 4.2),
    "driver over the board": (over_shelf, 0.0),
    "width for two pockets": (width_beside, 0.0),
    "room for a pencil line": (room, 3.0),
}


def test_every_pair_is_measured() -> None:
    assert set(MEASURED) == set(PAIRS)


@pytest.mark.parametrize("name", PAIRS)
@pytest.mark.parametrize("margin", [HAIR, -HAIR], ids=["passes", "fails"])
def test_the_solid_stands_where_the_rule_says(name: str, margin: float) -> None:
    measure, limit = MEASURED[name]
    assert measure(PAIRS[name].at(margin)) == pytest.approx(limit + margin, abs=CLOSE)


@pytest.mark.parametrize(
    "name",
    [
        "wall to a face that shows", "wall at a slant", "wall to a groove", "breakout",
        "cover of the tip", "tip beside a groove", "two pockets", "screws that cross",
        "beside a round hole",
    ],
)  # fmt: skip
def test_the_proof_and_the_rule_give_one_verdict(name: str) -> None:
    pair = PAIRS[name]
    for margin in (HAIR, -HAIR):
        project = pair.at(margin)
        proven = [f for f in prove(solidify(project)) if f.rule == pair.rule]
        assert bool(proven) is (margin < 0)


@pytest.mark.parametrize(("margin", "severity"), [(HAIR, "warns"), (-HAIR, "fails")])
def test_less_wood_than_a_drill_may_wander_fails_toward_a_hidden_face(
    margin: float, severity: str
) -> None:
    """Half a millimetre: common practice, no source."""
    project = wander(margin)
    assert wall(SHELF, FRONT)(project) == pytest.approx(0.5 + margin, abs=CLOSE)
    said = [f for f in judge(project) if f.rule == "thin-wall"]
    proven = [f for f in prove(solidify(project)) if f.rule == "thin-wall"]
    assert {f.severity for f in (*said, *proven)} == {severity}
    assert len(said) == len(proven) == 1
    assert said[0].measured == pytest.approx(proven[0].measured, abs=1e-6)


def test_a_recipe_states_how_far_its_drill_wanders() -> None:
    true = replace(wander(-HAIR), limits=Limits(wander=0.2))
    assert {f.severity for f in judge(true) if f.rule == "thin-wall"} == {"warns"}
    # No wall is asked to be thinner than that, whatever is asked toward a hidden face.
    weak = replace(wander(-HAIR), limits=Limits(hidden_wall=0.1))
    assert {f.severity for f in judge(weak) if f.rule == "thin-wall"} == {"fails"}


@pytest.mark.parametrize("margin", [HAIR, -HAIR], ids=["passes", "fails"])
def test_a_driver_that_clears_shares_no_space_with_the_board(margin: float) -> None:
    project = PAIRS["driver over the board"].at(margin)
    met = shared(body(project.bores[0]), SHELF.solid())
    assert (met is None) is (margin > 0)
    if met is not None:
        assert met.Volume() > 1e-3


@pytest.mark.parametrize("above", [-0.3, 0.0, 0.2, 0.4, 0.7])
def test_share_of_the_shoulder_is_the_area_in_the_wood(above: float) -> None:
    sine, cosine = math.sin(math.radians(15)), math.cos(math.radians(15))
    project = butt(pocket(shoulder=(T / 2 - above * R * cosine) / sine))
    bore = project.bores[0]
    assert height(Study(project), bore) == pytest.approx(above * R, abs=1e-9)
    area = shoulder(bore).intersect(SHELF.solid()).Area()
    assert area / (math.pi * R**2) == pytest.approx(share(above * R, R), abs=1e-6)


def test_a_pocket_in_sight_takes_area_from_that_face_and_no_other() -> None:
    project = butt(pocket(), pocket="exposed")
    void = shared(counterbore(project.bores[0]), SHELF.solid())
    assert void is not None
    touched = {side for side, face in SHELF.faces().items() if distance(void, face)[0] < CLOSE}
    assert touched == {TOP} and BOTTOM not in touched and RIGHT not in touched
    tip = along(project.bores[0].exit, project.bores[0].back, 200.0)
    assert tip[2] > T, "the drill comes from above the face that is told"
