"""`slantbore new DESIGN`: a starter recipe, commented."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from ...models.designs import designs
from ...models.recipe import router, tools
from ...models.words.errors import SlantboreError
from ...models.words.lengths import Unit
from ...models.words.names import named
from ..files.disk import write_new

SUMMARY = "Write a recipe to start with, commented."


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("design", metavar="DESIGN", help="a name that `slantbore designs` lists")
    parser.add_argument(
        "-o", dest="output", metavar="FILE", type=Path, help="a new file; printed without it"
    )


def run(args: argparse.Namespace) -> int:
    """Print the starter, or write it where no file stands yet."""
    text = named(args.design, designs(), "design").starter
    unit: Unit = "inch" if "\nunits: inch" in text else "mm"
    starter = text + tools.starter(unit) + router.starter(unit)
    if args.output is None:
        sys.stdout.write(starter)
        return 0
    try:
        write_new(args.output, starter.encode())
    except FileExistsError:
        raise SlantboreError(f"{args.output} is there already; name a new file") from None
    print(f"wrote {args.output}; check it with: slantbore check {args.output}", file=sys.stderr)
    return 0
