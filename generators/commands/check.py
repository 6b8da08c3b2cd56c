"""`slantbore check RECIPE`: the verdict in closed form, in well under a second."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from ...models.designs import piece_models
from ...models.judging.judge import judge
from ...models.planning import plan
from ...models.recipe.recipe import read_recipe
from ...models.words.errors import RecipeError
from ..solids.proof_pages import LEFT_TO_SOLIDS
from ..telling.explain import bore_named, explanation, explanation_document
from ..telling.report import document, exit_status, problems_document, report, to_json

SUMMARY = "Say whether everything stays hidden, whole and in reach; writes nothing."


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("recipe", metavar="RECIPE", type=Path, help="the recipe, a YAML file")
    parser.add_argument(
        "--json", action="store_true", help="print one JSON document and nothing else"
    )
    parser.add_argument(
        "--explain", metavar="BORE", help="print every rule's number for one bore, by its name"
    )


def run(args: argparse.Namespace) -> int:
    """Check the recipe."""
    try:
        project = plan(read_recipe(args.recipe, piece_models()))
    except RecipeError as error:
        if args.json:
            sys.stdout.write(to_json(problems_document(error)))
        raise
    bore = None if args.explain is None else bore_named(project, args.explain)
    findings = judge(project)
    if bore and args.json:
        sys.stdout.write(to_json(explanation_document(project, bore)))
    elif bore:
        sys.stdout.write(explanation(project, bore, findings))
    elif args.json:
        sys.stdout.write(to_json(document(project, findings)))
    else:
        sys.stdout.write(report(project, findings, "in closed form"))
        sys.stdout.write(f"{LEFT_TO_SOLIDS}\n")
    return exit_status(findings)
