"""A build is whole or not there: fresh folders, killed builds, foreign files, same bytes."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from slantbore.generators.build import build
from slantbore.generators.folder import FolderError, refuse_foreign, replaced
from slantbore.generators.telling.report import FORMAT, exit_status
from slantbore.generators.writers import Product, Writer, findings_json
from slantbore.models.designs import designs
from slantbore.models.piece.groups import groups
from slantbore.models.words.errors import RecipeError

MARK = json.dumps({"format": FORMAT})
PATTERNS = ["findings.json", "parts/*.stl"]


def refuse(folder: Path) -> None:
    refuse_foreign(folder, "findings.json", "slantbore/findings/", PATTERNS)


def earlier(folder: Path) -> None:
    """An earlier build, by hand."""
    (folder / "parts").mkdir(parents=True)
    (folder / "findings.json").write_text(MARK)
    (folder / "parts" / "rail.stl").write_text("earlier")


def tree(folder: Path) -> dict[str, bytes]:
    found = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}


# --- the folder ----------------------------------------------------------------------------------


def test_an_earlier_build_is_replaced_whole(tmp_path: Path) -> None:
    out = tmp_path / "out"
    earlier(out)
    refuse(out)
    with replaced(out) as fresh:
        (fresh / "new").write_text("new")
        assert tree(out)["parts/rail.stl"] == b"earlier"
    assert tree(tmp_path) == {"out/new": b"new"}


def test_folders_above_are_made_and_the_folder_can_be_read_by_all(tmp_path: Path) -> None:
    out = tmp_path / "a" / "b"
    with replaced(out) as fresh:
        (fresh / "new").write_text("new")
    ordinary = tmp_path / "ordinary"
    ordinary.mkdir()
    assert out.stat().st_mode == ordinary.stat().st_mode


def test_an_error_leaves_the_earlier_build_and_nothing_else(tmp_path: Path) -> None:
    out = tmp_path / "out"
    earlier(out)
    before = tree(tmp_path)
    with pytest.raises(KeyboardInterrupt), replaced(out) as fresh:
        (fresh / "new").write_text("new")
        raise KeyboardInterrupt
    assert tree(tmp_path) == before
    assert os.listdir(tmp_path) == ["out"]


def test_a_failed_rename_puts_the_earlier_build_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "out"
    earlier(out)
    before = tree(tmp_path)
    rename = Path.rename

    def refusing(self: Path, target: Path) -> Path:
        if self.name.endswith(".building"):
            raise OSError(28, "No space left on device", str(target))
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", refusing)
    with pytest.raises(OSError, match="No space"), replaced(out) as fresh:
        (fresh / "new").write_text("new")
    assert tree(tmp_path) == before
    assert os.listdir(tmp_path) == ["out"]


def notes(out: Path) -> None:
    earlier(out)
    (out / "notes.txt").write_text("mine")


def deeper(out: Path) -> None:
    earlier(out)
    (out / "parts" / "old").mkdir()
    (out / "parts" / "old" / "rail.stl").write_text("mine")


def unmarked(out: Path) -> None:
    earlier(out)
    (out / "findings.json").write_text("{}")


def broken_mark(out: Path) -> None:
    earlier(out)
    (out / "findings.json").write_text("[1, 2")


def a_file(out: Path) -> None:
    out.write_text("mine")


@pytest.mark.parametrize("arrange", [notes, deeper, unmarked, broken_mark, a_file])
def test_a_folder_with_something_else_is_refused_untouched(
    arrange: Callable[[Path], None], tmp_path: Path
) -> None:
    out = tmp_path / "out"
    arrange(out)
    before = tree(tmp_path)
    with pytest.raises(FolderError, match=str(out)):
        refuse(out)
    assert tree(tmp_path) == before


def test_missing_empty_and_littered_folders_are_accepted(tmp_path: Path) -> None:
    out = tmp_path / "out"
    refuse(out)
    out.mkdir()
    refuse(out)
    out.rmdir()
    earlier(out)
    (out / ".DS_Store").write_text("")
    refuse(out)


def test_the_folder_one_is_in_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    earlier(tmp_path / "out")
    monkeypatch.chdir(tmp_path / "out" / "parts")
    with pytest.raises(FolderError, match="you are in"):
        refuse((tmp_path / "out").resolve())


HOLDING = """
import sys, time
from pathlib import Path
from slantbore.generators.folder import replaced
with replaced(Path(sys.argv[1])) as fresh:
    (fresh / "half").write_text("half")
    print("ready", flush=True)
    time.sleep(60)
