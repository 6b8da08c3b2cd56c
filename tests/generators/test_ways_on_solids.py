"""What placement chooses by itself, on solids: raised exits, other faces, short rails."""

from __future__ import annotations

import pytest

from slantbore.generators.solids.proof import prove
from slantbore.generators.solids.solids import solidify
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from tests.models.test_otherwise import MIRROR, SHELF
from tests.models.test_otherwise import project as otherwise
from tests.models.test_ways import FRAME, rail

CASES: dict[str, Project] = {
    "exits above the middle": rail(14.0),
    "bored from an edge": rail(25.0, 25.0, "any", back="semi-exposed", edge="concealed"),
    "short rails": plan(
        parse_recipe(FRAME % (40, "20 x 100", 4, "turn", 1), "m.yaml", piece_models())
    ),
    "pilots into the mate": otherwise(MIRROR, every_joint={"pilot": "screw"}),
    "a corner turned": otherwise(MIRROR, corner_1={"pockets_in": "left stile / back"}),
    "a corner swung": otherwise(
        MIRROR, corner_2={"swing": 20, "wood_under_screw": 17, "screw": 25.4}
    ),
    "long slots, swung far": otherwise(
        SHELF, every_joint={"slot": 30, "swing": 55, "wood_under_screw": 18}
    ),
    "bored from below": otherwise(SHELF, shelf_to_upright={"pockets_in": "bottom face"}),
}


@pytest.mark.parametrize("project", CASES.values(), ids=CASES)
def test_the_proof_and_the_closed_form_agree(project: Project) -> None:
    found = prove(solidify(project))
    failing = {f.rule for f in found if f.severity == "fails"}
    assert failing <= {f.rule for f in judge(project) if f.severity == "fails"}
