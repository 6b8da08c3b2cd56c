"""A build is whole or not there: fresh folders, killed builds, foreign files, same bytes."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from slantbore.generators.build import build
from slantbore.generators.files.folder import MANIFEST, FolderError, Fresh, recover, replaced
from slantbore.generators.solids.product import Product
from slantbore.generators.telling.report import exit_status
from slantbore.generators.writers import Writer, findings_json
from slantbore.models.designs import designs
from slantbore.models.piece.groups import groups
from slantbore.models.words.errors import RecipeError


def earlier(folder: Path) -> None:
    """An earlier build, by the folder itself."""
    with replaced(folder) as fresh:
        (fresh.path / "parts").mkdir()
        (fresh.path / "cut-list.csv").write_text("earlier")
        (fresh.path / "parts" / "rail.stl").write_text("earlier")


def again(folder: Path) -> Fresh:
    """A build of one list and another part."""
    with replaced(folder) as fresh:
        (fresh.path / "parts").mkdir()
        (fresh.path / "cut-list.csv").write_text("new")
        (fresh.path / "parts" / "stile.stl").write_text("new")
    return fresh


NEW = {"cut-list.csv": b"new", "parts/stile.stl": b"new"}


def tree(folder: Path) -> dict[str, bytes]:
    found = (path for path in sorted(folder.rglob("*")) if path.is_file())
    named = {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}
    return {name: data for name, data in named.items() if not name.endswith(MANIFEST)}


# --- the folder ----------------------------------------------------------------------------------


def test_an_earlier_build_is_replaced_whole(tmp_path: Path) -> None:
    out = tmp_path / "out"
    earlier(out)
    before = tree(out)
    with replaced(out) as fresh:
        (fresh.path / "new").write_text("new")
        assert tree(out) == before
    assert tree(tmp_path) == {"out/new": b"new"}
    assert fresh.files == ("new", MANIFEST) and fresh.kept == {}
    assert os.listdir(tmp_path) == ["out"]


def test_folders_above_are_made_and_the_folder_can_be_read_by_all(tmp_path: Path) -> None:
    out = tmp_path / "a" / "b"
    earlier(out)
    ordinary = tmp_path / "ordinary"
    ordinary.mkdir()
    assert out.stat().st_mode == ordinary.stat().st_mode


def test_a_file_of_the_users_own_moves_over(tmp_path: Path) -> None:
    out = tmp_path / "out"
    earlier(out)
    (out / "parts" / "jig.step").write_text("mine")
    (out / "notes").mkdir()
    (out / "notes" / "to do.txt").write_text("mine")
    (out / "elsewhere").symlink_to("/nowhere")
    inode = (out / "parts" / "jig.step").stat().st_ino
    done = again(out)
    mine = {"parts/jig.step": b"mine", "notes/to do.txt": b"mine"}
    assert tree(out) == NEW | mine
    assert done.kept == {name: name for name in [*mine, "elsewhere"]}
    assert os.readlink(out / "elsewhere") == "/nowhere"
    assert (out / "parts" / "jig.step").stat().st_ino == inode
    assert again(out).kept.keys() == done.kept.keys()  # and ever again
    assert tree(out) == NEW | mine and os.listdir(tmp_path) == ["out"]


def test_a_file_changed_since_is_kept_beside(tmp_path: Path) -> None:
    out = tmp_path / "out"
    for number in (1, 2):
        earlier(out)
        (out / "cut-list.csv").write_text(f"edited {number}")
        (out / "parts" / "rail.stl").write_text(f"edited {number}")
        done = again(out)
        assert done.kept["parts/rail.stl"] == "parts/rail.stl"  # the new build has none
    assert done.kept["cut-list.csv"] == "kept-2/cut-list.csv"
    assert tree(out) == NEW | {
        "kept/cut-list.csv": b"edited 1",
        "kept-2/cut-list.csv": b"edited 2",
        "kept/parts/rail.stl": b"edited 1",
        "parts/rail.stl": b"edited 2",
    }


def test_a_folder_of_the_users_where_a_file_goes_is_kept_beside(tmp_path: Path) -> None:
    out = tmp_path / "out"
    earlier(out)
    (out / "cut-list.csv").unlink()
    (out / "cut-list.csv").mkdir()
    (out / "cut-list.csv" / "mine").write_text("mine")
    assert again(out).kept == {"cut-list.csv/mine": "kept/cut-list.csv/mine"}
    assert tree(out) == NEW | {"kept/cut-list.csv/mine": b"mine"}


def test_a_file_changed_while_a_build_runs_is_kept_too(tmp_path: Path) -> None:
    out = tmp_path / "out"
    earlier(out)
    with replaced(out) as fresh:
        (fresh.path / "cut-list.csv").write_text("new")
        (out / "cut-list.csv").write_text("edited")
    assert tree(out) == {"cut-list.csv": b"new", "kept/cut-list.csv": b"edited"}


def test_the_list_of_what_was_written_is_the_same_each_time(tmp_path: Path) -> None:
    for name in ("one", "two"):
        earlier(tmp_path / name)
    texts = [(tmp_path / name / MANIFEST).read_bytes() for name in ("one", "two")]
    assert texts[0] == texts[1]
    digest = hashlib.sha256(b"earlier").hexdigest()
    files = dict.fromkeys(("cut-list.csv", "parts/rail.stl"), digest)
    assert json.loads(texts[0]) == {"format": "slantbore/written/1", "files": files}


def test_an_error_leaves_the_earlier_build_and_nothing_else(tmp_path: Path) -> None:
    out = tmp_path / "out"
    earlier(out)
    before = tree(tmp_path)
    with pytest.raises(KeyboardInterrupt), replaced(out) as fresh:
        (fresh.path / "new").write_text("new")
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
        (fresh.path / "new").write_text("new")
    assert tree(tmp_path) == before
    assert os.listdir(tmp_path) == ["out"]


def unmarked(out: Path) -> None:
    earlier(out)
    (out / MANIFEST).unlink()


def broken_mark(out: Path) -> None:
    earlier(out)
    (out / MANIFEST).write_text("[1, 2")


def another_mark(out: Path) -> None:
    earlier(out)
    (out / MANIFEST).write_text('{"format": "another/1", "files": {}}')


def a_file(out: Path) -> None:
    out.write_text("mine")


@pytest.mark.parametrize("arrange", [unmarked, broken_mark, another_mark, a_file])
def test_a_folder_with_something_else_is_refused_untouched(
    arrange: Callable[[Path], None], tmp_path: Path
) -> None:
    out = tmp_path / "out"
    arrange(out)
    before = tree(tmp_path)
    with pytest.raises(FolderError, match=str(out)):
        again(out)
    assert tree(tmp_path) == before


def test_empty_and_littered_folders_are_accepted(tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / ".DS_Store").write_text("")
    assert again(out).kept == {}
    (out / ".DS_Store").write_text("")
    assert again(out).kept == {}
    assert tree(out) == NEW


def test_the_folder_one_is_in_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    earlier(tmp_path / "out")
    monkeypatch.chdir(tmp_path / "out" / "parts")
    with pytest.raises(FolderError, match="out holds the folder you are in"):
        again((tmp_path / "out").resolve())
    with pytest.raises(FolderError, match="parts is the folder you are in"):
        again((tmp_path / "out" / "parts").resolve())
    with pytest.raises(FolderError, match="^/ holds the folder you are in"):
        again(Path("/"))


def test_a_folder_within_a_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "mine").write_text("mine")
    with pytest.raises(FolderError, match="mine is a file"):
        again(tmp_path / "mine" / "out")


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit of file sizes")
def test_a_full_disk_names_the_file(tmp_path: Path) -> None:
    import resource

    def write(fresh: Fresh, name: str, size: int) -> None:
        with (fresh.path / name).open("wb") as stream:
            stream.write(bytes(size))

    earlier(tmp_path / "out")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    ignored = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, before[1]))
    try:
        with pytest.raises(OSError) as told, replaced(tmp_path / "out") as fresh:
            write(fresh, "small.csv", 10)
            write(fresh, "large.step", 200_000)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        signal.signal(signal.SIGXFSZ, ignored)
    assert told.value.filename == str(tmp_path / "out" / "large.step")
    assert "cut-list.csv" in tree(tmp_path / "out")


def test_a_folder_that_cannot_be_written_beside_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refusing(path: Path, *rest: object, **more: object) -> None:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(os, "open", refusing)
    with pytest.raises(PermissionError) as told:
        again(tmp_path / "out")
    assert told.value.filename == str(tmp_path / "out")


HOLDING = """
import sys, time
from pathlib import Path
from slantbore.generators.files.folder import replaced
with replaced(Path(sys.argv[1])) as fresh:
    (fresh.path / "half").write_text("half")
    print("ready", flush=True)
    time.sleep(60)
