"""`slantbore preview` as a user calls it."""

from __future__ import annotations

from pathlib import Path

import pytest

from slantbore.generators.cli import main

from .test_preview_session import RECIPE


@pytest.fixture
def recipe(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "mirror.yaml"
    path.write_text(RECIPE, encoding="utf-8")
    return path


def test_writes_one_page_and_says_where(recipe: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["preview", "mirror.yaml"]) == 0
    out, err = capsys.readouterr()
    assert "nothing fails" in out and "on the solids" in out
    assert "wrote mirror-preview.html" in err
    text = (recipe.parent / "mirror-preview.html").read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>") and "cabin mirror" in text
    assert sorted(p.name for p in recipe.parent.iterdir()) == ["mirror-preview.html", "mirror.yaml"]
    assert main(["preview", "mirror.yaml"]) == 0  # over its own earlier page


def test_a_finding_that_fails_is_status_1(recipe: Path) -> None:
    recipe.write_text(RECIPE.replace("2-1/2", "1-1/2") + "    swing: 0\n", encoding="utf-8")
    assert main(["preview", "mirror.yaml", "-o", "page.html"]) == 1
    assert (recipe.parent / "page.html").is_file()


@pytest.mark.parametrize("target", ["mirror.yaml", "."])
def test_writes_over_nothing_that_is_not_a_preview(
    recipe: Path, capsys: pytest.CaptureFixture[str], target: str
) -> None:
    assert main(["preview", "mirror.yaml", "-o", target]) == 2
    assert recipe.read_text(encoding="utf-8") == RECIPE
    assert "name" in capsys.readouterr().err


def test_a_wrong_recipe_is_told_with_its_place(
    recipe: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    recipe.write_text(RECIPE.replace("sight", "sigth"), encoding="utf-8")
    assert main(["preview", "mirror.yaml"]) == 2
    assert "mirror.yaml:11:5: " in capsys.readouterr().err
    assert not (recipe.parent / "mirror-preview.html").exists()


def test_draws_a_picture(recipe: Path) -> None:
    assert main(["preview", "mirror.yaml", "--png"]) == 0
    assert (recipe.parent / "mirror-preview.png").read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize("arguments", [["--live", "--png"], ["--port", "x"], ["--port", "70000"]])
def test_wrong_arguments(recipe: Path, arguments: list[str]) -> None:
    assert main(["preview", "mirror.yaml", *arguments]) == 2
