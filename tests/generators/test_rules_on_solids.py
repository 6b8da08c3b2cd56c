"""The limits of the rules on solids of the bare kernel: what the closed form says, measured again.

Boards, cylinders and discs are built in brep.py by a second hand; every measure is the kernel's own
distance, area or volume. Each pair of projects stands 0.05 mm to either side of a limit.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import cadquery as cq
import pytest

from slantbore.generators.proof import prove
from slantbore.generators.solids import solidify
from slantbore.models.board import BOTTOM, FRONT, LEFT, RIGHT, TOP
from slantbore.models.geometry import along
from slantbore.models.grain import in_mate
from slantbore.models.project import Bore, Project
from slantbore.models.rules.seat import height, share
from slantbore.models.study import Study
from tests.generators.brep import Prism, cylinder, distance, shared
from tests.generators.limits import HAIR, PAIRS, butt, pocket
from tests.generators.small import LENGTH, WIDTH, R, T

CLOSE = 1e-5  # mm
Measure = Callable[[Project], float]

SHELF = Prism(250.0, WIDTH, T, 0.0, 0.0)
UPRIGHT = Prism(300.0, WIDTH, T, 0.0, 0.0)
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


def tip_cover(project: Project) -> float:
    bore = project.bores[0]
    entry, _, axis = in_mate(bore, project.board_named["shelf"], project.board_named["upright"])
    screw = cylinder(entry, axis, -bore.engagement, 0.0, bore.screw.radius)
    void = shared(screw, UPRIGHT.solid())
    assert void is not None
    return distance(void, UPRIGHT.faces()[TOP])[0]


def apart(project: Project) -> float:
    one, other = project.bores
    return distance(counterbore(one), counterbore(other))[0]


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
    entry, _, axis = in_mate(bore, project.board_named["shelf"], project.board_named["upright"])
    void = shared(cylinder(entry, axis, -bore.engagement, 20.0, bore.screw.radius), UPRIGHT.solid())
    assert void is not None
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
    "breakout": (beyond, 0.0),
    "cover of the tip": (tip_cover, 3.0),
    "two pockets": (apart, 3.0),
    "seat of the head": (wood_above, 0.4 * R),
    "wood before the shoulder": (before_shoulder, 6.0),
    "depth in the mate": (depth, 2 * 4.2),
    "end of a dense board": (from_end, 2.5 * 4.2),
}


def test_every_pair_is_measured() -> None:
    assert set(MEASURED) == set(PAIRS)


@pytest.mark.parametrize("name", PAIRS)
@pytest.mark.parametrize("margin", [HAIR, -HAIR], ids=["passes", "fails"])
def test_the_solid_stands_where_the_rule_says(name: str, margin: float) -> None:
    measure, limit = MEASURED[name]
    assert measure(PAIRS[name].at(margin)) == pytest.approx(limit + margin, abs=CLOSE)


@pytest.mark.parametrize(
    "name", ["wall to a face that shows", "wall at a slant", "breakout", "cover of the tip"]
)
def test_the_proof_and_the_rule_give_one_verdict(name: str) -> None:
    pair = PAIRS[name]
    for margin in (HAIR, -HAIR):
        project = pair.at(margin)
        proven = [f for f in prove(solidify(project)) if f.rule == pair.rule]
        assert bool(proven) is (margin < 0)


@pytest.mark.parametrize("above", [-0.3, 0.0, 0.2, 0.4, 0.7])
def test_share_of_the_shoulder_is_the_area_in_the_wood(above: float) -> None:
    sine, cosine = math.sin(math.radians(15)), math.cos(math.radians(15))
    project = butt(pocket(shoulder=(T / 2 - above * R * cosine) / sine))
    bore = project.bores[0]
    assert height(Study(project), bore) == pytest.approx(above * R, abs=1e-9)
    area = shoulder(bore).intersect(SHELF.solid()).Area()
    assert area / (math.pi * R**2) == pytest.approx(share(above * R, R), abs=1e-6)


def test_a_pocket_in_sight_takes_area_from_that_face_and_no_other() -> None:
    project = butt(pocket(), pocket="show")
    void = shared(counterbore(project.bores[0]), SHELF.solid())
    assert void is not None
    touched = {side for side, face in SHELF.faces().items() if distance(void, face)[0] < CLOSE}
    assert touched == {TOP} and BOTTOM not in touched and RIGHT not in touched
    tip = along(project.bores[0].exit, project.bores[0].back, 200.0)
    assert tip[2] > T, "the drill comes from above the face that is told"
