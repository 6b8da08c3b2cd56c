"""Findings and placements as a maker reads them, and as one JSON document."""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, get_args

from ... import __version__
from ...models.judging.study import study_of
from ...models.piece.project import Bore, Bound, Finding, Project, Severity
from ...models.words.errors import RecipeError
from ...models.words.lengths import ABOUT, Unit, format_decimal, format_length
from .steps import step_lines

FORMAT = "slantbore/findings/1"
PROBLEMS_FORMAT = "slantbore/problems/1"
SEVERITIES: tuple[Severity, ...] = get_args(Severity)

# Findings of one rule that are printed; a maker who has read so many knows what is wrong.
_MOST = 25

_ALL_TOLD = "findings.json and check --json tell all"
_HEADINGS = {"fails": "What fails", "warns": "What to watch", "notes": "Worth knowing"}


def ordered(project: Project, findings: Iterable[Finding]) -> list[Finding]:
    """Sort findings by severity, then by the order of the boards in the project, then by rule."""
    place = {board.name: number for number, board in enumerate(project.boards)}
    return sorted(
        findings,
        key=lambda f: (
            SEVERITIES.index(f.severity),
            place.get(f.board, len(place)),
            f.rule,
            f.joint,
            f.bore,
            f.face,
            f.message,
        ),
    )


def first_ones(
    findings: Iterable[Finding],
) -> tuple[list[Finding], dict[tuple[Severity, str], int]]:
    """Return the first findings of each severity and rule, and how many more there are."""
    count: Counter[tuple[Severity, str]] = Counter()
    first = []
    for finding in findings:
        count[finding.severity, finding.rule] += 1
        if count[finding.severity, finding.rule] <= _MOST:
            first.append(finding)
    return first, {of: number - _MOST for of, number in count.items() if number > _MOST}


def exit_status(findings: Iterable[Finding]) -> int:
    """Return 1 when a finding fails, else 0."""
    return int(any(finding.severity == "fails" for finding in findings))


def length(mm: float, unit: Unit) -> str:
    """Print a length in the recipe's unit; in inches the decimals follow when it was rounded."""
    text = format_length(mm, unit)
    return f"{text} ({format_decimal(mm, unit)})" if text.startswith(ABOUT) else text


