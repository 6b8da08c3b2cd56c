"""`slantbore cure`: the recipe with its cures written in, comments kept, nothing else touched."""

from __future__ import annotations

from difflib import ndiff
from pathlib import Path

import pytest

from slantbore.generators import cli

BASE = """\
# a base for the cabin's kitchen
name: b   # short
units: inch

stock:
  case: {sheet: plywood-3-4}   # what is left of the last job

build:
  - design: case
    name: base
    stock: case
    size: 24 x 34-1/2
    depth: 23
    changes:
      every joint: {screw: 2}   # those in the drawer
"""


@pytest.fixture
def recipe(tmp_path: Path) -> Path:
    path = tmp_path / "base.yaml"
    path.write_text(BASE, encoding="utf-8")
    return path


def changed(old: str, new: str) -> list[str]:
    return [line for line in ndiff(old.splitlines(), new.splitlines()) if line[0] in "+-"]


def test_it_is_printed_with_its_comments_and_what_was_done_is_said(
    recipe: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["cure", str(recipe)]) == 0
    out, err = capsys.readouterr()
    assert changed(BASE, out) == [
        "-       every joint: {screw: 2}   # those in the drawer",
        '+       every joint: {screw: 1-1/4"}   # those in the drawer',
    ]
    assert recipe.read_text(encoding="utf-8") == BASE
    assert err.startswith('changed: use a #8 screw 1-1/4" long')
    assert err.splitlines()[-1].startswith("b: nothing fails")


def test_a_file_is_written_where_none_stands_and_the_recipe_only_when_asked_to(
    recipe: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "cured.yaml"
    assert cli.main(["cure", str(recipe), "-o", str(target)]) == 0
    out, err = capsys.readouterr()
    assert out == "" and err.endswith(f"wrote {target}\n")
    assert cli.main(["check", str(target)]) == 0
    assert cli.main(["cure", str(recipe), "-o", str(target)]) == 2
    assert "is there already" in capsys.readouterr().err
    assert cli.main(["cure", str(recipe), "-o", str(recipe)]) == 2
    assert recipe.read_text(encoding="utf-8") == BASE
    assert cli.main(["cure", str(recipe), "--in-place"]) == 0
    assert recipe.read_text(encoding="utf-8") == target.read_text(encoding="utf-8")


def test_what_is_good_stays_as_it_is(recipe: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good = BASE.replace("screw: 2", "pilot: screw")
    recipe.write_text(good, encoding="utf-8")
    assert cli.main(["cure", str(recipe)]) == 0
    assert capsys.readouterr().out == good


def test_what_is_left_is_said_and_fails(recipe: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["cure", str(recipe), "--advice-seconds", "0"]) == 1
    out, err = capsys.readouterr()
    assert out == BASE
    assert err.startswith("left as it is:\n  fails  tip-cover")
    assert "stopped looking for what to change after 0 s" in err


def test_a_wrong_recipe_ends_with_status_2(
    recipe: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    recipe.write_text(BASE.replace("depth", "dpth"), encoding="utf-8")
    assert cli.main(["cure", str(recipe)]) == 2
    out, err = capsys.readouterr()
    assert out == "" and f"{recipe}:13:5: unknown key" in err
