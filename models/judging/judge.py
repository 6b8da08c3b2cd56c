"""What placement and every rule have to say of a project, in closed form."""

from __future__ import annotations

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
