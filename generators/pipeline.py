"""A recipe and what comes of it, each stage made when it is first asked for, and made once.

    recipe --> project --> judged --> advice --+--> findings
                  |                            |
                  +--> solids ----> proven ----+       here the kernel is loaded, not before

`check`, `build`, `preview` and the live page each ask for as much of it as they show.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from ..models.advice.advise import MOST, Advice, advise, told_with
from ..models.advice.budget import Budget, usual_tries
from ..models.advice.causes import Cause, causes
from ..models.designs import piece_models
from ..models.judging.copies import copies_of
from ..models.judging.judge import joined, judge_once
from ..models.piece.project import Finding, Project
from ..models.placing.likeness import Known
from ..models.planning import plan
from ..models.recipe.recipe import parse_recipe, read_recipe
from ..models.recipe.stated import Recipe
from .solids import Progress
from .solids.loading import unstopped
from .solids.product import Product
from .telling.report import ordered

if TYPE_CHECKING:
    from .solids.kernel import cq
    from .solids.solids import Solids


@dataclass(frozen=True)
class Pipeline:
    """What comes of a recipe.

    Attributes:
        file: the recipe, or the name that messages have for it.
        text: of the recipe, where it is not the file's own.
        progress: told of each step that takes its time.
    """

    file: Path
    text: str | None = None
    progress: Progress | None = field(default=None, repr=False, compare=False)

    @cached_property
    def recipe(self) -> Recipe:
        """Read and checked for what may stand in it.

        Raises:
            RecipeError: it cannot be read.
        """
        if self.text is None:
            return read_recipe(self.file, piece_models())
        return parse_recipe(self.text, str(self.file), piece_models())

    @cached_property
    def _known(self) -> Known:
        """What was found along joints, for whoever plans almost the same once more."""
        return {}

    @cached_property
    def project(self) -> Project:
        """Boards, joints, bores and screws, placed.

        Raises:
            RecipeError: what the recipe asks for cannot be, at its place.
        """
        return plan(self.recipe, self._known)

    @cached_property
    def judged(self) -> tuple[Finding, ...]:
        """What placement and rules have to say, in closed form."""
        return copies_of(self.project).said(self._judged)

    @cached_property
    def _judged(self) -> tuple[Finding, ...]:
        """The same of one copy of each piece, its name left open."""
        return judge_once(self.project)

    def advised(self, budget: Budget, most: int = MOST) -> Advice:
        """What was judged, with so many changes each as far as a budget goes."""
        return advise(self.recipe, self.project, self._judged, budget, most, self._known)

    @cached_property
    def advice(self) -> Advice:
        """The same with tries counted, not seconds: the same recipe makes the same files."""
        return self.advised(Budget(usual_tries(self.project)))

    def solid(self, board: str) -> cq.Shape:
        """One board's solid in its own frame; like boards share it.

        Raises:
            RecipeError: no sound solid comes of it, at the line of its piece.
        """
        solids = self._solids
        with self._placed():
            return solids.own_solid(board)

    @cached_property
    def solids(self) -> Solids:
        """The exact solids, every board made.

        Raises:
            RecipeError: as `solid` does.
        """
        solids = self._solids
        with self._placed():
            return solids.made(self.progress)

    @cached_property
    def proven(self) -> tuple[Finding, ...]:
        """What the solids say against the project, and against the closed form."""
        with unstopped():
            from .solids.proof import prove
        return prove(self.solids, self.progress)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What was found by both ways, with what to change, the worst first."""
        proven = [told_with(finding) for finding in self.proven]
        return tuple(ordered(self.project, joined(self.advice.findings, proven)))

    @cached_property
    def causes(self) -> tuple[Cause, ...]:
        """The same by their cause."""
        return causes(self.recipe, self.project, self.findings)

    @cached_property
    def product(self) -> Product:
        """All of it, for the writers."""
        stopped = self.advice.stopped
        return Product(self.project, self.solids, self.findings, stopped, self.causes)

    @cached_property
    def _solids(self) -> Solids:
        with unstopped():
            from .solids.solids import Solids
        return Solids(self.project)

    @contextmanager
    def _placed(self) -> Iterator[None]:
        """Tell of a board that is no sound solid at the line of its piece."""
        from .solids.solids import SolidError

        try:
            yield
        except SolidError as error:
            piece = self.project.board_named[error.board].piece if error.board else ""
            found = (i for i, one in enumerate(self.recipe.pieces) if piece in one.copies)
            raise self.recipe.error(str(error), "build", *found) from error
