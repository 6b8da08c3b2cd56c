"""Two ways to measure, one to judge: `check` and `build` speak of the same findings."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest

from slantbore.generators.build import build
from slantbore.generators.solids.proof import prove
from slantbore.generators.solids.solids import solidify
from slantbore.generators.telling.printed import Told, full, plain
from slantbore.generators.telling.report import ordered
from slantbore.models.advice.causes import causes
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.judging.rules import rules
from slantbore.models.piece.project import Finding, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from tests.generators.limits import HAIR, PAIRS

AGAIN = {code for code, rule in rules().items() if rule.on_solids}


def about(finding: Finding) -> tuple[str, ...]:
    names = (finding.board, finding.joint, finding.bore, finding.face)
    return (finding.rule, finding.severity, *names, finding.message)


def alike(project: Project) -> list[Finding]:
    """What both ways say; that it is the same, and measured the same, is asserted."""
    said = {about(f): f for f in judge(project) if f.rule in AGAIN}
    proven = {about(f): f for f in prove(solidify(project))}
    assert said.keys() == proven.keys()
    for key, finding in proven.items():
        closed = said[key]
        assert finding.measured == pytest.approx(closed.measured, abs=1e-6), key
        assert finding.needed == closed.needed and not closed.solid
    return list(proven.values())


@pytest.mark.parametrize("pair", PAIRS.values(), ids=PAIRS)
@pytest.mark.parametrize("margin", [HAIR, -HAIR, -2.0])
def test_both_ways_say_the_same_about_a_limit(pair: type, margin: float) -> None:
    alike(pair.at(margin))  # type: ignore[attr-defined]


def bad_frame() -> str:
    """A mirror bored square to its mitres, on rails that hide no such pocket."""
    text = (files("slantbore") / "recipes" / "slim-mirror.yaml").read_text(encoding="utf-8")
    return text.replace("swing: auto", "swing: 0")


def test_a_bad_frame_has_as_many_findings_in_both() -> None:
    project = plan(parse_recipe(bad_frame(), "bad.yaml", piece_models()))
    told = alike(project)
    assert len(told) > 12 and {"thin-wall", "breakout", "tip-cover"} <= {f.rule for f in told}
    assert all(f.solid for f in told)


def told(path: Path, project: Project, findings: Sequence[Finding], how: str) -> str:
    """All that is told, what to change aside."""
    plainly = ordered(project, (replace(f, changes=(), remedy="") for f in findings))
    recipe = parse_recipe(path.read_text(encoding="utf-8"), str(path), piece_models())
    return plain(full(Told(project, plainly, causes(recipe, project, plainly), how)))


def test_a_build_tells_what_check_tells_and_that_it_was_measured_on_the_solid(
    tmp_path: Path,
) -> None:
    recipe = tmp_path / "bad.yaml"
    recipe.write_text(bad_frame(), encoding="utf-8")
    result = build(recipe, tmp_path / "out", writers=())
    closed = judge(result.project)
    assert sorted(map(about, result.findings)) == sorted(map(about, closed))
    text = told(recipe, result.project, result.findings, "on the solids")
    here = told(recipe, result.project, closed, "in closed form")
    assert re.search(r": [\d.]+ mm on the solid, 3 mm needed", text)
    assert text.replace(" on the solid,", ",").replace("on the solids", "in closed form") == here


def test_findings_json_says_what_was_measured_on_the_solid(tmp_path: Path) -> None:
    recipe = tmp_path / "bad.yaml"
    recipe.write_text(bad_frame(), encoding="utf-8")
    build(recipe, tmp_path / "out")
    told = json.loads((tmp_path / "out" / "findings.json").read_text(encoding="utf-8"))
    ways = {(f["rule"] in AGAIN, f["measured_on"]) for f in told["findings"]}
    assert ways == {(True, "solid"), (False, "closed form")}
