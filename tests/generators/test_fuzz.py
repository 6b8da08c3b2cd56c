"""Recipes gone wrong end with status 0, 1 or 2 and a place, never with a traceback."""

from __future__ import annotations

import contextlib
import io
import re
from itertools import islice
from pathlib import Path

from slantbore.generators import cli
from tests.fuzz import mutants

CASES, SEED = 50, 6  # a share of what tests/bench/bench_fuzz.py runs


def checked(text: str, recipe: Path) -> tuple[int, str]:
    """Status and what was wrong, of `slantbore check` on a text; recipe is the file to write."""
    recipe.write_bytes(text.encode("utf-8", "surrogatepass"))
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        status = cli.main(["check", str(recipe)])
    return status, err.getvalue()


def fault(status: int, said: str, recipe: Path) -> str:
    """What is wrong with how a check ended; "" where nothing is."""
    if status not in (0, 1, 2):
        return f"status {status}: {said}"
    place = re.compile(rf"{re.escape(str(recipe))}:\d+:\d+: \S")
    if status == 2 and not (said and all(place.match(line) for line in said.splitlines())):
        return f"a message without a place: {said}"
    return f"said beside the report: {said}" if said and status != 2 else ""


def test_a_recipe_gone_wrong_is_told_at_its_place(tmp_path: Path) -> None:
    recipe = tmp_path / "mutant.yaml"
    ended = set()
    for text in islice(mutants(SEED), CASES):
        status, said = checked(text, recipe)
        assert not fault(status, said, recipe), text
        ended.add(status)
    assert ended == {0, 1, 2}
