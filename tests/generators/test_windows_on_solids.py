"""A window ends where the wall does: its ends on solids, where a rebate's inner corner decides."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files

import pytest

from slantbore.models.designs import piece_models
from slantbore.models.piece.project import Project
from slantbore.models.placing.sites import site_of
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from tests.generators.measured import solid_walls

LOW, HIGH = 33.51, 38.87  # mm; by bisection on solids of the kernel


def slim() -> Project:
    text = (files("slantbore") / "recipes" / "slim-mirror.yaml").read_text(encoding="utf-8")
    text = text.replace("swing: auto", "swing: 24")
    assert "swing: 24" in text
    return plan(parse_recipe(text, "slim-mirror.yaml", piece_models()))


def thinnest(project: Project, position: float) -> float:
    """Least that a wall of the first bore has over its limit on solids (mm)."""
    bore = project.bores[0]
    site = site_of(project, bore)
    assert site is not None
    moved = replace(bore, exit=site.exit(position))
    (joint,) = (j for j in project.joints if j.name == bore.joint)
    alone = replace(project, joints=(replace(joint, bores=(moved,)),))
    seen = {
        (board.name, face.side): face.seen
        for board in project.boards
        for face in (*board.faces, *(f for cut in board.cuts for f in cut.faces))
    }
    limits = project.limits
    return min(
        gap - (limits.tip_cover if board == bore.mate else limits.wall(seen[board, side]))
        for (_, board, side), gap in solid_walls(alone).items()
    )


def test_beside_a_rebate_a_window_ends_where_the_wall_does() -> None:
    project = slim()
    window = project.bores[0].window
    assert (window.low, window.high) == pytest.approx((LOW, HIGH), abs=0.01)
    assert window.high_binds.face == "rebate"
    assert thinnest(project, window.high) == pytest.approx(0.0, abs=1e-4)
    assert thinnest(project, window.high + 0.05) < -0.01
    assert thinnest(project, window.low) == pytest.approx(0.0, abs=1e-4)
    assert thinnest(project, window.low - 0.05) < -0.01
