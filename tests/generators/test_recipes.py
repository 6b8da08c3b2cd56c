"""Every recipe that ships: clean by closed form, built, proven on the solids, and closed.

What must hold is measured a second time here by other means than the proof's own: planes of the
boards, points on bores and screws, areas of faces.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from slantbore.generators.pipeline import Pipeline
from slantbore.generators.solids.faces import faces_of, outward_faces
from slantbore.generators.solids.solids import unbored_solid
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.maths.geometry import Array, cross, unit
from slantbore.models.piece.board import Board
from slantbore.models.piece.groups import groups
from slantbore.models.piece.project import Bore
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe

from ..models.designs.closed import assert_closed

Mask = NDArray[np.bool_]
RECIPES = sorted((Path(__file__).parents[2] / "recipes").glob("*.yaml"))
NEEDED = {
    "boot-bench",
    "book-shelf",
    "drawer",
    "drawer-base",
    "face-frame",
    "kitchenette",
    "sink-base",
    "table-top",
    "washroom-mirror",
}


@pytest.fixture(scope="module", params=RECIPES, ids=lambda path: path.stem)
def built(request: pytest.FixtureRequest) -> Pipeline:
    return Pipeline(request.param)


def test_all_are_there() -> None:
    assert {path.stem for path in RECIPES} >= NEEDED


def test_two_lines_say_what_it_shows_and_what_to_change(built: Pipeline) -> None:
    first, second, third = built.file.read_text(encoding="utf-8").splitlines()[:3]
    assert first.startswith("# ") and second.startswith("# Change ")
    assert not third.startswith("#")


def test_nothing_fails_by_closed_form(built: Pipeline) -> None:
    assert not [f for f in built.judged if f.severity == "fails"]


def test_the_boards_close(built: Pipeline) -> None:
    assert_closed(built.project)


def test_the_solids_agree(built: Pipeline) -> None:
    assert not [f.message for f in built.proven if f.severity == "fails"]


def test_no_face_in_sight_loses_area(built: Pipeline) -> None:
    whole: dict[int, object] = {}
    looked_at = 0
    for board in built.project.boards:
        solid = built.solids.own_solid(board.name)
        if id(solid) in whole:
            continue
        whole[id(solid)] = solid
        before = unbored_solid(board)
        # The mate covers a joint face, whatever the rest of the face is.
        covered = {b.joint_face for b in built.project.bores if b.board == board.name}
        into = (b for b in built.project.bores if b.mate == board.name and b.pilot_into_mate > 0)
        covered |= {b.mate_face for b in into}  # the bored board covers its pilots
        for face, cut in outward_faces(board):
            if face.seen == "exposed" and face.side not in covered:
                areas = [
                    sum(part.Area() for part in faces_of(shape, face.plane, cut))
                    for shape in (before, solid)
                ]
                assert areas[1] == pytest.approx(areas[0], abs=1e-5), (board.name, face.name)
                looked_at += 1
    assert looked_at


def test_no_screw_leaves_its_two_boards(built: Pipeline) -> None:
    project = built.project
    for bore in project.bores:
        own, mate = project.board_named[bore.board], project.board_named[bore.mate]
        # Under the head; there the shank is in the counterbore's floor.
        shank = surface(bore, -bore.engagement, bore.shoulder, bore.screw.radius)
        there = moved(shank, own, mate)
        held = inside(own, shank) | inside(mate, there)
        assert held.all(), f"{bore.name} stands out"
        met = in_cuts(mate, there) & inside(mate, there)
        assert not met.any(), f"{bore.name} runs into a cut"


def test_no_bore_cuts_a_groove(built: Pipeline) -> None:
    for bore in built.project.bores:
        own = built.project.board_named[bore.board]
        for low, high, radius in (
            (0.0, bore.shoulder, bore.drill.pilot_radius),
            (bore.shoulder, bore.run_out(own), bore.drill.counterbore_radius),
        ):
            points = surface(bore, low, high, radius)
            met = in_cuts(own, points) & inside(own, points)
            assert not met.any(), f"{bore.name} meets a cut"


def test_like_boards_are_built_once(built: Pipeline) -> None:
    assert len(built.solids.shapes) == len(groups(built.project))


def test_the_kitchenette_is_of_size() -> None:
    """At least six cases, about a hundred boards, less than two thirds of them distinct."""
    path = next(path for path in RECIPES if path.stem == "kitchenette")
    project = plan(read_recipe(path, piece_models()))
    assert len({board.piece for board in project.boards}) >= 6
    assert len(project.boards) >= 90 and len(project.bores) >= 200
    assert len(groups(project)) <= len(project.boards) * 2 / 3
    # Cases stand beside each other: none in another's wood, across the pieces as well.
    assert_closed(project)


def test_the_kitchenette_gives_no_warning() -> None:
    path = next(path for path in RECIPES if path.stem == "kitchenette")
    project = plan(read_recipe(path, piece_models()))
    assert {finding.severity for finding in judge(project)} == {"notes"}


def surface(bore: Bore, low: float, high: float, radius: float) -> Array:
    """Points on a cylinder about a bore's axis, (N, 3) in the bored board's frame."""
    back = np.array(bore.back)
    u = np.array(unit(cross(bore.back, (0.36, 0.48, 0.8))))
    v = np.cross(back, u)
    along = np.linspace(low, high, 25)
    around = [math.tau * k / 12 for k in range(12)]
    return np.array(
        [
            np.array(bore.exit) + t * back + radius * (math.cos(a) * u + math.sin(a) * v)
            for t in along
            for a in around
        ]
    )


def moved(points: Array, own: Board, other: Board) -> Array:
    """Points of one board's frame in another's."""
    there: Array = points @ own.pose.matrix.T + np.array(own.pose.origin)
    back: Array = (there - np.array(other.pose.origin)) @ other.pose.matrix
    return back


def inside(board: Board, points: Array, slack: float = 1e-6) -> Mask:
    """Which points lie in the blank."""
    held = np.ones(len(points), dtype=bool)
    for face in board.faces:
        held &= points @ np.array(face.plane.normal) <= face.plane.offset + slack
    return held


def in_cuts(board: Board, points: Array, slack: float = 1e-6) -> Mask:
    """Which points lie in a cut of the board, not merely on it."""
    met = np.zeros(len(points), dtype=bool)
    for cut in board.cuts:
        within = np.ones(len(points), dtype=bool)
        for face in cut.faces:
            within &= points @ np.array(face.plane.normal) <= face.plane.offset - slack
        met |= within
    return met
