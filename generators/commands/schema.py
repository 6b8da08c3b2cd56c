"""`slantbore schema`: the JSON Schema of a recipe, for editors."""

from __future__ import annotations

import argparse
import sys

from ...models.designs import piece_models
from ...models.recipe.schema import recipe_schema
from ..telling.document import to_json

SUMMARY = "Print what a text editor needs to complete and check recipes (JSON Schema)."


def add(parser: argparse.ArgumentParser) -> None:
    """Declare no arguments."""


def run(args: argparse.Namespace) -> int:
    """Print the schema."""
    sys.stdout.write(to_json(recipe_schema(piece_models())))
    return 0
