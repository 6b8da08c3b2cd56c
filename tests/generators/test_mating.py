"""Where each board comes to another: the drawn line lies where the two boards meet."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from slantbore.generators.telling.mating import MatingLine, mating_lines
from slantbore.models.designs import designs, piece_models
from slantbore.models.maths.geometry import Pose, Vec, along, unit
from slantbore.models.piece.board import BACK, FRONT, LEFT, RIGHT, TOP, Board
from slantbore.models.piece.project import Joint, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe, read_recipe
from tests.boards import blank
from tests.generators.small import PINE

RECIPES = sorted((Path(__file__).parents[2] / "recipes").glob("*.yaml"))
PROJECTS = [
    *(plan(read_recipe(path, piece_models())) for path in RECIPES),
    *(plan(parse_recipe(d.starter, key, piece_models())) for key, d in designs().items()),
]
_WAY: dict[str, tuple[int, float]] = {
    LEFT: (0, 1.0), RIGHT: (0, -1.0), FRONT: (1, 1.0), BACK: (1, -1.0),
    "bottom face": (2, 1.0), TOP: (2, -1.0),
}  # fmt: skip


def inward(side: str) -> Vec:
    axis, sign = _WAY[side]
    return (sign * (axis == 0), sign * (axis == 1), sign * (axis == 2))


def place(at: MatingLine, ahead: float, beyond: float) -> Vec:
    """A point by the line: so far along it, so far beyond it; project's frame (mm)."""
    mate = at.mate
    sizes = (mate.length, mate.width, mate.thickness)
    spot = [0.0, 0.0, 0.0]
    (fixed, sign) = _WAY[at.face]
    spot[fixed] = 0.0 if sign > 0 else sizes[fixed]
    for side, far in ((at.line_from, at.line), (at.start_from, at.start)):
        axis, sign = _WAY[side]
        spot[axis] = far if sign > 0 else sizes[axis] - far
    point: Vec = (spot[0], spot[1], spot[2])
    across, onward = inward(at.line_from), inward(at.start_from)
    way = along(onward, across, math.tan(math.radians(at.slant)))
    point = along(point, unit(way), ahead)
    square = along(across, onward, -math.tan(math.radians(at.slant)))
    return mate.pose.point(along(point, unit(square), beyond))


def gaps(board: Board, point: Vec, but: str) -> list[float]:
    return [board.pose.plane(f.plane).gap(point) for f in board.faces if f.side != but]


@pytest.mark.parametrize("project", PROJECTS, ids=lambda p: p.name)
def test_the_board_lies_beyond_its_line_and_reaches_as_far_as_it_says(project: Project) -> None:
    for at in mating_lines(project):
        other, side = at.other, at.joint.first_face
        face = other.pose.plane(other.outward(side))
        for ahead, beyond in ((0.0, 0.0), (at.runs, 0.0)):
            point = place(at, ahead, beyond)
            # The line begins and ends where the other board's face does, in the mate's plane.
            assert abs(face.gap(point)) < 1e-6 or at.joint.kind == "mitre"
            assert min(gaps(other, point, side)) > -1e-6
        assert min(map(abs, gaps(other, place(at, at.runs / 2, 0.0), side))) < 1e-6
        inside = place(at, at.runs / 2, 1e-3)
        assert min(abs(gap) for gap in gaps(at.mate, inside, "")) < 1e-6
        assert min(gaps(other, inside, side)) > 0
        assert min(gaps(other, place(at, at.runs / 2, at.thick + 0.01), side)) < 0
        if at.line > 0:
            assert min(gaps(other, place(at, at.runs / 2, -1e-3), side)) < 0


def meeting(pose: Pose, length: float = 60.0) -> list[MatingLine]:
    """A rail that stands with its left end on a board 500 long and 100 wide."""
    base = blank("base", "p", "base", PINE, 500.0, 100.0)
    rail = blank("rail", "p", "rail", replace(PINE, thickness=20.0), length, 60.0, pose=pose)
    joint = Joint("j", "butt", "rail", LEFT, "base", TOP)
    return list(mating_lines(Project("p", "mm", (base, rail), (joint,))))


def test_by_hand() -> None:
    up: Vec = (0.0, 0.0, 1.0)
    top = PINE.thickness
    # Across the board: 60 wide along y from 30 on, 20 thick along x from 100 to 120.
    (at,) = meeting(Pose((100.0, 30.0, top), up, (0.0, 1.0, 0.0)))
    nearest = min(100.0, 120.0 - 20.0)
    assert (at.line_from, round(at.line, 9)) in ((LEFT, nearest), (LEFT, 80.0))
    assert (at.start_from, round(at.start, 9)) == (BACK, 10.0)
    assert (round(at.runs, 9), round(at.thick, 9), at.slant) == (60.0, 20.0, 0.0)
    # Nearer to the right end it is measured from there.
    (at,) = meeting(Pose((450.0, 20.0, top), up, (0.0, 1.0, 0.0)))
    assert at.line_from == RIGHT and at.line in (50.0, 30.0)
    assert (at.start_from, at.start) == (FRONT, 20.0)


def test_a_slanting_line_says_how_far_it_is_off() -> None:
    up: Vec = (0.0, 0.0, 1.0)
    (at,) = meeting(Pose((100.0, 20.0, PINE.thickness), up, unit((0.1, 1.0, 0.0))))
    assert round(abs(at.slant), 3) == 5.711  # the arc whose tangent is 0.1
    assert round(at.runs, 6) == 60.0 and round(at.thick, 6) == 20.0


def test_faces_that_cover_each_other_need_no_line() -> None:
    one = blank("one", "p", "one", PINE, 500.0, 100.0)
    other = blank("other", "p", "other", PINE, 500.0, 100.0, pose=Pose((0.0, 100.0, 0.0)))
    joint = Joint("j", "edge", "other", FRONT, "one", BACK)
    assert not list(mating_lines(Project("p", "mm", (one, other), (joint,))))
