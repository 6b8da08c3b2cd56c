"""From a recipe to a folder of files: read, plan, check, solidify, prove, export."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from ..models.advice.advise import advise, told_with
from ..models.advice.budget import Budget, usual_tries
from ..models.designs import piece_models
from ..models.judging.judge import judge
from ..models.judging.study import study_of
from ..models.piece.project import Finding, Project
from ..models.planning import plan
from ..models.recipe.recipe import Recipe, read_recipe
from ..models.words.errors import RecipeError
from .files.folder import recover, replaced
from .solids.loading import unstopped
from .telling.report import ordered

if TYPE_CHECKING:
    from .writers import Writer

Progress = Callable[[str, int, int], None]
"""Called with what is being done, how many are done, and how many there are."""


@dataclass(frozen=True)
class BuildResult:
    """What a build found and wrote.

    Attributes:
        project: the project, placed.
        findings: of the rules and of the proof, the worst first.
        folder: where the files are.
        files: relative to the folder, sorted.
        kept: what else the folder held: where it was and where it is now, relative to the folder.
        missing: why a file could not be written, a line each.
        stopped: after what the search for what to change was broken off, or "".
    """

    project: Project
    findings: tuple[Finding, ...]
    folder: Path
    files: tuple[str, ...]
    kept: Mapping[str, str]
    missing: tuple[str, ...]
    stopped: str


def build(
    recipe: Path,
    folder: Path,
    progress: Progress | None = None,
    writers: Sequence[Writer] | None = None,
) -> BuildResult:
    """Build a recipe into a folder, which is replaced whole or left as it was.

    A finding that fails does not stop it: the maker wants to see what fails.

    Args:
        recipe: the file.
        folder: missing, empty, or an earlier build.
        progress: told of each step.
        writers: the formats to write; all by default.

    Raises:
        RecipeError: the recipe cannot be read, or a board of it does not come out as solid wood.
        FolderError: the folder holds something else.
        SlantboreError: the kernel is missing or cannot write a file.
        OSError: a file cannot be written.
    """
    target = folder.resolve()
    recover(target)
    read = read_recipe(recipe, piece_models())
    project = plan(read)
    # Tries are counted, not seconds: the same recipe makes the same files.
    advice = advise(read, project, judge(project), Budget(usual_tries(project)))

    with replaced(target) as fresh:
        # Only now the kernel, which takes seconds to load: a wrong recipe is told at once.
        with unstopped():
            from . import writers as formats
            from .solids.product import Product
            from .solids.proof import prove
            from .solids.solids import SolidError, solidify

            writers = formats.writers() if writers is None else tuple(writers)
        try:
            solids = solidify(project, progress)
        except SolidError as error:
            raise _at_its_piece(read, project, error.board, str(error)) from error
        proven = prove(solids, progress, _by_side(project))
        findings = tuple(ordered(project, _joined(advice.findings, proven)))
        product = Product(project, solids, findings, advice.stopped)
        missing = []
        for done, writer in enumerate(writers):
            if progress:
                progress(writer.files, done, len(writers))
            try:
                writer.write(product, fresh.path)
            except formats.NotWritten as error:
                missing.append(str(error))
    return BuildResult(
        project, findings, folder, fresh.files, fresh.kept, tuple(missing), advice.stopped
    )


def _at_its_piece(recipe: Recipe, project: Project, board: str, message: str) -> RecipeError:
    """An error about a board, at the line of its piece."""
    piece = project.board_named[board].piece if board else ""
    found = (i for i, params in enumerate(recipe.pieces) if piece in params.copies)
    return recipe.error(message, "build", *found)


def _by_side(project: Project) -> dict[tuple[str, str, str], float]:
    """What the proof compares, in closed form: walls and distances by bore, board and other side.

    A cut's bound holds for each of its faces.
    """
    from .solids.nearness import closed_nearness  # it needs the kernel

    closed = study_of(project).closed
    walls = {**closed, **closed_nearness(project)}
    for (bore, board, target), wall in closed.items():
        for cut in project.board_named[board].cuts:
            if cut.name == target:
                walls |= {(bore, board, face.side): wall for face in cut.faces}
    return walls


def _joined(closed: Iterable[Finding], proven: Iterable[Finding]) -> list[Finding]:
    """One list of both ways; what both say is said once, with the measure of the solids.

    The rule's own words stay: it knows how grave its finding is and what to change.
    """
    found = {_about(finding): finding for finding in closed}
    for finding in proven:
        known = found.get(_about(finding))
        if known is None:
            finding = told_with(finding)
        else:
            measured = known.measured if finding.measured is None else finding.measured
            finding = replace(known, measured=measured, point=finding.point)
        found[_about(finding)] = finding
    return list(found.values())


def _about(finding: Finding) -> tuple[str, ...]:
    """What tells findings apart; those about no joint, or about no face, by their message."""
    names = (finding.rule, finding.board, finding.joint, finding.bore, finding.face)
    told = finding.face and (finding.bore or finding.joint)
    return names if told else (*names, finding.message)
