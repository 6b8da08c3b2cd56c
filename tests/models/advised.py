"""Advice asked for in tests, and held to its word: each change is written into the tree."""

from __future__ import annotations

import copy
import json
from collections import Counter
from typing import Any

from slantbore.models.advice.advise import Advice, advise
from slantbore.models.advice.budget import Budget
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge, judge_once
from slantbore.models.judging.rules import pages
from slantbore.models.piece.lever import Change
from slantbore.models.piece.project import Finding, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.recipe.stated import Recipe

ORDER = ("notes", "warns", "fails")


def read(text: str) -> Recipe:
    return parse_recipe(text, "trial.yaml", piece_models())


def advised(text: str | Recipe, tries: int = 60) -> tuple[Recipe, Project, tuple[Finding, ...]]:
    """A recipe, its project, and its findings with what to change."""
    recipe = read(text) if isinstance(text, str) else text
    project = plan(recipe)
    advice = advise(recipe, project, judge_once(project), Budget(tries))
    return recipe, project, advice.findings


def looked_for(text: str, budget: Budget) -> Advice:
    recipe = read(text)
    project = plan(recipe)
    return advise(recipe, project, judge_once(project), budget)


def written(recipe: Recipe, change: Change) -> Recipe:
    """The recipe with a change as a program would write it: key by key, None takes a key away."""
    tree: Any = copy.deepcopy(recipe.document.tree)
    for setting in change.edit:
        node = tree
        *above, last = setting.path
        for step, below in zip(above, setting.path[1:], strict=True):
            if isinstance(node, dict) and step not in node:
                node[step] = [] if isinstance(below, int) else {}
            elif isinstance(node, list) and step == len(node):
                node.append({})
            node = node[step]
        if setting.value is None:
            del node[last]
        else:
            node[last] = setting.value
    return read(json.dumps(tree))


def left(finding: Finding, after: tuple[Finding, ...], bores: set[str]) -> list[Finding]:
    """What still says the same, as grave or graver; of a whole joint where the bore is no more."""
    alone = finding.bore in bores and not pages()[finding.rule].joint
    return [
        f
        for f in after
        if (f.rule, f.joint or f.board, f.face)
        == (finding.rule, finding.joint or finding.board, finding.face)
        and (f.bore == finding.bore or not alone)
        and ORDER.index(f.severity) >= ORDER.index(finding.severity)
    ]


def new(before: tuple[Finding, ...], after: tuple[Finding, ...]) -> list[str]:
    """What fails or warns more often than before, by rule and joint or board."""

    def counts(findings: tuple[Finding, ...], least: str) -> Counter[tuple[str, str]]:
        graver = ORDER[ORDER.index(least) :]
        return Counter((f.rule, f.joint or f.board) for f in findings if f.severity in graver)

    return [
        f"{least} {key}"
        for least in ("warns", "fails")
        for key, count in counts(after, least).items()
        if count > counts(before, least)[key]
    ]


def hold(recipe: Recipe, findings: tuple[Finding, ...]) -> int:
    """Hold every change of the findings to its word; return how many were tried."""
    after: dict[object, tuple[set[str], tuple[Finding, ...]]] = {}
    for finding in findings:
        for change in finding.changes:
            assert change.edit and change.says in finding.remedy
            for setting in change.edit:
                # The words tell every key that is written, and what is written there.
                assert str(setting.path[-1]) in change.says
                assert setting.value is None or setting.value.strip('"') in change.says
            if change.edit not in after:
                project = plan(written(recipe, change))
                after[change.edit] = ({bore.name for bore in project.bores}, judge(project))
            bores, found = after[change.edit]
            assert not left(finding, found, bores), f"{finding.rule} {finding.message}: {change}"
            assert not new(findings, found), (
                f"{finding.rule}: {change.says}: {new(findings, found)}"
            )
    return len(after)
