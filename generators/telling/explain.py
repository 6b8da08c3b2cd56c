"""Every rule's number for one bore, for whoever wants to look closer."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Any

from ...models.judging.rules import Number, Rule, rules
from ...models.judging.study import study_of
from ...models.piece.project import Bore, Finding, Project
from ...models.words.lengths import Unit
from ...models.words.names import named
from .report import finding_line, finding_said, placement


def bore_named(project: Project, name: str) -> Bore:
    """The bore of a name.

    Raises:
        SlantboreError: there is none; with the nearest name and all of them.
    """
    return named(name, {bore.name: bore for bore in project.bores}, "bore")


def measured(project: Project, bore: Bore) -> Iterator[tuple[Rule, tuple[Number, ...]]]:
    """What each rule measures on a bore; rules that measure nothing there are left out."""
    study = study_of(project)
    for rule in rules().values():
        found = tuple(rule.numbers(study, bore)) if rule.numbers else ()
        if found:
            yield rule, found


def explanation(project: Project, bore: Bore, findings: Iterable[Finding]) -> str:
    """The whole text about one bore; the number with least to spare is marked."""
    face = project.board_named[bore.board].face(bore.pocket_face)
    blocks = [
        [
            f"{bore.name}: in the {face.name} ({face.seen}) of {bore.board}, into {bore.mate}",
            f"  {placement(bore, project.unit)}",
            f"  Exact numbers follow, in {'millimetres' if project.unit == 'mm' else 'inches'}.",
        ]
    ]
    rows = list(measured(project, bore))
    tight = min(
        (n for _, found in rows for n in found if n.margin is not None and n.unit == "mm"),
        key=lambda n: n.margin if n.margin is not None else math.inf,
        default=None,
    )
    for rule, found in rows:
        blocks.append([f"{rule.code}: {rule.title}"])
        width = max(len(number.what) for number in found)
        blocks[-1] += [_line(number, width, number is tight, project.unit) for number in found]
    about = [finding for finding in findings if finding.bore == bore.name]
    if about:
        told = [finding_line(finding, finding_said(finding, project.unit)) for finding in about]
        said = [f"  {line}" for line in told]
        blocks.append(["What is found", *said])
    return "\n\n".join("\n".join(block) for block in blocks) + "\n"


def explanation_document(project: Project, bore: Bore) -> dict[str, Any]:
    """The same as plain data; lengths in mm."""
    return {
        "bore": bore.name,
        "numbers": [
            {
                "rule": rule.code,
                "what": number.what,
                "value": _plain(number.value),
                "needed": _plain(number.needed),
                "unit": number.unit,
                "says": number.says,
            }
            for rule, found in measured(project, bore)
            for number in found
        ],
    }


def _line(number: Number, width: int, tight: bool, unit: Unit) -> str:
    per, decimals = (25.4, 4) if number.unit == "mm" and unit == "inch" else (1.0, 2)

    def told(value: float) -> str:
        return f"{value / per:.{decimals}f}" if math.isfinite(value) else "far"

    text = f"  {number.what:<{width}}  {told(number.value):>9}"
    if number.unit != "mm":
        text += f" {number.unit}"
    if number.needed is not None and number.margin is not None:
        word = "to spare" if number.margin >= -1e-6 else "missing"
        text += f"  needs {told(number.needed)}, {told(abs(number.margin))} {word}"
    text += f"  ({number.says})" if number.says else ""
    return text + ("  <- least to spare" if tight else "")


def _plain(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(value, 6) + 0.0