"""


def started(script: str, *args: object) -> subprocess.Popen[str]:
    """A process that has printed `ready`."""
    command = [sys.executable, "-c", script, *map(str, args)]
    pipe = subprocess.PIPE
    process = subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe, text=True)
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


def killed(process: subprocess.Popen[str]) -> None:
    process.send_signal(signal.SIGKILL)
    process.communicate()


@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
def test_a_second_build_at_the_same_instant_is_refused(tmp_path: Path) -> None:
    out = tmp_path / "out"
    earlier(out)
    before = tree(out)
    other = started(HOLDING, out)
    try:
        (living,) = tmp_path.glob(".out.*.building")
        earlier(tmp_path / "other")
        with pytest.raises(FolderError, match=f"another build into {out} is running"):
            again(out)
        with pytest.raises(FolderError, match="is running"):
            recover(out)
        assert (living / "half").exists() and tree(out) == before
    finally:
        killed(other)
    assert tree(out) == before
    again(out)
    assert sorted(os.listdir(tmp_path)) == ["other", "out"]


RACING = """
import sys
from pathlib import Path
from slantbore.generators.files.folder import FolderError, replaced
print("ready", flush=True)
sys.stdin.readline()
for number in range(200):
    try:
        with replaced(Path(sys.argv[1])) as fresh:
            (fresh.path / "half").write_text(sys.argv[2])
            assert len(list(Path(sys.argv[1]).parent.glob(".out.*.building"))) == 1
            (fresh.path / "whole").write_text(sys.argv[2])
    except FolderError as error:
        assert "is running" in str(error), error
