"""Spacers that set a board back from its mate's face while the joint is driven."""

from __future__ import annotations

from collections.abc import Iterator

from ...models.piece.project import Project
from ...models.words.lengths import format_length
from ..solids.kernel import cq
from ..telling.steps import set_back
from . import Aid, Aids

_LONG, _WIDE = 120.0, 40.0  # mm: common practice, no source


def make(project: Project) -> Iterator[Aid]:
    """One for each distance; print two of each."""
    backs = (set_back(project, joint) for joint in project.joints)
    for back in sorted({round(back, 3) for back in backs if back is not None}):
        said = format_length(back, project.unit)
        solid = cq.Solid.makeBox(_LONG, _WIDE, back)
        about = f"Sets a board back by {said}; two of them, one at either end of the joint."
        yield Aid(f"spacer {back:.2f} mm", solid, about)


AIDS = Aids(make)
