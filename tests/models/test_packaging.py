"""What is handed on: a source distribution with its tests, its licence, bounded dependencies."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tarfile
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
PROJECT = PYPROJECT["project"]
REQUIREMENTS: list[str] = [
    *PYPROJECT["build-system"]["requires"],
    *PROJECT["dependencies"],
    *(one for extra in PROJECT["optional-dependencies"].values() for one in extra),
]


@pytest.mark.parametrize("requirement", REQUIREMENTS)
def test_every_dependency_has_a_least_and_a_last_version(requirement: str) -> None:
    assert re.fullmatch(r"[\w-]+>=[0-9.]+,<[0-9.]+", requirement)


def test_the_licence_is_told_as_it_is() -> None:
    """An SPDX expression (PEP 639): of the list, or a reference that the file explains."""
    assert PROJECT["license"].startswith("LicenseRef-") and PROJECT["license-files"] == ["LICENSE"]
    text = (ROOT / "LICENSE").read_text(encoding="utf-8")
    assert text.startswith("No licence has been chosen")
    assert "Private :: Do Not Upload" in PROJECT["classifiers"]


def test_a_source_distribution_holds_everything_and_its_tests(tmp_path: Path) -> None:
    if not (ROOT / ".git").exists():
        pytest.skip("this is no checkout")
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, check=True).stdout
    names = [name for name in os.fsdecode(listed).split("\0") if (ROOT / name).is_file()]
    copy = tmp_path / "copy"
    for name in names:
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(ROOT / name, copy / name)
    script = f"import setuptools.build_meta as b; b.build_sdist({str(tmp_path)!r})"
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=copy, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    (archive,) = tmp_path.glob("*.tar.gz")
    with tarfile.open(archive) as tar:
        held = {name.partition("/")[2] for name in tar.getnames()}
        about = tar.extractfile(f"{archive.name.removesuffix('.tar.gz')}/PKG-INFO")
        assert about is not None
        said = about.read().decode()
    assert sum(name.startswith("tests/") for name in held) > 100
    assert set(names) - held == {".gitignore"}
    assert f"License-Expression: {PROJECT['license']}" in said
