"""The wood that a slot leaves beside its pocket, against points on the pilot's wall."""

from __future__ import annotations

import math

import numpy as np
import pytest

from slantbore.models.designs import piece_models
from slantbore.models.judging.rules.open_slot import room
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe

TEXT = """\
name: slotted
units: mm
stock:
  board: {wood: red-oak, thickness: 19}
build:
  - design: free-form
    name: bench
    parts:
      apron: {stock: board, length: 400, width: 90, seen: {top face: concealed}}
      top: {stock: board, length: 400, width: 130}
    joints:
      - {kind: top, board: apron / back edge, meets: top / bottom face, pockets_in: top face,
         pockets: 1, flush: [{face: left end, to: left end},
                             {face: top face, to: front edge, set_back: 40}]}
    changes: {apron to top: {slot: 6, swing: %s}}
"""


@pytest.mark.parametrize("swing", [0, 10, -25])
def test_the_wood_beside_a_slot_is_what_points_on_its_wall_say(swing: float) -> None:
    project = plan(parse_recipe(TEXT % swing, "r.yaml", piece_models()))
    (bore,) = project.bores
    board = project.board_named[bore.board]
    wood, end = room(bore, board)
    joint, pocket = board.face(bore.joint_face).plane, board.face(bore.pocket_face).plane
    # A generator of the pilot's wall through exit + radius u, u square to the axis, meets the
    # plane of the joint after -(n . u) radius / (n . axis) of its length.
    axis, normal = np.array(bore.back), np.array(joint.normal)
    first = np.cross(axis, normal) / np.linalg.norm(np.cross(axis, normal))
    angles = np.linspace(0, 2 * math.pi, 20001)[:, None]
    around = bore.pilot_radius * (np.cos(angles) * first + np.sin(angles) * np.cross(axis, first))
    around -= (around @ normal)[:, None] / (axis @ normal) * axis
    points = [
        np.array(bore.exit) + half * np.array(bore.slot_along) + around
        for half in (bore.slot / 2, -bore.slot / 2)
    ]
    least = pocket.offset - (np.concatenate(points) @ np.array(pocket.normal)).max()
    assert wood == pytest.approx(least, abs=1e-6)
    assert joint.gap(end) == pytest.approx(0, abs=1e-9)