"""


def started(script: str, *args: object) -> subprocess.Popen[str]:
    """A process that has printed `ready`."""
    command = [sys.executable, "-c", script, *map(str, args)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


def killed(process: subprocess.Popen[str]) -> None:
    process.send_signal(signal.SIGKILL)
    process.communicate()


@pytest.mark.skipif(sys.platform == "win32", reason="needs file locks")
def test_a_living_build_is_left_alone_and_a_killed_one_cleared(tmp_path: Path) -> None:
    out = tmp_path / "out"
    earlier(out)
    before = tree(out)
    other = started(HOLDING, out)
    try:
        (living,) = tmp_path.glob(".out.*.building")
        with replaced(tmp_path / "other") as fresh:
            (fresh / "new").write_text("new")
        with pytest.raises(KeyboardInterrupt), replaced(out):
            raise KeyboardInterrupt
        assert (living / "half").exists()
    finally:
        killed(other)
    assert tree(out) == before
    with replaced(out) as fresh:
        (fresh / "new").write_text("new")
    assert sorted(os.listdir(tmp_path)) == ["other", "out"]


@pytest.mark.skipif(sys.platform == "win32", reason="needs file locks")
def test_a_build_killed_between_two_renames_is_put_back(tmp_path: Path) -> None:
    out = tmp_path / "out"
    earlier(tmp_path / ".out.0123abcd.previous")
    (tmp_path / ".out.0123abcd.building").mkdir()
    (tmp_path / ".out.mine.previous").mkdir()
    with pytest.raises(KeyboardInterrupt), replaced(out):
        raise KeyboardInterrupt
    assert sorted(os.listdir(tmp_path)) == [".out.mine.previous", "out"]
    assert tree(out)["parts/rail.stl"] == b"earlier"


# --- the build -----------------------------------------------------------------------------------


@pytest.fixture
def recipe(tmp_path: Path) -> Path:
    path = tmp_path / "mirror.yaml"
    path.write_text(designs()["mitred-frame"].starter, encoding="utf-8")
    return path


SLOW_BUILD = """
import sys, time
from pathlib import Path
from slantbore.generators.build import build
from slantbore.generators.writers import findings_json
from slantbore.generators.writers import Writer

def slow(product, folder):
    (folder / "half.bin").write_bytes(b"half")
    print("ready", flush=True)
    time.sleep(60)

writers = (findings_json.WRITER, Writer("slow", "half.bin", "", slow))
build(Path(sys.argv[1]), Path(sys.argv[2]), writers=writers)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
def test_a_build_killed_in_the_middle_leaves_the_earlier_one(recipe: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    some = (findings_json.WRITER,)
    build(recipe, out, writers=some)
    before = tree(out)
    process = started(SLOW_BUILD, recipe, out)
    (half,) = tmp_path.glob(".out.*.building/half.bin")
    killed(process)
    assert half.exists()
    assert tree(out) == before
    build(recipe, out, writers=some)
    assert tree(out) == before
    assert sorted(os.listdir(tmp_path)) == ["mirror.yaml", "out"]


def test_every_format_is_written_twice_the_same(recipe: Path, tmp_path: Path) -> None:
    steps: list[tuple[str, int, int]] = []
    first = build(recipe, tmp_path / "one", lambda *step: steps.append(step))
    again = build(recipe, tmp_path / "two")
    one, two = tree(tmp_path / "one"), tree(tmp_path / "two")
    assert one.keys() == two.keys() == set(first.files) == set(again.files)
    assert [name for name in one if one[name] != two[name]] == []
    wanted = {"assembly.step", "assembly.glb", "preview.png", "findings.json", "bores.csv"}
    assert wanted | {"cut-list.csv", "hardware.csv"} <= one.keys()
    for board, *_ in groups(first.project):
        assert {f"parts/{board.name}.step", f"parts/{board.name}.stl"} <= one.keys()
    assert exit_status(first.findings) == 0
    assert steps and all(0 <= done <= total for _, done, total in steps)
    # And over itself, which shows that a build knows its own files again.
    build(recipe, tmp_path / "one")
    assert tree(tmp_path / "one") == one


def test_a_failing_writer_loses_nothing(recipe: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    earlier(out)
    before = tree(out)

    def full(product: Product, folder: Path) -> None:
        raise OSError(28, "No space left on device", str(folder))

    bad = Writer("bad", "parts/NAME.stl", "", full)
    with pytest.raises(OSError, match="No space"):
        build(recipe, out, writers=(findings_json.WRITER, bad))
    assert tree(out) == before
    assert sorted(os.listdir(tmp_path)) == ["mirror.yaml", "out"]


def test_a_wrong_recipe_touches_nothing(tmp_path: Path) -> None:
    with pytest.raises(RecipeError, match="no such file"):
        build(tmp_path / "missing.yaml", tmp_path / "out")
    assert os.listdir(tmp_path) == []
