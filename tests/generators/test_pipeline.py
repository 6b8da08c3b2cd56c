"""The stages of a recipe: made when asked for, once, and by nobody else."""

from __future__ import annotations

import ast
from collections.abc import Callable
from pathlib import Path

import pytest

from slantbore.generators import pipeline
from slantbore.generators.pipeline import Pipeline
from slantbore.generators.solids import proof, solids
from slantbore.models.words.errors import RecipeError

ROOT = Path(__file__).parents[2]
MIRROR = ROOT / "recipes" / "washroom-mirror.yaml"
STAGES = {
    "plan",
    "judge_once",
    "advise",
    "prove",
    "Solids",
    "bored_solid",
    "read_recipe",
    "parse_recipe",
}


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the stages, in the order in which they are made."""
    made: list[str] = []

    def watch(home: object, name: str) -> None:
        real: Callable[..., object] = getattr(home, name)

        def watched(*args: object) -> object:
            made.append(name)
            return real(*args)

        monkeypatch.setattr(home, name, watched)

    for name in ("read_recipe", "parse_recipe", "plan", "judge_once", "advise"):
        watch(pipeline, name)
    watch(solids, "bored_solid")
    watch(proof, "prove")
    return made


def test_each_stage_is_made_when_asked_for_and_once(calls: list[str]) -> None:
    made = Pipeline(MIRROR)
    assert calls == []
    assert made.judged is made.judged
    assert calls == ["read_recipe", "plan", "judge_once"]
    rail, *others = made.project.boards
    first = made.solid(rail.name)
    assert calls[3:] == ["bored_solid"]
    alike = [board.name for board in others if made.solid(board.name) is first]
    assert len(alike) == 1 and calls[3:] == ["bored_solid", "bored_solid"]  # rails, and stiles
    assert made.solids.own_solid(rail.name) is first
    assert made.findings is made.findings and made.proven is made.proven
    assert calls[5:] == ["prove", "advise"]


def test_a_text_stands_for_the_file(calls: list[str]) -> None:
    text = MIRROR.read_text("utf-8").replace("name: washroom mirror", "name: other")
    made = Pipeline(MIRROR, text)
    assert made.project.name == "other" and calls == ["parse_recipe", "plan"]
    with pytest.raises(RecipeError) as caught:
        _ = Pipeline(Path("wrong.yaml"), "name: [").judged
    assert caught.value.problems[0].location.file == "wrong.yaml"


def test_steps_that_take_time_are_told() -> None:
    told: list[tuple[str, int, int]] = []
    made = Pipeline(MIRROR, progress=lambda *step: told.append(step))
    _ = made.judged
    assert told == []
    _ = made.findings
    assert [step[1:] for step in told[:3]] == [(0, 2), (1, 2), (2, 2)]
    assert told[-1] == ("walls", len(made.project.bores), len(made.project.bores))


def test_nothing_else_in_the_house_makes_a_stage() -> None:
    """No command, writer or page plans, judges, solidifies or proves on its own."""
    found = set()
    for path in (ROOT / "generators").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                if node.func.id in STAGES:
                    found.add((path.relative_to(ROOT / "generators").as_posix(), node.func.id))
    in_solids = {("solids/solids.py", "Solids"), ("solids/solids.py", "bored_solid")}
    assert found == in_solids | {("pipeline.py", name) for name in STAGES - {"bored_solid"}}
