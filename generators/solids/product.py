"""What a build has made of a recipe: all that files, papers and programs are written from."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ...models.advice.causes import SEVERITIES, Cause
from ...models.piece.project import Finding, Project
from ..telling.printed import WAYS, Told
from ..telling.report import ordered

if TYPE_CHECKING:  # naming it needs no kernel
    from .solids import Solids


@dataclass(frozen=True)
class Product:
    """What every writer is given.

    Attributes:
        project: boards, joints, bores and screws, placed.
        solids: their exact solids.
        findings: what rules and proof have to say, with what to change.
        stopped: after what the search for what to change was broken off, or "".
        causes: the findings by their cause, with the lines that cure them.
    """

    project: Project
    solids: Solids
    findings: tuple[Finding, ...]
    stopped: str = ""
    causes: tuple[Cause, ...] = ()

    @property
    def words(self) -> Told:
        """What is told of it."""
        return Told(self.project, self.findings, self.causes, WAYS, self.stopped)

    def told(self, more: Iterable[Finding]) -> Product:
        """The same with more findings, the worst first, those in the same words one cause."""
        some = ordered(self.project, more)
        alike: dict[tuple[str, ...], tuple[Finding, ...]] = {}
        for one in some:
            key = (one.rule, one.severity, one.message, one.remedy)
            alike[key] = (*alike.get(key, ()), one)
        found = (*self.causes, *(Cause(findings) for findings in alike.values()))
        return replace(
            self,
            findings=tuple(ordered(self.project, (*self.findings, *some))),
            causes=tuple(sorted(found, key=lambda cause: SEVERITIES.index(cause.severity))),
        )
