"""Formats that a build leaves out: by name, by group; and nothing of them is made."""

from __future__ import annotations

from pathlib import Path

import pytest

from slantbore.generators import cli
from slantbore.generators.build import build
from slantbore.generators.writers import writers, writers_without
from slantbore.models.designs import designs
from slantbore.models.words.errors import SlantboreError

SOLIDS = {"assembly-step", "glb-assembly", "parts-step", "parts-stl"}


@pytest.fixture
def recipe(tmp_path: Path) -> Path:
    path = tmp_path / "mirror.yaml"
    path.write_text(designs()["mitred-frame"].starter, encoding="utf-8")
    return path


def files(folder: Path) -> dict[str, bytes]:
    found = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}


def test_formats_are_left_out_by_name_and_by_group() -> None:
    names = {writer.name for writer in writers()}
    assert {one.name for one in writers_without(())} == names
    assert {one.name for one in writers_without(("router", "papers"))} == names - {
        "router", "papers",
    }  # fmt: skip
    assert names - {one.name for one in writers_without(("solids",))} == SOLIDS
    lists = {writer.name for writer in writers() if writer.rows} | {"workbook"}
    assert names - {one.name for one in writers_without(("lists",))} == lists
    assert names - {one.name for one in writers_without(("cut-list",))} == {"cut list"}
    assert not names & {writer.group for writer in writers()}
    with pytest.raises(SlantboreError, match=r"--without `routre` .*did you mean `router`\?"):
        writers_without(("page", "routre"))


def test_what_is_left_out_is_neither_made_nor_kept_from_before(
    recipe: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    build(recipe, out, without=("papers", "page", "picture", "aids", "solids"))
    assert (out / "router" / "operations.csv").exists() and not (out / "parts").exists()

    def unwanted(*args: object) -> None:
        raise AssertionError("it was to be left out")

    monkeypatch.setattr("slantbore.generators.writers.router.route", unwanted)
    said = ["build", str(recipe), "-o", str(out), "--without", "router, papers"]
    assert cli.main([*said, "--without", "page,picture,aids,solids"]) == 0
    assert not any("/" in name for name in files(out))
    assert {"cut-list.csv", "findings.json"} <= files(out).keys()
    assert not {"papers.pdf", "preview.html", "preview.png"} & files(out).keys()
    before = files(out)
    assert cli.main([*said, "--without", "picure"]) == 2
    assert files(out) == before
