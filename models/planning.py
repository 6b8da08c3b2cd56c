"""From a recipe to a project: each piece planned by its design, then set in its place."""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import replace
from typing import Any

from .designs import designs
from .geometry import Pose
from .otherwise import bored_otherwise
from .params import nearest
from .project import Finding, Project
from .recipe import PieceParams, Recipe
from .rules import rules
from .shop import Piece, Shop
from .study import study_of

_AISLE = 300.0  # mm between pieces that the recipe gives no place


def plan(recipe: Recipe) -> Project:
    """Plan every piece of a recipe.

    Raises:
        RecipeError: what the recipe asks for cannot be, at its place.
    """
    pieces: list[Piece] = []
    right = 0.0
    layouts: dict[Hashable, Any] = {}
    for index, params in enumerate(recipe.pieces):
        shop = Shop.of(recipe, index, params, layouts)
        for number in range(1, params.quantity + 1):
            named = shop if params.quantity == 1 else replace(shop, name=f"{shop.name} {number}")
            piece = designs()[params.design].plan(params, named)
            piece = bored_otherwise(named, params.otherwise, piece)
            if number == 1:
                _known_faces(params, piece, named)
            left, width = _extent(piece)
            pose = _place(params, number, width) or Pose((right - left, 0.0, 0.0))
            pieces.append(piece.placed(pose))
            right = max(right, pose.origin[0] + left + width + _AISLE)
    return Project(
        recipe.name,
        recipe.unit,
        tuple(b for p in pieces for b in p.boards),
        tuple(j for p in pieces for j in p.joints),
        tuple(h for p in pieces for h in p.hardware),
        recipe.limits,
        tuple(f for p in pieces for f in p.findings),
        tuple(r for p in pieces for r in p.reports),
    )


def check(project: Project) -> tuple[Finding, ...]:
    """What placement and every rule have to say, in closed form."""
    study = study_of(project)
    found = list(project.findings)
    for rule in rules().values():
        found += rule.check(study)
    return tuple(found)


def _known_faces(params: PieceParams, piece: Piece, shop: Shop) -> None:
    known = {f.name for b in piece.boards for f in b.faces}
    known |= {f"{b.role} {f.name}" for b in piece.boards for f in b.faces}
    for word in params.seen:
        if word not in known:
            faces = ", ".join(sorted({f.name for b in piece.boards for f in b.faces}))
            raise shop.error(
                f"no board has a face {word!r}{nearest(word, known)} (faces: {faces}; or with "
                "the board's role before it)",
                "seen",
                word,
            )


def _extent(piece: Piece) -> tuple[float, float]:
    """Least x and width of a piece (mm)."""
    xs = [
        b.pose.point((x, y, z))[0]
        for b in piece.boards
        for x in (0.0, b.length)
        for y in (0.0, b.width)
        for z in (0.0, b.thickness)
    ]
    return min(xs), max(xs) - min(xs)


def _place(params: PieceParams, number: int, width: float) -> Pose | None:
    """The pose that the recipe states; further copies stand beside the first one."""
    if params.at is None:
        return None
    turn = math.radians(params.at.turn)
    c, s = math.cos(turn), math.sin(turn)
    step = (number - 1) * (width + _AISLE)
    origin = (params.at.x + step * c, params.at.y + step * s, params.at.up)
    return Pose(origin, (c, s, 0.0), (-s, c, 0.0))
