"""Where a piece stands: set elsewhere on the floor plan, or fastened to the wall."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

import numpy as np

from ..judging.study import Study, study_of
from ..maths.geometry import Array
from ..piece.convex import joined_box
from ..piece.lever import Edit, Lever, Setting
from ..piece.project import Finding, Project
from ..recipe.stated import Recipe
from ..words.lengths import write_length


def piece_numbers(recipe: Recipe) -> Mapping[str, int]:
    """Which piece of the recipe each piece comes of, by the name of every copy."""
    return {name: i for i, params in enumerate(recipe.pieces) for name in params.copies}


def fixing(recipe: Recipe, index: int) -> Lever:
    """Something that holds a piece to the wall, named beside what fastens it already."""
    at = ("build", index, "fixings", len(recipe.pieces[index].fixings))
    told = (
        Setting((*at, "to"), "wall", "fasten it to the {}"),
        Setting((*at, "name"), "wall bracket", "with a {} screwed into sound backing"),
    )
    return Lever("fixing", [told])


def place_levers(recipe: Recipe, project: Project, finding: Finding) -> Iterator[Lever]:
    """One of two pieces moved out of the other along the floor plan, the shortest ways first."""
    study = study_of(project)
    numbers = piece_numbers(recipe)
    for overlap in study.overlaps:
        pieces = [project.board_named[name].piece for name in (overlap.first, overlap.second)]
        if overlap.first == finding.board and pieces[0] != pieces[1]:
            moves = [
                (far, edit)
                for moved, stays in (pieces[::-1], pieces)
                for far, edit in _moves(recipe, study, numbers[moved], moved, stays)
            ]
            moves.sort(key=lambda move: move[0])
            yield Lever("place", [edit for _, edit in moves])


def _moves(
    recipe: Recipe, study: Study, index: int, moved: str, stays: str
) -> Iterator[tuple[float, Edit]]:
    """How far and how to move a piece, where the recipe says its place."""
    at = recipe.pieces[index].at
    if at is None:
        return
    unit = study.project.unit
    step = 25.4 / 16 if unit == "inch" else 1.0
    (low, high), (mine, end) = _box(study, stays), _box(study, moved)
    for axis, key, now in ((0, "x", at.x), (1, "y", at.y)):
        for by in (high[axis] - mine[axis], low[axis] - end[axis]):
            clear = (now + by) / step
            steps = math.ceil(clear - 1e-9) if by > 0 else math.floor(clear + 1e-9)
            place = write_length(steps * step, unit)
            says = f"move {moved} to {key} {{}}, clear of {stays}"
            yield abs(by), (Setting(("build", index, "at", key), place, says),)


def _box(study: Study, piece: str) -> Array:
    """Least and greatest corner of a piece (mm)."""
    boards = (board for board in study.project.boards if board.piece == piece)
    return np.array(joined_box(part for board in boards for part in study.convex[board.name]))
