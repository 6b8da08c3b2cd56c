"""`slantbore check RECIPE`: the verdict in closed form, in well under a second."""

from __future__ import annotations

import argparse
import math
import sys
from pathlib import Path

from ...models.advice.advise import MOST
from ...models.advice.budget import SECONDS
from ...models.advice.causes import causes
from ...models.words.errors import RecipeError
from ..pipeline import Pipeline
from ..solids.proof_pages import LEFT_TO_SOLIDS
from ..telling.document import document, problems_document, to_json
from ..telling.explain import bore_named, explanation, explanation_document
from ..telling.printed import CLOSED_FORM, Told, opening
from ..telling.report import exit_status, ordered
from ..telling.screen import add_how_much, asked, bar, show, timed

_LONGEST = 3600
SUMMARY = "Check that pockets stay hidden and screws can be driven; writes nothing."


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("recipe", metavar="RECIPE", type=Path, help="the recipe, a YAML file")
    parser.add_argument(
        "--json", action="store_true", help="print one JSON document and nothing else"
    )
    add_how_much(parser)
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
        _tell(args, made)
    return exit_status(findings)


def _tell(args: argparse.Namespace, made: Pipeline) -> None:
    """The verdict first: what to change may take a while to find."""
    project, findings = made.project, ordered(made.project, made.judged)
    if not args.json:
        show(opening(project, findings))
        sys.stdout.write("\n")
        sys.stdout.flush()
    whole = args.json or args.full or args.show is not None
    stopped = ""
    if whole or any(finding.severity != "notes" for finding in findings):
        with bar() as progress:
            budget = timed(args.advice_seconds, progress)
            advice = made.advised(budget, MOST if args.json else 1)
        findings, stopped = ordered(project, advice.findings), advice.stopped
    told = Told(
        project, findings, causes(made.recipe, project, findings), CLOSED_FORM, stopped,
        LEFT_TO_SOLIDS,
    )  # fmt: skip
    if args.json:
        sys.stdout.write(to_json(document(project, findings, stopped, told.causes)))
    else:
        show(asked(args, told))


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