def counted(number: int, one: str, many: str = "") -> str:
    """Return `1 board` or `4 boards`."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def checked(project: Project) -> dict[str, int]:
    """Count what the verdict covers: the walls and distances are those of the closed form."""
    study = study_of(project)
    return {
        "boards": len(project.boards),
        "joints": len(project.joints),
        "bores": len(project.bores),
        "screws": len(project.bores),
        "faces": sum(len(board.faces) for board in project.boards),
        "faces_that_show": sum(
            face.seen == "show" for board in project.boards for face in board.faces
        ),
        "walls": len(study.closed),
        "distances_between_bores": len(study.nearness),
    }


# --- text ----------------------------------------------------------------------------------------


def report(project: Project, findings: Iterable[Finding], how: str) -> str:
    """Return the whole verdict: placements, findings, and what was checked.

    Args:
        project: the project, placed.
        findings: what the rules, and perhaps the proof, had to say.
        how: the way the verdict was reached, for the last line ("in closed form").
    """
    found = ordered(project, findings)
    blocks = [_placements(project), step_lines(project), list(project.reports)]
    for severity in SEVERITIES:
        some = [finding for finding in found if finding.severity == severity]
        if some:
            blocks.append([_HEADINGS[severity], *finding_lines(some, project.unit)])
    blocks.append([summary(project, found, how)])
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def finding_lines(findings: Sequence[Finding], unit: Unit) -> Iterator[str]:
    """Yield the lines of findings in order: the verdict, and where.

    What is said of several places in the same words is said once, with the places below; where a
    rule has very many to tell, the rest is counted.
    """
    alike: dict[tuple[str, ...], list[str]] = {}
    first, more = first_ones(findings)
    for finding in first:
        said = finding.message + _measure(finding, unit)
        key = (finding.severity, finding.rule, said)
        alike.setdefault(key, []).append(_subject(finding))
    for (severity, rule, said), subjects in alike.items():
        places = list(dict.fromkeys(place for place in subjects if place))
        if len(places) == 1:
            said = f"{places[0]}: {said}"
        yield f"  {severity}  {rule}  {said}"
        if len(places) > 1:
            yield f"         at: {'; '.join(places)}"
    for (severity, rule), number in more.items():
        yield f"  {severity}  {rule}  and {number} more like this; {_ALL_TOLD}"


def what_to_change(project: Project, findings: Iterable[Finding], stopped: str = "") -> str:
    """Return the text of what was found to change, each change once; "" where there is nothing.

    Args:
        project: the project, placed.
        findings: with their remedies.
        stopped: after what the search was broken off ("2 s"), or "".
    """
    asked: dict[str, dict[tuple[str, str], None]] = {}
    first, more = first_ones(f for f in ordered(project, findings) if f.remedy)
    for finding in first:
        about = finding.rule, finding.joint or finding.board
        asked.setdefault(finding.remedy, {})[about] = None
    lines = []
    for remedy, told in asked.items():
        rules, places = (dict.fromkeys(some) for some in zip(*told, strict=True))
        lines += [f"  {', '.join(rules)}  {'; '.join(filter(None, places))}".rstrip()]
        lines += [f"         change: {remedy}"]
    if more:
        lines += [f"  and {sum(more.values())} more findings; {_ALL_TOLD}"]
    if stopped:
        lines += [f"  stopped looking for what to change after {stopped}"]
    return "\n".join(["", "What to change", *lines, ""]) if lines else ""


def _subject(finding: Finding) -> str:
    """What a finding is about, unless its message says so itself."""
    names = [name for name in (finding.board, finding.bore or finding.joint) if name]
    return "" if any(name in finding.message for name in names) else ", ".join(names)


def summary(project: Project, findings: Sequence[Finding], how: str) -> str:
    """Say how many findings there are and what was looked at."""
    count = {s: sum(finding.severity == s for finding in findings) for s in SEVERITIES}
    verdict = ", ".join(
        text
        for text in (
            counted(count["fails"], "finding fails", "findings fail")
            if count["fails"]
            else "nothing fails",
            counted(count["warns"], "warning") if count["warns"] else "",
            counted(count["notes"], "note") if count["notes"] else "",
        )
        if text
    )
    of = checked(project)
    return (
        f"{project.name}: {verdict}. Checked {how}: "
        f"{counted(of['boards'], 'board')} ({counted(of['faces'], 'face')}, "
        f"{of['faces_that_show']} of them in sight), {counted(of['joints'], 'joint')}, "
        f"{counted(of['bores'], 'pocket bore')} with {counted(of['screws'], 'screw')}: "
        f"{counted(of['walls'], 'wall')} to faces and cuts, "
        f"{counted(of['distances_between_bores'], 'distance')} between bores."
    )


def placement(bore: Bore, unit: Unit) -> str:
    """Say where one pocket sits, how far it may be off, and what goes into it."""
    window = bore.window
    where = f"{length(window.position, unit)} from the {window.datum}"
    if window.low > window.high:
        stops = dict.fromkeys(filter(None, (window.low_binds.says(), window.high_binds.says())))
        where += f" (no place is clear: {', '.join(stops)})" if stops else " (no place is clear)"
    elif window.low == window.high:
        where += " (where the recipe puts it)"
    elif math.isfinite(window.high - window.low):
        low, high = length(window.low, unit), length(window.high, unit)
        near_low = window.position - window.low <= window.high - window.position
        stop = window.low_binds if near_low else window.high_binds
        off = f"may be off by {length(window.margin, unit)}"
        off += f": {stop.says('the mating board')}" if stop != Bound() else ""
        where += f" (clear from {low} to {high}; {off})"
    turn = f"swung {bore.swing:g} degrees" if bore.swing else "square to the joint"
    return f"{where}, {turn}; {bore.screw.title}"


def _placements(project: Project) -> list[str]:
    lines = ["Where each pocket goes"] if project.bores else []
    for board in project.boards:
        alike: dict[str, list[str]] = {}
        for bore in project.bored[board.name]:
            alike.setdefault(placement(bore, project.unit), []).append(bore.name)
        if alike:
            lines.append(f"  {board.name}")
            lines += [f"    {', '.join(names)}: {where}" for where, names in alike.items()]
    return lines


def _measure(finding: Finding, unit: Unit) -> str:
    """What was measured and what is needed, unless the message says so itself."""
    measured, needed = finding.measured, finding.needed
    if measured is None or needed is None or needed <= 0 or not math.isfinite(measured):
        return ""
    if length(measured, unit) in finding.message:
        return ""
    where = " on the solid" if finding.solid else ""
    has = f"{length(measured, unit)}{where}, " if measured > 0 else ""
    return f": {has}{length(needed, unit)} needed"


# --- JSON ----------------------------------------------------------------------------------------


def document(project: Project, findings: Iterable[Finding], stopped: str = "") -> dict[str, Any]:
    """Return findings, placements and counts as plain data; lengths in mm, angles in degrees.

    In the keys of a change null takes a key away. `stopped` is as for `what_to_change`.
    """
    found = ordered(project, findings)
    return {
        "format": FORMAT,
        "version": __version__,
        "project": project.name,
        "unit": project.unit,
        "counts": {s: sum(finding.severity == s for finding in found) for s in SEVERITIES},
        "checked": checked(project),
        "findings": [_finding(finding) for finding in found],
        "advice_stopped_after": stopped,
        "placements": [_placement(bore) for bore in project.bores],
        "assembly": [
            {
                "boards": list(step.boards),
                "onto": list(step.onto),
                "way": None if step.way is None else [_number(v) for v in step.way],
                "joints": [joint.name for joint in step.joints],
                "bores": [bore.name for bore in step.bores],
            }
            for step in study_of(project).order.steps
        ],
        "reports": list(project.reports),
    }


def problems_document(error: RecipeError) -> dict[str, Any]:
    """Return what is wrong with a recipe as plain data."""
    return {
        "format": PROBLEMS_FORMAT,
        "version": __version__,
        "problems": [
            {
                "file": problem.location.file,
                "line": problem.location.line,
                "column": problem.location.column,
                "message": problem.message,
            }
            for problem in error.problems
        ],
    }


def to_json(data: Any) -> str:
    """Return JSON text in ASCII, the same for the same data."""
    return json.dumps(data, indent=2, allow_nan=False) + "\n"


def _finding(finding: Finding) -> dict[str, Any]:
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
        "changes": [
            {
                "says": change.says,
                "keys": [{"path": list(s.path), "value": s.value} for s in change.edit],
            }
            for change in finding.changes
        ],
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
