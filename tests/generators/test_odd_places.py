"""Commands where things are odd: pipes for files, closed streams, full disks, signals."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from slantbore.generators import cli

from .test_cli import recipe as recipe
from .test_cli import run


@pytest.mark.parametrize("closed", ["stdin", "stdout", "stderr"])
def test_a_closed_stream_changes_nothing_else(
    closed: str, recipe: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, closed, None)  # as the interpreter does
    assert cli.main(["check", str(recipe)]) == 0
    assert cli.main(["check", "missing.yaml"]) == 2


@pytest.mark.skipif(sys.platform == "win32", reason="needs a limit of file sizes")
def test_a_starter_that_cannot_be_written_leaves_nothing(tmp_path: Path) -> None:
    script = (
        "import resource, signal, sys\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (20, 20))\n"
        "from slantbore.generators.cli import main\n"
        "raise SystemExit(main(['new', 'panel', '-o', 'x.yaml']))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert (done.returncode, done.stderr) == (2, "slantbore: x.yaml: File too large\n")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="needs pipes with a name")
@pytest.mark.parametrize("command", ["check", "build", "preview"])
def test_a_recipe_that_is_no_ordinary_file_is_refused(command: str, tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.yaml"
    os.mkfifo(pipe)
    for path in (pipe, Path("/dev/zero")):
        done = run(command, path)
        assert done.returncode == 2
        assert f"{path}:1:1: this is a pipe or a device" in done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="a folder in use cannot be deleted")
def test_a_folder_that_is_gone_is_said(recipe: Path, tmp_path: Path) -> None:
    script = (
        "import os, sys\n"
        "from slantbore.generators.cli import main\n"
        "os.rmdir(os.getcwd())\n"
        "raise SystemExit(main(sys.argv[1:]))"
    )
    (tmp_path / "gone").mkdir()
    done = subprocess.run(
        [sys.executable, "-c", script, "build", str(recipe)],
        cwd=tmp_path / "gone", capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == "slantbore: the folder you are in: No such file or directory\n"


# --- stopped -------------------------------------------------------------------------------------


# What modules in C make of an exception in the middle, and what other libraries do.
HALF_LOADED = """
import time
print("ready", flush=True)
try:
    for _ in range(100):
        time.sleep(0.01)
except BaseException:
    %s
"""
KERNEL = HALF_LOADED % "raise ImportError('initialization failed')"
MESHES = (
    HALF_LOADED % "pass"
    + """
import sys
sys.path = [path for path in sys.path if not path.endswith("fake")]
del sys.modules["trimesh"]
import trimesh  # the real one
"""
)

# As the writer of the picture does it: files in a folder of the system's, and a child that draws.
DRAWING = """
import subprocess, sys, tempfile
from slantbore.generators import writers
from slantbore.generators.cli import main

def draw(product, folder):
    with tempfile.TemporaryDirectory() as scratch:
        child = "import os, time; print(os.getpid(), flush=True); time.sleep(60)"
        subprocess.run([sys.executable, "-c", child], check=False)

writers.writers = lambda: (writers.Writer("drawing", "x.png", "", draw),)
raise SystemExit(main(sys.argv[1:]))
"""


def stopped(process: subprocess.Popen[str], number: int) -> tuple[int, str]:
    """Send a signal once the process has printed a line; its status and what it said."""
    process.send_signal(number)
    _, err = process.communicate(timeout=60)
    return process.returncode, err


def started(*command: object, **options: Any) -> subprocess.Popen[str]:
    # A shell's background jobs hand down that Ctrl-C is ignored; a user's terminal does not.
    heard = signal.signal(signal.SIGINT, signal.default_int_handler)
    pipe = subprocess.PIPE
    words = [sys.executable, *map(str, command)]
    process = subprocess.Popen(words, stdout=pipe, stderr=pipe, text=True, **options)
    signal.signal(signal.SIGINT, heard)
    return process


def gone(number: int) -> bool:
    """Whether a process ends within seconds; one that nobody waited for has ended too."""
    for _ in range(200):
        said = subprocess.run(
            ["ps", "-o", "stat=", "-p", str(number)], stdout=subprocess.PIPE, text=True, check=False
        ).stdout.strip()
        if not said or said.startswith("Z"):
            return True
        time.sleep(0.05)
    return False


@pytest.mark.skipif(sys.platform == "win32", reason="signals differ")
@pytest.mark.parametrize(("name", "status"), [("SIGINT", 130), ("SIGTERM", 143), ("SIGHUP", 129)])
@pytest.mark.parametrize(("library", "text"), [("cadquery", KERNEL), ("trimesh", MESHES)])
def test_stopped_while_a_library_loads(
    library: str, text: str, name: str, status: int, recipe: Path, tmp_path: Path
) -> None:
    fake = tmp_path / "fake"
    fake.mkdir()
    (fake / f"{library}.py").write_text(text)
    paths = os.pathsep.join([str(fake), os.environ.get("PYTHONPATH", "")])
    command = ["-m", "slantbore.generators", "build", recipe, "-o", tmp_path / "out"]
    process = started(*command, env={**os.environ, "PYTHONPATH": paths})
    assert process.stdout is not None and process.stdout.readline() == "ready\n"
    assert stopped(process, getattr(signal, name)) == (status, "slantbore: stopped\n")
    assert sorted(os.listdir(tmp_path)) == ["fake", "mirror.yaml"]


@pytest.mark.skipif(sys.platform == "win32", reason="signals differ")
@pytest.mark.parametrize(("name", "status"), [("SIGINT", 130), ("SIGTERM", 143)])
def test_stopped_while_drawing(name: str, status: int, recipe: Path, tmp_path: Path) -> None:
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    command = ["-c", DRAWING, "build", recipe, "-o", tmp_path / "out"]
    process = started(*command, env={**os.environ, "TMPDIR": str(scratch)})
    assert process.stdout is not None
    child = int(process.stdout.readline())
    assert len(list(scratch.iterdir())) == 1
    assert stopped(process, getattr(signal, name)) == (status, "slantbore: stopped\n")
    assert gone(child)
    assert sorted(os.listdir(tmp_path)) == ["mirror.yaml", "scratch"]
    assert list(scratch.iterdir()) == []


def test_signals_are_as_they_were_afterwards() -> None:
    before = signal.getsignal(signal.SIGINT), signal.getsignal(signal.SIGTERM)
    assert cli.main(["designs"]) == 0
    assert (signal.getsignal(signal.SIGINT), signal.getsignal(signal.SIGTERM)) == before
