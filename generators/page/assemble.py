"""From solids to the page's shapes, each distinct board meshed once."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ...models.piece.project import Project
from ..telling.printed import Told
from .mesh import shape_json
from .scene import scene_of, shape_name

if TYPE_CHECKING:
    from ..solids.solids import Solids


def shapes_of(project: Project, solids: Solids) -> dict[str, Any]:
    """Shape name to what the page draws of it."""
    shapes: dict[str, Any] = {}
    for board in project.boards:
        name = shape_name(project, board)
        if name not in shapes:
            shapes[name] = shape_json(solids.own_solid(board.name), board)
    return shapes


def built_scene(told: Told, solids: Solids) -> dict[str, Any]:
    """The scene of a project that is built, shapes and all."""
    return scene_of(told, shapes_of(told.project, solids))
