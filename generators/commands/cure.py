"""`slantbore cure RECIPE`: the recipe with what cures it written in, and nothing else changed."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from ...models.advice.budget import CURING
from ...models.advice.cured import Cured, cured
from ...models.words.errors import SlantboreError
from ..files.disk import Seen, write_new, write_whole
from ..pipeline import Pipeline
from ..telling.printed import entry, plain
from ..telling.report import exit_status, verdict
from ..telling.screen import bar, timed
from .check import seconds

SUMMARY = "Write what cures a recipe into it: its comments and all else stay."


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("recipe", metavar="RECIPE", type=Path, help="the recipe, a YAML file")
    where = parser.add_mutually_exclusive_group()
    where.add_argument(
        "-o", dest="output", metavar="FILE", type=Path, help="a new file; printed without it"
    )
    where.add_argument(
        "--in-place", action="store_true", help="write into RECIPE itself, in place of what it says"
    )
    parser.add_argument(
        "--advice-seconds",
        metavar="SECONDS",
        type=seconds,
        default=CURING,
        help=f"how long to look for what to change; by default {CURING:g}",
    )


def run(args: argparse.Namespace) -> int:
    """Print the recipe, or write it; say what was changed and what is left."""
    if args.output is not None and args.output.exists():
        raise SlantboreError(f"{args.output} is there already; name a new file")
    made = Pipeline(args.recipe)
    seen = Seen.of(args.recipe, made.recipe.document.text.encode("utf-8"))
    with bar() as progress:
        found = cured(made.recipe, timed(args.advice_seconds, progress))
    data = found.text.encode("utf-8")
    if args.in_place:
        write_whole(args.recipe, data, seen)
    elif args.output is None:
        sys.stdout.write(found.text)
        sys.stdout.flush()
    else:
        try:
            write_new(args.output, data)
        except FileExistsError:
            raise SlantboreError(f"{args.output} is there already; name a new file") from None
    _say(found, args.recipe if args.in_place else args.output)
    return exit_status(found.findings)


def _say(found: Cured, target: Path | None) -> None:
    """What was changed, what is left, and where it was written, on standard error."""
    for cause in found.applied:
        if cause.cure is not None:
            print(f"changed: {cause.cure.says}", file=sys.stderr)
    if found.left:
        blocks = [entry(found.project, cause) for cause in found.left]
        print(f"left as it is:\n{plain(blocks)}", end="", file=sys.stderr)
    if found.stopped:
        print(f"stopped looking for what to change after {found.stopped}", file=sys.stderr)
    print(verdict(found.project, found.findings), file=sys.stderr)
    if target is not None:
        print(f"wrote {target}", file=sys.stderr)
