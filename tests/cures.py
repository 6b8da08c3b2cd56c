"""Recipes with something wrong, seeded, over all designs; and their cures pasted as printed."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count

from slantbore.models.advice.advise import advise
from slantbore.models.advice.budget import Budget
from slantbore.models.advice.causes import Cause, causes
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge, judge_once
from slantbore.models.piece.project import Finding
from slantbore.models.placing.likeness import Known
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.recipe.writing import Patch
from slantbore.models.words.errors import RecipeError
from tests.fuzz import mildly
from tests.models.advised import left, new
from tests.neighbours import known, moved

LARGEST = 60  # boards


@dataclass(frozen=True)
class Failing:
    """A recipe in which something fails or warns."""

    text: str
    findings: tuple[Finding, ...]

    @property
    def grave(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if f.severity != "notes")


def judged(text: str) -> Failing | None:
    """None where the recipe cannot be read or laid out, or is very large."""
    try:
        project = plan(parse_recipe(text, "near", piece_models()))
    except RecipeError:
        return None
    return Failing(text, judge(project)) if len(project.boards) <= LARGEST else None


def failing(seed: int) -> Iterator[Failing]:
    """Recipes with something grave, without end: those known in turn, numbers or words changed."""
    rng = random.Random(seed)
    for number in count():
        text = known()[number % len(known())]
        for _ in range(20):
            changed = moved(text, rng, 0.05, 0.4) if rng.random() < 0.5 else mildly(rng, text)
            found = judged(changed)
            if found is not None and found.grave:
                yield found
                break


def told(one: Failing, budget: Budget) -> tuple[Cause, ...]:
    """Its causes with their cures, as `check` prints them."""
    recipe = parse_recipe(one.text, "near", piece_models())
    known: Known = {}
    project = plan(recipe, known)
    advice = advise(recipe, project, judge_once(project), budget, 1, known)
    return causes(recipe, project, advice.findings)


def pasted(text: str, patches: Sequence[Patch]) -> str:
    """The recipe with lines put where the words say."""
    lines = text.splitlines()
    for patch in sorted(patches, key=lambda patch: -patch.first):
        lines[patch.first - 1 : patch.last] = patch.lines
    return "\n".join(lines) + "\n"


def wrong(one: Failing, cause: Cause) -> str:
    """What is wrong with a printed cure once it is pasted; "" where it does what it says."""
    after = judged(pasted(one.text, cause.paste))
    if after is None:
        return "the recipe cannot be read any more"
    project = plan(parse_recipe(after.text, "near", piece_models()))
    bores = {bore.name for bore in project.bores}
    stays = [f for f in cause.findings if left(f, after.findings, bores)]
    if stays:
        return f"{stays[0].rule} stays: {stays[0].message}"
    more = new(one.findings, after.findings)
    return f"new: {more}" if more else ""
