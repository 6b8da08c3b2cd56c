"""A recipe with the cures of all its causes written in, as far as they get on with each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from ..designs import piece_models
from ..judging.copies import copies_of
from ..judging.judge import judge, judge_once
from ..piece.lever import Edit
from ..piece.project import Finding, Project
from ..placing.likeness import Known
from ..planning import plan
from ..recipe.recipe import parse_recipe
from ..recipe.stated import Recipe
from ..recipe.writing import WritingError, rewritten
from ..words.errors import RecipeError
from .advise import advise
from .budget import Budget
from .causes import Cause, causes
from .trials import Trial

_ROUNDS = 3  # what could not be cured beside something else may be once that is done


@dataclass(frozen=True)
class Cured:
    """A recipe after its cures.

    Attributes:
        recipe: with them, read from the text that they are written in.
        project: planned from it.
        applied: the causes whose cures are in it, the gravest first.
        left: the causes that fail or warn in it still.
        stopped: after what the search was broken off, or "".
    """

    recipe: Recipe
    project: Project
    applied: tuple[Cause, ...]
    left: tuple[Cause, ...]
    stopped: str = ""

    @property
    def text(self) -> str:
        """Of the recipe."""
        return self.recipe.document.text

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """Judged on the project."""
        return judge(self.project)

    @property
    def one(self) -> Project:
        """The project, of copies one each."""
        return copies_of(self.project).one


def cured(recipe: Recipe, budget: Budget) -> Cured:
    """Write the first cure of each cause into a recipe; all are tried together.

    A cure that brings something new beside the others is left out.

    Args:
        recipe: as read.
        budget: what the search may take; it is used up.

    Raises:
        RecipeError: the recipe cannot be planned.
    """
    known: Known = {}
    done = Cured(recipe, plan(recipe, known), (), ())
    for _ in range(_ROUNDS):
        told = judge_once(done.project)
        advice = advise(done.recipe, done.project, told, budget, 1, known)
        found = causes(done.recipe, done.project, advice.findings)
        grave = [cause for cause in found if cause.severity != "notes"]
        after = _together(done, [cause for cause in grave if cause.cure], known)
        if after is None or budget.over:
            done = after or done
            break
        done = after
    left = causes(done.recipe, done.project, done.findings)
    grave = [cause for cause in left if cause.severity != "notes"]
    said = budget.said if budget.over and grave else ""
    return Cured(done.recipe, done.project, done.applied, tuple(grave), said)


def _together(before: Cured, found: Sequence[Cause], known: Known) -> Cured | None:
    """As many cures as get on with each other, the gravest first; None without any."""
    whole = _with(before, found, known)
    if whole is not None or len(found) < 2:
        return whole
    taken: list[Cause] = []
    for cause in found:
        more = _with(before, [*taken, cause], known)
        if more is not None:
            taken.append(cause)
            whole = more
    return whole


def _with(before: Cured, found: Sequence[Cause], known: Known) -> Cured | None:
    """The recipe with some cures; None where they clash, or where something new comes of them."""
    edit: Edit = tuple(s for cause in found if cause.cure for s in cause.cure.edit)
    keys = {setting.path: setting.value for setting in edit}
    if not edit or any(keys[setting.path] != setting.value for setting in edit):
        return None
    try:
        text = rewritten(before.text, edit)
        recipe = parse_recipe(text, before.recipe.document.file, piece_models())
        after = Cured(recipe, plan(recipe, known), (*before.applied, *found), ())
    except (RecipeError, WritingError):
        return None
    trial, was = Trial(edit, after.one), Trial((), before.one)
    if not all(trial.cures(f, was) for cause in found for f in cause.findings):
        return None
    return after
