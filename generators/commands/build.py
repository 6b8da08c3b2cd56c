"""`slantbore build RECIPE`: solids, proof and every file, into one folder, whole or not at all."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping
from pathlib import Path

from ..build import build
from ..telling.printed import WAYS, Told, opening
from ..telling.report import counted, exit_status
from ..telling.screen import add_how_much, asked, bar, show

SUMMARY = "Write solids, lists, bench papers and router programs into a folder."


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
    add_how_much(parser)
    parser.add_argument(
        "--without",
        metavar="NAME",
        type=lambda words: [word.strip() for word in words.split(",")],
        action="extend",
        default=[],
        help="what not to make, such as router, papers, aids, page, picture, lists or solids; "
        "several with commas between",
    )


def run(args: argparse.Namespace) -> int:
    """Build, then say what was found and what was written."""
    output = args.output or Path(args.recipe.stem)
    with bar() as progress:
        result = build(args.recipe, output, progress, without=args.without)
    told = Told(result.project, result.findings, result.causes, WAYS, result.stopped)
    show([*opening(told.project, told.findings), *asked(args, told)])
    for reason in result.missing:
        print(f"warning: {reason}", file=sys.stderr)
    print(f"wrote {counted(len(result.files), 'file')} to {result.folder}", file=sys.stderr)
    if result.kept:
        print(f"kept, since no build wrote it so: {_said(result.kept)}", file=sys.stderr)
    return exit_status(result.findings)


def _said(kept: Mapping[str, str]) -> str:
    places = sorted(kept.items())
    return "; ".join(was if was == now else f"{was}, now {now}" for was, now in places)
