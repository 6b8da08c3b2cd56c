"""One cause in words, the same wherever it is shown: what is wrong, where, and what cures it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...models.advice.causes import Cause
from ...models.piece.project import Finding, Project
from .report import counted, finding_said, without_piece

HEADINGS = {"fails": "What fails", "warns": "What to watch", "notes": "Worth knowing"}


@dataclass(frozen=True)
class Said:
    """What is said of some places.

    Attributes:
        lines: for each rule its worst finding, and that in words with the numbers.
        places: joints, or boards, in the order of the project, each with its pockets at fault and
            the gravest finding at each; "" where it is said of no pocket, or of no place.
    """

    lines: tuple[tuple[Finding, str], ...]
    places: Mapping[str, Mapping[str, Finding]]


def said_of(project: Project, cause: Cause) -> list[Said]:
    """What is wrong; what several rules say of the same places stands together."""
    by_rule: dict[str, list[Finding]] = {}
    for finding in cause.findings:
        if finding.severity == "notes" != cause.severity:
            continue  # it goes with the rest
        by_rule.setdefault(finding.rule, []).append(finding)
    told: list[Said] = []
    for found in by_rule.values():
        line, places = (min(found, key=_spare), _words(project, found)), _places(project, found)
        last = told[-1] if told else None
        if last and _names(last.places) == _names(places):
            told[-1] = Said((*last.lines, line), last.places)
        else:
            told.append(Said((line,), places))
    return told


def place_said(project: Project, name: str, pockets: Mapping[str, Finding]) -> str:
    """A joint or a board, with how many of its pockets; one pocket by its own name."""
    if len(pockets) > 1:
        return f"{without_piece(project, name)}, {counted(len(pockets), 'pocket')}"
    return without_piece(project, next(iter(pockets)) or name)


def cure_said(cause: Cause) -> str:
    """What cures it, or else what helps; "" where nothing is known."""
    if cause.cure is None:
        hint = cause.findings[0].remedy
        return f"help: {hint}" if hint and not cause.findings[0].changes else ""
    if not cause.paste:
        return f"cure: {cause.cure.says}"
    thens = {f.changes[0].then for f in cause.findings if f.changes}
    then = f"; then {cause.cure.then}" if cause.cure.then and len(thens) == 1 else ""
    return f"cure: {cause.cure.words}{then}"


def paste_said(cause: Cause) -> list[tuple[str, tuple[str, ...]]]:
    """Where the lines of a cure go, and the lines as they stand there."""
    before = [f"in {cause.place}, ", *["and "] * len(cause.paste)]
    return [(b + patch.says, patch.lines) for b, patch in zip(before, cause.paste, strict=False)]


def _words(project: Project, found: Sequence[Finding]) -> str:
    """The worst of what one rule has to say."""
    worst = min(found, key=_spare)
    some = len(found) > 1 and worst.measured is not None
    said = without_piece(project, finding_said(worst, project.unit))
    return said + (f" (the worst of {len(found)})" if some else "")


def _places(project: Project, found: Sequence[Finding]) -> dict[str, dict[str, Finding]]:
    places: dict[str, dict[str, Finding]] = {}
    for finding in sorted(found, key=_spare):
        places.setdefault(finding.joint or finding.board, {}).setdefault(finding.bore, finding)
    order = (*project.joint_named, *project.board_named, *(bore.name for bore in project.bores))
    rank = {name: number for number, name in enumerate(order)}
    for name, pockets in places.items():
        if len(pockets) > 1:  # what is said of the joint is said of its pockets
            pockets.pop("", None)
        places[name] = {p: pockets[p] for p in sorted(pockets, key=lambda p: rank.get(p, -1))}
    return {name: places[name] for name in sorted(places, key=lambda name: rank.get(name, -1))}


def _names(places: Mapping[str, Mapping[str, Finding]]) -> dict[str, set[str]]:
    return {name: set(pockets) for name, pockets in places.items()}


def _spare(finding: Finding) -> float:
    if finding.measured is None or finding.needed is None:
        return math.inf
    return finding.measured - finding.needed
