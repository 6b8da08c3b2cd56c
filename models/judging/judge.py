"""What placement and every rule have to say of a project, and what the solids say, as one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from ..piece.project import Finding, Project
from .rules import rules
from .study import study_of


def judge(project: Project) -> tuple[Finding, ...]:
    """Placement's findings, then those of every rule; what would cure them is not looked for."""
    study = study_of(project)
    found = list(project.findings)
    for rule in rules().values():
        found += rule.check(study)
    return tuple(found)


def joined(closed: Iterable[Finding], proven: Iterable[Finding]) -> list[Finding]:
    """One list of both ways; what both say is said once, with the measure of the solids.

    The rule's own words stay: it knows how grave its finding is and what to change.
    """
    found = {about(finding): finding for finding in closed}
    for finding in proven:
        known = found.get(about(finding))
        if known is not None:
            measured = known.measured if finding.measured is None else finding.measured
            finding = replace(known, measured=measured, point=finding.point)
        found[about(finding)] = finding
    return list(found.values())


def about(finding: Finding) -> tuple[str, ...]:
    """What tells findings apart; those about no joint, or about no face, by their message."""
    names = (finding.rule, finding.board, finding.joint, finding.bore, finding.face)
    told = finding.face and (finding.bore or finding.joint)
    return names if told else (*names, finding.message)
