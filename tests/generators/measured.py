"""What the kernel measured of a project, by name."""

from __future__ import annotations

from slantbore.generators.solids.measure import measure
from slantbore.models.judging.measures import WallKey
from slantbore.models.piece.project import Project


def solid_walls(project: Project) -> dict[WallKey, float]:
    """Walls (mm) by bore, board and side, each face of a cut by itself."""
    return {(found.bore, found.board, found.side): found.gap for found in measure(project)}


def solid_gaps(project: Project) -> dict[WallKey, float]:
    """Walls (mm) by bore, board and side or cut."""
    least: dict[WallKey, float] = {}
    for found in measure(project):
        least[found.key] = min(found.gap, least.get(found.key, found.gap))
    return least
