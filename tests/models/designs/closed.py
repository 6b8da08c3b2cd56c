"""Whether a planned project closes: no wood is shared, faces that are joined meet."""

from __future__ import annotations

from itertools import combinations

import pytest

from slantbore.models.designs import piece_models
from slantbore.models.judging.rules import overlap
from slantbore.models.judging.study import study_of
from slantbore.models.maths.geometry import dot
from slantbore.models.piece.convex import boxes_meet, joined_box, meets, standing
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError

TOUCHING = 1e-6  # mm


def planned(text: str) -> Project:
    """The project of a recipe's text."""
    return plan(parse_recipe(text, "trial.yaml", piece_models()))


def closed_or_refused(text: str) -> Project | None:
    """The project, closed; or None where the recipe is refused at its place, or found wrong."""
    try:
        project = planned(text)
    except RecipeError as error:
        assert all(p.location.line > 0 and p.message for p in error.problems)
        return None
    if list(overlap.check(study_of(project))):
        with pytest.raises(AssertionError, match="share wood"):
            assert_closed(project)
        return None
    assert_closed(project)
    return project


def overlaps(project: Project) -> list[tuple[str, str]]:
    """Boards that share wood, two by two."""
    solids = {b.name: standing(b) for b in project.boards}
    boxes = {name: joined_box(parts) for name, parts in solids.items()}
    return [
        (a, b)
        for a, b in combinations(solids, 2)
        if boxes_meet(boxes[a], boxes[b])
        and any(meets(one, other) for one in solids[a] for other in solids[b])
    ]


def assert_closed(project: Project) -> None:
    """No two boards share wood, and all faces that are pulled or glued together meet."""
    assert not overlaps(project), "boards share wood"
    boxes = {b.name: joined_box(standing(b)) for b in project.boards}
    for joint in project.joints:
        if joint.kind in ("housed", "loose") and not joint.bores:
            continue
        first, second = (project.board_named[n] for n in (joint.first, joint.second))
        one = first.pose.plane(first.face(joint.first_face).plane)
        other = second.pose.plane(second.face(joint.second_face).plane)
        assert abs(dot(one.normal, other.normal) + 1) < 1e-12, joint.name
        assert abs(one.offset + other.offset) < TOUCHING, joint.name
        grown = boxes[joint.first].copy()
        grown[0] -= 1.0
        grown[1] += 1.0
        assert boxes_meet(grown, boxes[joint.second]), joint.name
