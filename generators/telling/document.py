"""Findings, causes and placements as one JSON document: lengths in mm, angles in degrees."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from ... import __version__
from ...models.advice.causes import Cause
from ...models.judging.study import study_of
from ...models.piece.lever import Change
from ...models.piece.project import Bore, Finding, Project
from ...models.words.errors import Problem, RecipeError
from .report import SEVERITIES, checked, ordered
from .steps import stages

FORMAT = "slantbore/findings/1"
PROBLEMS_FORMAT = "slantbore/problems/1"


def document(
    project: Project,
    findings: Iterable[Finding],
    stopped: str = "",
    causes: Sequence[Cause] = (),
) -> dict[str, Any]:
    """Return findings, causes, placements and counts as plain data.

    In the keys of a change null takes a key away.

    Args:
        project: placed.
        findings: all of them.
        stopped: after what the search for what to change was broken off ("2 s"), or "".
        causes: the same findings by their cause.
    """
    found = ordered(project, findings)
    numbers = {id(finding): number for number, finding in enumerate(found)}
    return {
        "format": FORMAT,
        "version": __version__,
        "project": project.name,
        "unit": project.unit,
        "counts": {s: sum(finding.severity == s for finding in found) for s in SEVERITIES},
        "checked": checked(project),
        "findings": [finding_data(finding) for finding in found],
        "causes": [_cause(cause, numbers) for cause in causes],
        "advice_stopped_after": stopped,
        "placements": [_placement(bore) for bore in project.bores],
        "assembly": _assembly(project),
        "reports": list(project.reports),
    }


def _assembly(project: Project) -> list[dict[str, Any]]:
    """The order of assembly, each part of it under the number that it has everywhere."""
    number: dict[tuple[str, ...], int] = {}
    for stage in stages(project):
        for step, starts in zip(stage.steps, stage.starts, strict=True):
            number |= {(name,): stage.number for name in starts}
            number[step.boards] = stage.number
    return [
        {
            "step": number.get(step.boards),
            "boards": list(step.boards),
            "onto": list(step.onto),
            "way": None if step.way is None else [_number(v) for v in step.way],
            "joints": [joint.name for joint in step.joints],
            "bores": [bore.name for bore in step.bores],
        }
        for step in study_of(project).order.steps
    ]


def problems_document(error: RecipeError) -> dict[str, Any]:
    """Return what is wrong with a recipe as plain data."""
    return {
        "format": PROBLEMS_FORMAT,
        "version": __version__,
        "problems": problems_data(error.problems),
    }


def problems_data(problems: Iterable[Problem]) -> list[dict[str, Any]]:
    """Return problems as plain data."""
    return [
        {
            "file": problem.location.file,
            "line": problem.location.line,
            "column": problem.location.column,
            "message": problem.message,
        }
        for problem in problems
    ]


def to_json(data: Any) -> str:
    """Return JSON text in ASCII, the same for the same data."""
    return json.dumps(data, indent=2, allow_nan=False) + "\n"


def finding_data(finding: Finding) -> dict[str, Any]:
    """Return a finding as plain data."""
    return {
        "rule": finding.rule,
        "severity": finding.severity,
        "message": finding.message,
        "board": finding.board,
        "joint": finding.joint,
        "bore": finding.bore,
        "face": finding.face,
        "measured_mm": _number(finding.measured),
        "measured_on": "solid" if finding.solid else "closed form",
        "needed_mm": _number(finding.needed),
        "remedy": finding.remedy,
        "point_mm": None if finding.point is None else [_number(v) for v in finding.point],
        "changes": [change_data(change) for change in finding.changes],
    }


def _cause(cause: Cause, numbers: Mapping[int, int]) -> dict[str, Any]:
    """Its findings by their numbers in the list, from 0, and the lines that cure it."""
    return {
        "severity": cause.severity,
        "rules": list(dict.fromkeys(finding.rule for finding in cause.findings)),
        "findings": [numbers[id(finding)] for finding in cause.findings],
        "cure": None if cause.cure is None else change_data(cause.cure),
        "paste": [
            {"first_line": p.first, "last_line": p.last, "lines": list(p.lines)}
            for p in cause.paste
        ],
    }


def change_data(change: Change) -> dict[str, Any]:
    """Return a change as plain data; null takes a key away."""
    return {
        "says": change.says,
        "keys": [{"path": list(s.path), "value": s.value} for s in change.edit],
    }


def _placement(bore: Bore) -> dict[str, Any]:
    window = bore.window
    return {
        "bore": bore.name,
        "joint": bore.joint,
        "board": bore.board,
        "datum": window.datum,
        "position_mm": _number(window.position),
        "low_mm": _number(window.low),
        "high_mm": _number(window.high),
        "low_binds": window.low_binds.says(),
        "high_binds": window.high_binds.says(),
        "swing_deg": _number(bore.swing),
        "screw": bore.screw.title,
    }


def _number(value: float | None) -> float | None:
    """Round away what no machine holds (1e-6 mm); JSON knows no infinity."""
    if value is None or not math.isfinite(value):
        return None
    return round(value, 6) + 0.0
