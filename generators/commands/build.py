"""`slantbore build RECIPE`: solids, proof and every file, into one folder, whole or not at all."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from ..build import build
from ..solids import Progress
from ..telling.report import counted, exit_status, report, what_to_change

SUMMARY = "Write solids, proof, lists and pictures into a folder, whole or not at all."


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("recipe", metavar="RECIPE", type=Path, help="the recipe, a YAML file")
    parser.add_argument(
        "-o",
        dest="output",
        metavar="DIR",
        type=Path,
        help="folder to write; by default the recipe's name, in the folder you are in",
    )


def run(args: argparse.Namespace) -> int:
    """Build, then say what was found and what was written."""
    output = args.output or Path(args.recipe.stem)
    with _bar() as progress:
        result = build(args.recipe, output, progress)
    sys.stdout.write(report(result.project, result.findings, "in closed form and on the solids"))
    sys.stdout.write(what_to_change(result.project, result.findings, result.stopped))
    sys.stdout.flush()
    for reason in result.missing:
        print(f"warning: {reason}", file=sys.stderr)
    print(f"wrote {counted(len(result.files), 'file')} to {result.folder}", file=sys.stderr)
    if result.kept:
        print(f"kept, since no build wrote it so: {_said(result.kept)}", file=sys.stderr)
    return exit_status(result.findings)


def _said(kept: Mapping[str, str]) -> str:
    places = sorted(kept.items())
    return "; ".join(was if was == now else f"{was}, now {now}" for was, now in places)


@contextmanager
def _bar() -> Iterator[Progress | None]:
    """A bar on standard error when that is a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (BarColumn(), TextColumn("{task.description}", markup=False))
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=None)

        def progress(what: str, done: int, total: int) -> None:
            bar.update(task, description=what, completed=done, total=total)

        yield progress
