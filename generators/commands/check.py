"""`slantbore check RECIPE`: the verdict in closed form, in well under a second."""

from __future__ import annotations

import argparse
import math
import sys
import time
from pathlib import Path

from ...models.advice.budget import SECONDS, Budget
from ...models.words.errors import RecipeError
from ..pipeline import Pipeline
from ..solids.proof_pages import LEFT_TO_SOLIDS
from ..telling.explain import bore_named, explanation, explanation_document
from ..telling.report import (
    document,
    exit_status,
    problems_document,
    report,
    to_json,
    what_to_change,
)

_LONGEST = 3600
SUMMARY = "Say whether everything stays hidden, whole and in reach; writes nothing."


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("recipe", metavar="RECIPE", type=Path, help="the recipe, a YAML file")
    parser.add_argument(
        "--json", action="store_true", help="print one JSON document and nothing else"
    )
    parser.add_argument(
        "--advice-seconds",
        metavar="SECONDS",
        type=seconds,
        default=SECONDS,
        help=f"how long to look for what to change; by default {SECONDS:g}, 0 for not at all",
    )
    parser.add_argument(
        "--explain", metavar="BORE", help="print every rule's number for one bore, by its name"
    )


def run(args: argparse.Namespace) -> int:
    """Check the recipe."""
    made = Pipeline(args.recipe)
    try:
        project = made.project
    except RecipeError as error:
        if args.json:
            sys.stdout.write(to_json(problems_document(error)))
        raise
    bore = None if args.explain is None else bore_named(project, args.explain)
    findings = made.judged
    if bore and args.json:
        sys.stdout.write(to_json(explanation_document(project, bore)))
    elif bore:
        sys.stdout.write(explanation(project, bore, findings))
    else:
        if not args.json:  # the verdict first: what to change may take a while to find
            sys.stdout.write(report(project, findings, "in closed form"))
            sys.stdout.write(f"{LEFT_TO_SOLIDS}\n")
            sys.stdout.flush()
        start = time.process_time()
        budget = Budget(args.advice_seconds, lambda: time.process_time() - start)
        advice = made.advised(budget)
        told = advice.findings, advice.stopped
        text = to_json(document(project, *told)) if args.json else what_to_change(project, *told)
        sys.stdout.write(text)
    return exit_status(findings)


def seconds(text: str) -> float:
    """A number of seconds from the command line.

    Raises:
        argparse.ArgumentTypeError: it is none.
    """
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not 0 <= found <= _LONGEST:
        raise argparse.ArgumentTypeError(f"{text!r} is no number of seconds: 0 to {_LONGEST}")
    return found
