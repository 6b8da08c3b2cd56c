"""order.csv: the order of assembly, one row a numbered line, as in every other place."""

from __future__ import annotations

from collections.abc import Iterable

from ...models.piece.project import Project
from .csvfile import Column
from .steps import Stage, stages

FILE = "order.csv"


def _listed(names: Iterable[str]) -> str:
    return "; ".join(dict.fromkeys(names))


COLUMNS: tuple[Column[Stage], ...] = (
    Column("step", "number, the same in terminal, page and papers", lambda s: s.number),
    Column("what", "what to do", lambda s: s.text),
    Column(
        "start_with",
        "boards that lie there before anything comes to them",
        lambda s: _listed(name for some in s.starts for name in some),
    ),
    Column(
        "bring",
        "boards that are brought in",
        lambda s: _listed(name for step in s.steps for name in step.boards),
    ),
    Column(
        "joints",
        "joints that are closed",
        lambda s: _listed(joint.name for step in s.steps for joint in step.joints),
    ),
    Column(
        "screws",
        "how many screws are driven",
        lambda s: sum(len(step.bores) for step in s.steps),
    ),
    Column(
        "again_from",
        "first of the steps that are done once more; empty: none",
        lambda s: s.again[0] if s.again else "",
    ),
    Column("again_to", "last of them", lambda s: s.again[1] if s.again else ""),
)


def rows(project: Project) -> Iterable[Stage]:
    """The numbered lines."""
    return stages(project)
