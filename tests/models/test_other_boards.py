"""Screws and the boards beyond their joints: placement keeps clear, the rule agrees."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import pytest

from slantbore.generators.telling.report import placement
from slantbore.models.designs import designs, piece_models
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import along, cross, dot, unit
from slantbore.models.piece.project import Bound, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe

BASE = """\
name: base
units: inch
stock:
  ply: {sheet: plywood-3-4}
build:
  - design: case
    stock: ply
    size: 24 x 34-1/2
    depth: 23-1/4
    toe_kick: {height: 4, setback: 3}
    changes: {every joint: {screw: 2}}
"""


def starter(key: str) -> Project:
    return plan(parse_recipe(designs()[key].starter, f"{key}.yaml", piece_models()))


def at(project: Project, place: str) -> Project:
    """Every pocket at an end of its window: `low` or `high`."""
    joints = []
    for joint in project.joints:
        bores = []
        for bore in joint.bores:
            board = project.board_named[bore.board]
            faces = [board.face(side).plane.normal for side in (bore.joint_face, bore.pocket_face)]
            line = unit(cross(*faces))
            # Positions grow from the face that the datum names.
            names = {face.name: face.plane.normal for face in board.faces}
            way = -1.0 if dot(names[bore.window.datum], line) > 0 else 1.0
            step = getattr(bore.window, place) - bore.window.position
            bores.append(replace(bore, exit=along(bore.exit, line, way * step)))
        joints.append(replace(joint, bores=tuple(bores)))
    return replace(project, joints=tuple(joints))


@pytest.mark.parametrize("key", ["hall-table", "case"])
@pytest.mark.parametrize("place", ["position", "low", "high"])
def test_no_screw_strays_anywhere_in_its_window(key: str, place: str) -> None:
    project = starter(key)
    assert project.bores
    assert not Study(at(project, place)).strays


def test_a_screw_that_strays_is_found_on_the_way_past() -> None:
    """The apron's edge stands on the top: a head that is 1 mm proud there runs into it."""
    project = starter("hall-table")
    proud = tuple(
        replace(joint, bores=tuple(replace(b, shoulder=b.shoulder + 5.0) for b in joint.bores))
        for joint in project.joints
    )
    strays = Study(replace(project, joints=proud)).strays
    assert any(stray.board.role.endswith("apron") for stray in strays)
    assert all(stray.board.name not in (stray.bore.board, stray.bore.mate) for stray in strays)
    assert all(0 < stray.depth < 10 for stray in strays)


def test_pockets_that_fit_nowhere_stay_where_practice_puts_them() -> None:
    project = plan(parse_recipe(BASE, "base.yaml", piece_models()))
    lengths = {board.name: board.width for board in project.boards}
    places: dict[str, list[float]] = defaultdict(list)
    for bore in project.bores:
        assert bore.window.high < bore.window.low
        assert 0 < bore.window.position < lengths[bore.board]
        places[bore.joint].append(bore.window.position)
    assert all(len(set(some)) == len(some) for some in places.values())
    # Wide apart, as practice asks: no two nearer than a pocket is wide.
    for some in places.values():
        assert all(b - a > 9.5 for a, b in zip(sorted(some), sorted(some)[1:], strict=False))


FRONT_OF_SHELF = """\
name: two
units: mm
stock:
  board: {wood: red-oak, thickness: 19}
build:
  - design: free-form
    name: shelf
    parts:
      shelf: {stock: board, length: 400, width: 60,
              seen: {top face: concealed, left end: concealed},
              faces: {front edge: front of shelf}}
      upright: {stock: board, length: 400, width: 60, seen: {top face: concealed}}
    joints:
      - {kind: butt, board: shelf / left end, meets: upright / bottom face, pockets_in: top face,
         pockets: 1, flush: [{face: front of shelf, to: front edge},
                             {face: bottom face, to: left end, set_back: 100}]}
"""


def test_a_face_called_front_of_something_is_not_the_mates() -> None:
    """What limits a pocket is data: no part of a face's name stands for a board."""
    project = plan(parse_recipe(FRONT_OF_SHELF, "two.yaml", piece_models()))
    (bore,) = project.bores
    assert bore.window.low_binds == Bound("counterbore", "front of shelf")
    assert "may be off by" in placement(bore, "mm")
    assert placement(bore, "mm").count("front of shelf") == 2 and "mating" not in placement(
        bore, "mm"
    )
