"""The commands as a user meets them: exit status, streams, messages, and no traceback."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any, NoReturn

import jsonschema
import pytest
from pydantic import BaseModel

from slantbore.generators import cli, pipeline
from slantbore.generators.build import build as real_build
from slantbore.generators.commands import build as build_command
from slantbore.generators.commands import commands
from slantbore.generators.telling.screen import bar
from slantbore.models.designs import designs, piece_models
from slantbore.models.piece.project import Finding
from slantbore.models.recipe.fields import facts
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.wood.tables import drivers

HEAVY = ("cadquery", "OCP", "vtk", "vtkmodules", "trimesh", "matplotlib", "scipy", "ezdxf", "rich")


@pytest.fixture
def recipe(tmp_path: Path) -> Path:
    path = tmp_path / "mirror.yaml"
    path.write_text(designs()["mitred-frame"].starter, encoding="utf-8")
    return path


def run(
    *arguments: object, env: dict[str, str] | None = None, stdout: Any = subprocess.PIPE
) -> subprocess.CompletedProcess[str]:
    """The command in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "slantbore.generators", *map(str, arguments)],
        stdout=stdout, stderr=subprocess.PIPE, text=True, encoding="utf-8",
        env={**os.environ, **(env or {})}, check=False,
    )  # fmt: skip


def fails(*args: object) -> tuple[Finding, ...]:
    return (Finding("thin-wall", "fails", "too thin", board="mirror top rail"),)


def warns(*args: object) -> tuple[Finding, ...]:
    return (Finding("tight-window", "warns", "a tight window", board="mirror top rail"),)


