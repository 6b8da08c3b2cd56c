"""What placement and every rule have to say of a project, and what the solids say, as one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from ..piece.project import Finding, Project
from .copies import copies_of
from .rules import rules
from .study import Study, study_of


def judge(project: Project) -> tuple[Finding, ...]:
    """Placement's findings, and those of every rule; what would cure them is not looked for."""
    return copies_of(project).said(judge_once(project))


def judge_once(project: Project) -> tuple[Finding, ...]:
    """The same of one copy of each piece, its name left open where it stands for others."""
    whole, once = project, copies_of(project).unnamed
    found = list(once.findings)
    for rule in rules().values():
        found += rule.check(study_of(whole if rule.adds_up else once))
    return tuple(of_screws(once, found))


def judge_again(study: Study) -> tuple[Finding, ...]:
    """The findings of the rules whose measures are taken on solids too, on whichever they were."""
    return tuple(f for rule in rules().values() if rule.on_solids for f in rule.check(study))


def joined(closed: Sequence[Finding], proven: Iterable[Finding]) -> list[Finding]:
    """One list of both ways: what solids measure is told as they have it.

    What to change was looked for in closed form.
    """
    known = {about(finding): finding for finding in closed}
    found = [f for f in closed if f.rule not in rules() or not rules()[f.rule].on_solids]
    for finding in proven:
        same = known.get(about(finding), finding)
        found.append(replace(finding, remedy=same.remedy, changes=same.changes))
    return found


def of_screws(project: Project, findings: Iterable[Finding]) -> list[Finding]:
    """Without what is said of single bores where no screw fits: the one shown is a stand-in."""
    bare = {f.joint for f in project.findings if f.rule == "no-screw"}
    return [f for f in findings if f.rule == "no-screw" or f.joint not in bare or not f.bore]


def about(finding: Finding) -> tuple[str, ...]:
    """What tells findings apart."""
    names = (finding.rule, finding.board, finding.joint, finding.bore, finding.face)
    return (*names, finding.message)