"""


def test_builds_that_race_never_meet(tmp_path: Path) -> None:
    out = tmp_path / "out"
    racers = [started(RACING, out, name) for name in ("one", "two", "three")]
    for racer in racers:
        assert racer.stdin is not None
        racer.stdin.write("go\n")
        racer.stdin.flush()
    said = [racer.communicate(timeout=60)[1] for racer in racers]
    assert [racer.returncode for racer in racers] == [0, 0, 0], said
    assert len(set(tree(out).values())) == 1 and len(tree(out)) == 2
    assert os.listdir(tmp_path) == ["out"]


def test_a_build_killed_between_two_renames_is_put_back(tmp_path: Path) -> None:
    out = tmp_path / "out"
    earlier(out)
    before = tree(out)
    out.rename(tmp_path / ".out.0123abcd.previous")
    (tmp_path / ".out.0123abcd.building").mkdir()
    (tmp_path / ".out.mine.previous").mkdir()
    recover(out)
    assert sorted(os.listdir(tmp_path)) == [".out.mine.previous", "out"]
    assert tree(out) == before


def test_a_build_killed_while_files_move_over_is_finished(tmp_path: Path) -> None:
    out, aside = tmp_path / "out", tmp_path / ".out.0123abcd.previous"
    again(out)
    earlier(aside)
    (aside / "cut-list.csv").write_text("edited")
    (aside / "parts" / "jig.step").write_text("mine")
    recover(out)
    assert tree(out) == NEW | {"kept/cut-list.csv": b"edited", "parts/jig.step": b"mine"}
    assert os.listdir(tmp_path) == ["out"]


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
    second = build(recipe, tmp_path / "two")
    one, two = tree(tmp_path / "one"), tree(tmp_path / "two")
    assert one.keys() == two.keys()
    assert {*one, MANIFEST} == set(first.files) == set(second.files)
    assert [name for name in one if one[name] != two[name]] == []
    wanted = {"assembly.step", "assembly.glb", "preview.png", "findings.json", "bores.csv"}
    assert wanted | {"cut-list.csv", "hardware.csv"} <= one.keys()
    for board, *_ in groups(first.project):
        assert {f"parts/{board.name}.step", f"parts/{board.name}.stl"} <= one.keys()
    assert exit_status(first.findings) == 0
    assert steps and all(0 <= done <= total for _, done, total in steps)
    # And over itself, which shows that a build knows its own files again.
    assert build(recipe, tmp_path / "one").kept == {}
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