# --- light ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "arguments",
    [["check", "RECIPE"], ["check", "RECIPE", "--json"], ["designs"], ["schema"]]
    + [["new", "mitred-frame"]],
    ids=" ".join,
)
def test_light_commands_import_nothing_heavy(arguments: list[str], recipe: Path) -> None:
    words = [str(recipe) if word == "RECIPE" else word for word in arguments]
    script = (
        "import sys\n"
        "from slantbore.generators.cli import main\n"
        f"status = main({words!r})\n"
        f"heavy = sorted(set({HEAVY!r}) & set(sys.modules))\n"
        "print('heavy', heavy, 'status', status, file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stderr.splitlines()[-1] == "heavy [] status 0"
    assert done.stdout


# --- exit status ---------------------------------------------------------------------------------


def test_check_says_what_was_checked(recipe: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", str(recipe)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    first, *_, left, last = out.splitlines()
    assert first == "my mirror: nothing fails, 2 notes."
    assert last.startswith("my mirror: nothing fails") and left.startswith("Left to build")
    assert "4 boards" in last and "4 pockets" in last and "walls" in last
    assert "from the outside corner" not in out and "Order of assembly" not in out
    assert cli.main(["check", str(recipe), "--full"]) == 0
    out = capsys.readouterr().out
    assert out.count("from the outside corner") == 2  # once for each bored rail
    assert all(f" corner {number} pocket" in out for number in (1, 2, 3, 4))
    assert "Order of assembly" in out and "mirror corner" not in out


@pytest.mark.parametrize("name", ["corner 1", "mirror corner 1", "corner 1 pocket"])
def test_one_joint_is_shown_alone(
    name: str, recipe: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["check", str(recipe), "--show", name]) == 0
    out = capsys.readouterr().out
    assert out.count("from the outside corner") == 1 and " corner 1 pocket" in out
    assert cli.main(["check", str(recipe), "--show", "corner 9"]) == 2
    assert "did you mean `corner" in capsys.readouterr().err


@pytest.mark.parametrize(("stand_in", "status"), [(fails, 1), (warns, 0)])
def test_only_a_failing_finding_fails(
    stand_in: Callable[..., tuple[Finding, ...]],
    status: int,
    recipe: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(pipeline, "judge_once", stand_in)
    assert cli.main(["check", str(recipe)]) == status
    assert stand_in()[0].message in capsys.readouterr().out
    assert cli.main(["check", str(recipe), "--json"]) == status
    data = json.loads(capsys.readouterr().out)
    assert data["counts"]["fails"] == status
    assert [finding["rule"] for finding in data["findings"]] == [stand_in()[0].rule]


def test_json_of_a_wrong_recipe_is_one_document(
    recipe: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    recipe.write_text(recipe.read_text().replace("rail_width", "rail_wdth"), encoding="utf-8")
    assert cli.main(["check", str(recipe), "--json"]) == 2
    out, err = capsys.readouterr()
    problems = json.loads(out)["problems"]
    assert any("rail_wdth" in problem["message"] for problem in problems)
    for problem in problems:
        place = f"{problem['file']}:{problem['line']}:{problem['column']}"
        assert f"{place}: {problem['message']}" in err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "COMMAND"),
        (["chek", "x.yaml"], "chek"),
        (["check"], "RECIPE"),
        (["check", "missing.yaml"], "missing.yaml:1:1: there is no such file"),
        (["check", "--jso", "x.yaml"], "--jso"),
        (["build", "missing.yaml"], "missing.yaml:1:1: there is no such file"),
        (["new", "mitred-fram"], "did you mean `mitred-frame`?"),
        (["new", "mitred-frame", "-o", "."], "is there already"),
        (["new", "mitred-frame", "-o", "no/such/folder/x.yaml"], "No such file or directory"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_what_is_wrong_is_said_with_status_2(
    arguments: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert cli.main(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err and "Traceback" not in err
    assert list(tmp_path.iterdir()) == []


# --- what goes wrong on the way ------------------------------------------------------------------


def raising(error: BaseException) -> Callable[..., NoReturn]:
    def raise_it(*args: object) -> NoReturn:
        raise error

    return raise_it


@pytest.mark.parametrize(
    ("error", "status", "said"),
    [
        (KeyboardInterrupt(), 130, "slantbore: stopped"),
        (PermissionError(13, "Permission denied", "/out"), 2, "/out: Permission denied"),
        (OSError(28, "No space left on device"), 2, "No space left on device"),
        (ZeroDivisionError("division\nby zero"), 70, "ZeroDivisionError: division by zero"),
        (MemoryError(), 70, "MemoryError"),
        (RecursionError("too deep"), 70, "too deep"),
    ],
    ids=lambda value: type(value).__name__,
)
def test_nothing_ends_in_a_traceback(
    error: BaseException,
    status: int,
    said: str,
    recipe: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.delenv(cli.DEBUG, raising=False)
    monkeypatch.setattr(pipeline, "judge_once", raising(error))
    assert cli.main(["check", str(recipe)]) == status
    out, err = capsys.readouterr()
    assert out == "" and len(err.splitlines()) == 1
    assert said in err
    monkeypatch.setenv(cli.DEBUG, "1")
    assert cli.main(["check", str(recipe)]) == status
    assert "Traceback" in capsys.readouterr().err


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_is_said(recipe: Path) -> None:
    with open("/dev/full", "w") as full:
        done = run("check", recipe, stdout=full)
    assert done.returncode == 2
    assert done.stderr == "slantbore: standard output: No space left on device\n"


@pytest.mark.skipif(sys.platform == "win32", reason="pipes differ")
def test_a_reader_that_stops_is_no_traceback(recipe: Path) -> None:
    read_end, write_end = os.pipe()
    os.close(read_end)
    with os.fdopen(write_end, "w") as closed:
        done = run("check", recipe, stdout=closed)
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1 and "stopped reading" in done.stderr


def test_a_terminal_without_the_letters_still_works(recipe: Path) -> None:
    text = recipe.read_text(encoding="utf-8").replace("name: my mirror", "name: Spiegel groß")
    recipe.write_text(text, encoding="utf-8")
    done = run("check", recipe, env={"PYTHONIOENCODING": "ascii"})
    assert done.returncode == 0, done.stderr
    assert "Spiegel gro\\xdf" in done.stdout.splitlines()[0]
    done = run("check", recipe, "--json", env={"PYTHONIOENCODING": "ascii"})
    assert json.loads(done.stdout)["project"] == "Spiegel groß"


# --- each command --------------------------------------------------------------------------------


def test_every_command_has_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert {"build", "check", "designs", "new", "schema"} <= commands().keys()
    for name, command in commands().items():
        assert cli.main([name, "--help"]) == 0
        out = " ".join(capsys.readouterr().out.split())
        assert f"usage: slantbore {name}" in out and command.SUMMARY in out


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("slantbore ")


@pytest.mark.parametrize("design", designs())
def test_a_starter_is_written_once_and_checks(
    design: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "mine.yaml"
    assert cli.main(["new", design, "-o", str(path)]) == 0
    out, err = capsys.readouterr()
    assert out == "" and str(path) in err
    starter = path.read_bytes()
    assert cli.main(["new", design]) == 0
    assert capsys.readouterr().out.encode() == starter
    path.write_bytes(b"mine")
    assert cli.main(["new", design, "-o", str(path)]) == 2
    assert path.read_bytes() == b"mine"
    path.write_bytes(starter)
    assert cli.main(["check", str(path)]) == 0


def test_the_list_of_designs_fits_a_screen(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["designs"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) <= 24 and max(map(len, lines)) <= 100
    for key, design in designs().items():
        assert any(line.split(maxsplit=1) == [key, design.summary] for line in lines)
    assert cli.main(["designs", "mitred-fame"]) == 2
    assert "mitred-frame" in capsys.readouterr().err


def test_a_recipe_is_told_key_by_key(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["designs", "recipe"]) == 0
    told = {line.split()[0] for line in capsys.readouterr().out.splitlines() if line}
    assert {"stock", "tools", "driver", "bit_length", "limits", "show_wall", "router"} <= told


@pytest.mark.parametrize("key", designs())
def test_what_new_says_of_tools_and_limits_can_be_used(
    key: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["new", key]) == 0
    text = capsys.readouterr().out
    start, end = text.index("# tools:"), text.index("# Have you a router?")
    said = "".join(line.removeprefix("# ") for line in text[start:end].splitlines(keepends=True))
    made = parse_recipe(text + said, "mine.yaml", piece_models())
    assert made.tools.drill.driver_length == drivers()["compact"].length
    assert made.limits.show_wall == pytest.approx(3, abs=0.2)


def test_a_design_lists_every_parameter(capsys: pytest.CaptureFixture[str]) -> None:
    lines: list[str] = []
    for key, design in designs().items():
        assert cli.main(["designs", key]) == 0
        lines = [*lines, *capsys.readouterr().out.splitlines()]
        assert f"{key}: {design.summary}" in lines
        waiting: list[type[BaseModel]] = [design.params]
        while waiting:
            for name, fact in facts(waiting.pop()).items():
                waiting += fact.models
                line = next(line for line in lines if line.split()[:1] == [name])
                assert line.split(maxsplit=1)[1]
    assert any(line.endswith("number of sides; from 3 to 12; default 4") for line in lines)
    assert any(line.endswith("(length); default 100 mm, or 4 in") for line in lines)


def test_the_schema_is_one_and_fits_every_starter(capsys: pytest.CaptureFixture[str]) -> None:
    import yaml

    assert cli.main(["schema"]) == 0
    schema = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    for design in designs().values():
        tree = yaml.safe_load(design.starter)
        assert [error.message for error in validator.iter_errors(tree)] == []
        tree["build"][0]["no_such_key"] = 1
        assert not validator.is_valid(tree)


def test_build_says_where_and_returns_the_verdict(
    recipe: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    asked: list[Path] = []

    def fewer(path: Path, folder: Path, progress: object, without: object) -> object:
        from slantbore.generators.writers import bores_csv, findings_json

        asked.append(folder)
        assert progress is None and without == []  # standard error is no terminal here
        return real_build(path, folder, None, (findings_json.WRITER, bores_csv.WRITER))

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(build_command, "build", fewer)
    assert cli.main(["build", str(recipe)]) == 0
    out, err = capsys.readouterr()
    assert asked == [Path("mirror")]
    assert err == "wrote 3 files to mirror\n"
    assert "on the solids" in out.splitlines()[-1]
    data = json.loads((tmp_path / "mirror" / "findings.json").read_text())
    assert data["checked"]["bores"] == 4
    (tmp_path / "mirror" / "mine.txt").write_text("mine")
    (tmp_path / "mirror" / "bores.csv").write_text("mine")
    assert cli.main(["build", str(recipe), "-o", "mirror"]) == 0
    wrote, kept = capsys.readouterr().err.splitlines()
    assert wrote == "wrote 3 files to mirror"
    assert kept.endswith(": bores.csv, now kept/bores.csv; mine.txt")
    assert (tmp_path / "mirror" / "mine.txt").read_text() == "mine"


def test_a_failing_build_is_written_all_the_same(
    recipe: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import slantbore.generators.solids.proof as proof

    monkeypatch.setattr(proof, "prove", fails)
    monkeypatch.setattr("slantbore.generators.writers.writers", lambda: (findings_writer(),))
    assert cli.main(["build", str(recipe), "-o", str(tmp_path / "out")]) == 1
    data = json.loads((tmp_path / "out" / "findings.json").read_text())
    failing = [f["message"] for f in data["findings"] if f["severity"] == "fails"]
    assert failing == ["too thin"]


def findings_writer() -> Any:
    from slantbore.generators.writers import findings_json

    return findings_json.WRITER


def test_a_bar_is_shown_on_a_terminal_only(monkeypatch: pytest.MonkeyPatch) -> None:
    with bar() as progress:
        assert progress is None
    shown: list[str] = []
    terminal = SimpleNamespace(
        isatty=lambda: True, write=shown.append, flush=lambda: None, encoding="utf-8"
    )
    monkeypatch.setattr(sys, "stderr", terminal)
    with bar() as progress:
        assert progress is not None
        progress("top [rail]", 1, 4)
    assert "top [rail]" in "".join(shown)
