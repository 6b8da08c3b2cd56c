"""Reach once more, on the solids: the driver comes down every bore of every shipped recipe.

Nothing of models.reach is used: bit and driver are built as solids from the drill's own measures
and held against the built boards that are there at that step.
"""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import cadquery as cq
import pytest

from slantbore.generators.solids.solids import Solids, solidify
from slantbore.models.designs import piece_models
from slantbore.models.judging.order import assembly_order
from slantbore.models.piece.project import Bore
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe

RECIPES = sorted(Path(str(files("slantbore") / "recipes")).glob("*.yaml"))
_NOTHING = 1e-3  # mm3


def _cylinder(solids: Solids, bore: Bore, low: float, high: float, radius: float) -> cq.Solid:
    pose = solids.project.board_named[bore.board].pose
    start = pose.point(tuple(e + low * b for e, b in zip(bore.exit, bore.back, strict=True)))  # type: ignore[arg-type]
    return cq.Solid.makeCylinder(
        radius, high - low, cq.Vector(*start), cq.Vector(*pose.direction(bore.back))
    )


def _boxes_meet(a: cq.BoundBox, b: cq.BoundBox) -> bool:
    return all(
        low < high
        for low, high in (
            (a.xmin, b.xmax),
            (b.xmin, a.xmax),
            (a.ymin, b.ymax),
            (b.ymin, a.ymax),
            (a.zmin, b.zmax),
            (b.zmin, a.zmax),
        )
    )


@pytest.mark.parametrize("recipe", RECIPES, ids=lambda path: path.stem)
def test_the_driver_reaches_every_screw_at_its_step(recipe: Path) -> None:
    project = plan(read_recipe(recipe, piece_models()))
    order = assembly_order(project)
    assert not order.stuck
    solids = solidify(project)
    standing = {board.name: solids.board_solid(board.name) for board in project.boards}
    boxes = {name: solid.BoundingBox() for name, solid in standing.items()}
    driven = []
    for step in order.steps:
        there = (*step.boards, *step.onto)
        for bore in step.bores:
            drill = bore.drill
            chuck = bore.head + bore.bit(project.board_named[bore.board])
            tools = (
                _cylinder(solids, bore, bore.head, chuck + bore.engagement, drill.bit_radius),
                _cylinder(
                    solids,
                    bore,
                    chuck,
                    chuck + drill.driver_length + bore.engagement,
                    drill.driver_radius,
                ),
            )
            driven.append(bore.name)
            for tool in tools:
                box = tool.BoundingBox()
                for name in there:
                    if _boxes_meet(box, boxes[name]):
                        common = tool.intersect(standing[name]).Volume()
                        assert common < _NOTHING, (bore.name, name, common)
    # Every screw is driven exactly once.
    assert sorted(driven) == sorted(bore.name for bore in project.bores)
