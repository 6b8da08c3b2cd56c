"""Free-form pieces that do not close: what is said, and where."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slantbore.models.designs import piece_models
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError
from tests.models.designs.test_free_form import STOCK, planned

ROOT = Path(__file__).parents[3]
BAD = sorted((ROOT / "tests" / "bad_recipes" / "free-form").glob("*.yaml"))


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_a_mistake_is_told_at_its_place(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    expected = re.fullmatch(r"# expect: (\d+:\d+): (.+)", text.splitlines()[0])
    assert expected, f"{path.name} must begin with `# expect: LINE:COLUMN: message`"
    with pytest.raises(RecipeError) as caught:
        plan(parse_recipe(text, path.name, piece_models()))
    assert str(caught.value) == f"{path.name}:{expected[1]}: {expected[2]}"


def test_there_is_a_recipe_for_every_kind_of_mistake() -> None:
    said = " ".join(path.read_text(encoding="utf-8").splitlines()[0] for path in BAD)
    for kind in ("can still slide along", "can still slide and turn", "no joint leads",
                 "leave one of them out", "do not close", "stay apart by", "run into each other by",
                 "turned 180 degrees", "do not touch", "run into each other: shorten"):  # fmt: skip
        assert kind in said, kind


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_chain_of_boards_is_built_or_refused_with_a_place(data: st.DataObject) -> None:
    """Random boards, random faces, random flush: a piece that closes, or one located message."""
    sides = st.sampled_from(
        ["top face", "bottom face", "front edge", "back edge", "left end", "right end"]
    )
    size = st.integers(30, 400)
    names = ["a", "b", "c"]
    text = STOCK + "  - design: free-form\n    name: odd\n    parts:\n"
    for name in names:
        text += f"      {name}: {{stock: rails, length: {data.draw(size)} mm, "
        text += f"width: {data.draw(size)} mm}}\n"
    text += "    joints:\n"
    for one, other in [*pairwise(names), ("c", "a")][: data.draw(st.integers(1, 3))]:
        flush = ", ".join(
            f"{{face: {data.draw(sides)}, to: {data.draw(sides)}, "
            f"set_back: {data.draw(st.integers(-20, 20))} mm}}"
            for _ in range(data.draw(st.integers(0, 2)))
        )
        pocket = data.draw(st.one_of(st.just(""), sides.map(lambda s: f", pockets_in: {s}")))
        text += f"      - {{kind: butt, board: {one} / {data.draw(sides)}, "
        text += f"meets: {other} / {data.draw(sides)}{pocket}, flush: [{flush}]}}\n"
    try:
        project = planned(text)
    except RecipeError as error:
        (problem,) = error.problems
        assert problem.location.line > 7
        return
    assert len(project.boards) == 3
    assert {f.rule for f in project.findings if f.severity == "fails"} <= {"no-window"}
