"""`slantbore preview` as a user calls it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from slantbore.generators.cli import main
from slantbore.generators.files.seal import intact, sealed
from slantbore.generators.page import three_source

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


def test_without_the_3d_library_the_other_files_are_built(
    recipe: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """It comes inside a file that another package keeps for itself, and may move."""
    monkeypatch.setattr(three_source, "_MEMBER", "moved.html.template")
    assert main(["build", "mirror.yaml", "-o", "out"]) == 0
    error = capsys.readouterr().err
    assert re.search("^warning: preview.html was not written: cannot read three.js", error, re.M)
    written = {path.name for path in (recipe.parent / "out").iterdir()}
    assert "preview.html" not in written and {"assembly.step", "bores.csv"} <= written
    assert main(["preview", "mirror.yaml"]) == 2
    error = capsys.readouterr().err
    assert error.startswith("slantbore: preview.html was not written: cannot read three.js")
    assert not (recipe.parent / "mirror-preview.html").exists()


def test_a_finding_that_fails_is_status_1(recipe: Path) -> None:
    recipe.write_text(RECIPE.replace("2-1/2", "1-1/2") + "    swing: 0\n", encoding="utf-8")
    assert main(["preview", "mirror.yaml", "-o", "page.html"]) == 1
    assert (recipe.parent / "page.html").is_file()


@pytest.mark.parametrize("kind", [[], ["--png"]])
def test_writes_over_its_own_unchanged_file_alone(
    recipe: Path, kind: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["preview", "mirror.yaml", "-o", "x", *kind]) == 0
    path = recipe.parent / "x"
    data = path.read_bytes()
    assert main(["preview", "mirror.yaml", "-o", "x", *kind]) == 0
    assert path.read_bytes() == data
    changed = data.replace(b"slantbore", b"Slantbore", 1)
    path.write_bytes(changed)
    assert main(["preview", "mirror.yaml", "-o", "x", *kind]) == 2
    assert "was changed since" in capsys.readouterr().err
    assert path.read_bytes() == changed


HOLIDAY = bytes.fromhex(  # a picture of one pixel
    "89504e470d0a1a0a0000000d4948445200000001000000010800000000"
    "3a7e9b550000000a49444154789c6360000000020001e221bc330000000049454e44ae426082"
)


def test_leaves_the_users_own_picture(recipe: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (recipe.parent / "holiday.png").write_bytes(HOLIDAY)
    assert main(["preview", "mirror.yaml", "--png", "-o", "holiday.png"]) == 2
    assert "holiday.png is no earlier preview" in capsys.readouterr().err
    assert (recipe.parent / "holiday.png").read_bytes() == HOLIDAY


def test_a_sealed_picture_is_still_a_picture(tmp_path: Path) -> None:
    Image = pytest.importorskip("PIL.Image")
    path = tmp_path / "sealed.png"
    path.write_bytes(sealed(HOLIDAY))
    assert intact(path.read_bytes()) and not intact(HOLIDAY)
    with Image.open(path) as picture:
        picture.load()
        assert picture.size == (1, 1)
        assert picture.info["Software"].startswith("slantbore ")


@pytest.mark.parametrize("data", [b"", b"x", b"\x89PNG\r\n\x1a\n", HOLIDAY[-12:], b" -->\n"])
def test_short_files_are_not_sealed(data: bytes) -> None:
    assert not intact(data)
    assert intact(sealed(data))


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
