"""From a recipe to a folder of files."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from ..models.advice.causes import Cause
from ..models.piece.project import Finding, Project
from . import writers as formats
from .files.folder import recover, replaced
from .pipeline import Pipeline
from .solids import Progress
from .solids.loading import unstopped
from .writers import NotWritten, Writer


@dataclass(frozen=True)
class BuildResult:
    """What a build found and wrote.

    Attributes:
        project: the project, placed.
        findings: of the rules, of the proof and of the formats, the worst first.
        folder: where the files are.
        files: relative to the folder, sorted.
        kept: what else the folder held: where it was and where it is now, relative to the folder.
        missing: why a file could not be written, a line each.
        stopped: after what the search for what to change was broken off, or "".
        causes: the findings by their cause.
    """

    project: Project
    findings: tuple[Finding, ...]
    folder: Path
    files: tuple[str, ...]
    kept: Mapping[str, str]
    missing: tuple[str, ...]
    stopped: str
    causes: tuple[Cause, ...]


def build(
    recipe: Path,
    folder: Path,
    progress: Progress | None = None,
    writers: Sequence[Writer] | None = None,
    without: Collection[str] = (),
) -> BuildResult:
    """Build a recipe into a folder, which is replaced whole or left as it was.

    A finding that fails does not stop it: the maker wants to see what fails.

    Args:
        recipe: the file.
        folder: missing, empty, or an earlier build.
        progress: told of each step.
        writers: the formats to write; all by default.
        without: formats, or groups of them, to leave out where all are meant.

    Raises:
        RecipeError: the recipe cannot be read, or a board of it does not come out as solid wood.
        FolderError: the folder holds something else.
        SlantboreError: the kernel is missing or cannot write a file; a format is not known.
        OSError: a file cannot be written.
    """
    target = folder.resolve()
    recover(target)
    made = Pipeline(recipe, progress=progress)
    _ = made.advice  # before the kernel is loaded: a wrong recipe is told at once
    with unstopped():
        writers = formats.writers_without(without) if writers is None else tuple(writers)
    with replaced(target) as fresh:
        product = made.product
        ready = []
        for done, writer in enumerate(writers):
            if progress and writer.ready:
                progress(f"proof of {writer.name}", done, len(writers))
            ready.append(writer.made(product))
        product = product.told(finding for one in ready for finding in one.findings)
        missing = []
        for done, (writer, one) in enumerate(zip(writers, ready, strict=True)):
            if progress:
                progress(writer.files, done, len(writers))
            try:
                one.write(product, fresh.path)
            except NotWritten as error:
                missing.append(str(error))
    return BuildResult(
        made.project, product.findings, folder, fresh.files, fresh.kept, tuple(missing),
        made.advice.stopped, product.causes,
    )  # fmt: skip
