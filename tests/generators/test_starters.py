"""What `new` writes is built in full: the first thing that somebody sees of the tool holds."""

from __future__ import annotations

import pytest

from slantbore.generators.solids.proof import prove
from slantbore.generators.solids.solids import solidify
from slantbore.models.designs import designs, piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe


@pytest.mark.parametrize("key", designs())
def test_a_starter_fails_neither_in_closed_form_nor_on_solids(key: str) -> None:
    project = plan(parse_recipe(designs()[key].starter, f"{key}.yaml", piece_models()))
    found = (*judge(project), *prove(solidify(project)))
    assert not [f.message for f in found if f.severity == "fails"]
