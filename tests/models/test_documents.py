"""README.md and DEVELOPERS.md do what they say: every block of code in them is run or checked.

sh      run line by line; `# status N` at a line's end is the exit status that is expected
text    printed by the block of commands before it; `...` stands for lines left out
yaml    a recipe: one that ships, or one that `check` passes; with a name, a file of that name
python  run; with a file's name after `python`, a new file of the package
bat     the same command as the first one, for another system
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from fnmatch import fnmatch
from pathlib import Path
from typing import Any

import pytest

from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe

ROOT = Path(__file__).parents[2]
README, DEVELOPERS = "README.md", "DEVELOPERS.md"
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
FENCED = re.compile(r"^```(\w*)[ ]*(\S*)\n(.*?)^```$", re.M | re.S)
RECIPE = "washroom-mirror.yaml"


@dataclass(frozen=True)
class Block:
    """One block of code; `file` is what stands after the language."""

    language: str
    file: str
    text: str

    @property
    def lines(self) -> list[str]:
        return self.text.splitlines()


def text_of(document: str) -> str:
    return (ROOT / document).read_text(encoding="utf-8")


def blocks(document: str, language: str = "") -> list[Block]:
    found = [Block(*match) for match in FENCED.findall(text_of(document))]
    assert len(re.findall("^```", text_of(document), re.M)) == 2 * len(found)
    return [block for block in found if language in ("", block.language)]


def commands(document: str) -> Iterator[str]:
    for block in blocks(document, "sh"):
        yield from block.lines


@dataclass
class Bench:
    """A copy of the package and its recipes, and the commands on the path."""

    folder: Path
    said: str = ""
    done: set[str] = field(default_factory=set)

    @classmethod
    def set_up(cls, folder: Path) -> Bench:
        package = folder / "package" / "slantbore"
        shutil.copytree(ROOT / ".src" / "slantbore", package, ignore=lambda *_: ["__pycache__"])
        shutil.copytree(ROOT / "recipes", folder / "recipes")
        programs = folder / ".venv" / "bin"
        programs.mkdir(parents=True)
        for name, runs in (("slantbore", " -P -m slantbore.generators"), ("python", "")):
            program = programs / name
            program.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)}{runs} "$@"\n')
            program.chmod(0o755)
        return cls(folder)

    def run(self, line: str, status: int = 0) -> str:
        path = f"{self.folder / '.venv' / 'bin'}{os.pathsep}{os.environ['PATH']}"
        run = subprocess.run(
            ["bash", "-c", line],
            cwd=self.folder,
            env=os.environ | {"PATH": path, "PYTHONPATH": str(self.folder / "package")},
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert run.returncode == status, f"{line}\n{run.stdout}{run.stderr}"
        return run.stdout

    def follow(self, block: Block) -> None:
        """Run a block's commands; what installs, checks or tests has tests of its own below."""
        self.said = ""
        for line in block.lines:
            command, _, status = line.partition("  # status ")
            stages = command.split(" && ")
            if stages[0] == "python3 -m venv .venv":
                stages = stages[2:]
            for stage in stages:
                if is_for_developers(stage) or stage in self.done:
                    continue
                self.said += self.run(stage, int(status or 0))
                self.done.add(stage)


def is_for_developers(stage: str) -> bool:
    words = stage.split()
    return words[0] in ("ruff", "mypy", ".") or "pytest" in words


@pytest.fixture(scope="module")
def readme(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    bench = Bench.set_up(tmp_path_factory.mktemp("readme"))
    for block in blocks(README):
        match block.language:
            case "sh":
                bench.follow(block)
            case "text":
                assert_printed(block.lines, bench.said)
    return bench


def assert_printed(lines: list[str], said: str) -> None:
    """The lines were printed, one below the other; `...` lets others stand between."""
    pattern = "".join(r"(?:.*\n)*?" if line == "..." else re.escape(line) + r"\n" for line in lines)
    assert re.search("^" + pattern, said, re.M), "\n".join(["not printed:", *lines, said])


# --- both ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("document", [README, DEVELOPERS])
def test_every_block_is_of_a_kind_that_is_tested(document: str) -> None:
    kinds = {block.language for block in blocks(document)}
    assert kinds and kinds <= {"sh", "text", "yaml", "python", "bat"}


@pytest.mark.parametrize("document", [README, DEVELOPERS])
def test_what_is_linked_or_named_is_there(document: str) -> None:
    prose = FENCED.sub("", text_of(document))
    for target in re.findall(r"\]\(([^)]+)\)", prose):
        assert (ROOT / target).is_file(), target
    tracked = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout.split("\n")  # fmt: skip
    suffixes = "py|yaml|toml|md|css" if document == DEVELOPERS else "yaml|md"
    named = re.findall(rf"`([\w./-]*\w\.(?:{suffixes}))`", prose)
    named += [f"{n}/" for n in re.findall(r"`([\w./]+)/`", prose)]
    assert named
    for module in re.findall(r"`python -m (tests\.[\w.]+)`", prose):
        named.append(module.replace(".", "/") + ".py")
    for name in named:
        found = [
            path
            for path in tracked
            if f"/{path}".endswith(f"/{name}") or (name[-1] == "/" and f"/{name}" in f"/{path}")
        ]
        assert found, f"{document} names {name}"


@pytest.mark.parametrize("document", [README, DEVELOPERS])
def test_set_up_makes_an_environment_and_installs_the_checkout(document: str) -> None:
    extras = PYPROJECT["project"]["optional-dependencies"]
    lines = [line for line in commands(document) if line.startswith("python3 ")]
    assert len(lines) == (2 if document == README else 1)
    for line in lines:
        environment, install, then = line.split(" && ")
        assert environment == "python3 -m venv .venv"
        words = shlex.split(install)
        assert words[:-1] == [".venv/bin/python", "-m", "pip", "install", "-e"]
        extra = re.fullmatch(r"\.(?:\[(\w+)\])?", words[-1])
        assert extra and (extra[1] is None or extra[1] in extras)
        assert then.startswith((".venv/bin/slantbore build", ".venv/bin/python -m pytest", ". "))


@pytest.mark.parametrize("document", [README, DEVELOPERS])
def test_what_runs_tests_finds_some(document: str) -> None:
    stages = [stage for line in commands(document) for stage in line.split(" && ")]
    tests = [stage.split(" -m pytest")[1].split() for stage in stages if " -m pytest" in stage]
    assert tests
    for arguments in tests:
        places = [word for word in arguments if word.startswith("tests")]
        for place in places:
            assert list((ROOT / place).rglob("test_*.py")), place
        if not places:  # one file, for its options' sake
            one = [*arguments, "--collect-only", "-q", "tests/models/test_house.py"]
            subprocess.run([sys.executable, "-m", "pytest", *one], cwd=ROOT, check=True)


def test_the_whole_check_is_what_the_documents_say() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    _, check, test, build = blocks(DEVELOPERS, "sh")[0].lines
    steps = dict(re.findall(r'^step "(\w+)" "(.+)"$', script, re.M))
    assert check == f"{steps['lint']} && {steps['types']}"
    # The other two stand in README's commands, which the script reads from there.
    assert "grep '^python3 -m venv' README.md" in script
    first, second = (line for line in commands(README) if line.startswith("python3"))
    assert first.endswith(f" && .venv/bin/{build}")
    assert second.endswith(f" && .venv/bin/{test}")


# --- README.md -----------------------------------------------------------------------------------


def test_the_commands_of_the_readme_run_and_print_what_it_says(readme: Bench) -> None:
    assert (readme.folder / "my-mirror" / "findings.json").is_file()
    assert (readme.folder / "my-mirror-preview.html").is_file()
    assert blocks(README, "text")


def test_the_recipe_of_the_readme_is_the_one_that_it_builds() -> None:
    block, *_ = blocks(README, "yaml")
    assert block.text == (ROOT / "recipes" / RECIPE).read_text(encoding="utf-8")
    assert f"recipes/{RECIPE}" in next(commands(README))


def test_what_the_readme_bores_otherwise_may_stand_under_its_recipe() -> None:
    recipe, more, *_ = blocks(README, "yaml")
    project = plan(parse_recipe(recipe.text + more.text, RECIPE, piece_models()))
    first, second = project.joints[:2]
    assert len(first.bores) == 2 and second.bores[0].swing == 10
    assert all(bore.pilot_into_mate == bore.engagement for bore in project.bores)
    assert not [f for f in judge(project) if f.severity != "notes"]


def test_what_the_readme_says_besides_may_stand_in_its_recipe() -> None:
    recipe, _, fixings, sections = blocks(README, "yaml")
    project = plan(parse_recipe(recipe.text + fixings.text + sections.text, RECIPE, piece_models()))
    assert [item.quantity for item in project.hardware if item.holds == "wall"] == [2]
    drill, wall = project.bores[0].drill, project.limits.show_wall
    assert drill.bits == pytest.approx((6 * 25.4,)) and wall == pytest.approx(25.4 / 8)
    router = project.router
    assert router is not None and [c.form for c in router.cutters] == ["flat", "ball-nose"]
    assert router.machine.travel == pytest.approx((48 * 25.4, 36 * 25.4, 5 * 25.4))
    cutting = project.cutting
    assert (cutting.kerf, cutting.end_trim) == pytest.approx((3 / 32 * 25.4, 50.8))
    assert cutting.board_lengths == pytest.approx((6 * 304.8, 8 * 304.8))
    assert cutting.paper == "a4" and cutting.waste == 0.2


def test_the_readme_lists_the_files_of_a_build(readme: Bench) -> None:
    rows = re.findall(r"^\| `([^`]+)` \|", text_of(README), re.M)
    out = readme.folder / "out"
    files = [path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file()]
    # A machine that cannot draw leaves the picture out, and says so.
    for name in {*files, "preview.png"}:
        assert len([row for row in rows if fnmatch(name, row)]) == 1, f"{README} lists {rows}"
    for row in rows:
        assert row == "preview.png" or [name for name in files if fnmatch(name, row)], row


def test_the_command_for_another_system_is_the_first_one() -> None:
    [block] = blocks(README, "bat")
    said = block.text.strip().replace("\\", "/").replace("/Scripts/", "/bin/")
    assert said.replace("py -m", "python3 -m") == next(commands(README))


# --- DEVELOPERS.md -------------------------------------------------------------------------------


def test_the_examples_for_developers_work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench.set_up(tmp_path)
    monkeypatch.chdir(tmp_path)
    names: dict[str, Any] = {}
    for block in blocks(DEVELOPERS)[1:]:  # the first one is README's, but for linters
        match block.language, block.file:
            case "python", "":
                exec(compile(block.text, DEVELOPERS, "exec"), names)
            case "python", file:
                new = tmp_path / "package" / "slantbore" / file
                assert not new.exists() and new.parent.is_dir()
                new.write_text(block.text)
            case "sh", _:
                bench.follow(block)
            case "yaml", file if file:
                Path(file).write_text(block.text)
            case "yaml", _:
                Path("shown.yaml").write_text(block.text)
                said = bench.run("slantbore check shown.yaml")
                assert "warns  small-piece" in said
    assert "nothing fails" in bench.run("slantbore check coat-rail.yaml")
    assert (
        "stopped chamfer 1, 6 mm along the front edge, top face, stopped 40 mm from both ends; "
        "stopped chamfer 2, 6 mm along the back edge"
    ) in Path("chamfered/cut-list.csv").read_text(encoding="utf-8-sig")
    assert Path("out/stock-list.csv").read_text(encoding="utf-8-sig").splitlines()[1:] == [
        "red oak,0.161"
    ]


def test_the_examples_for_developers_are_clean() -> None:
    examples = [block for block in blocks(DEVELOPERS, "python") if block.file]
    assert {Path(block.file).parent.name for block in examples} == {
        "designs", "rules", "work", "writers",
    }  # fmt: skip
    for block in examples:
        for how in (["check", "-q"], ["format", "--check", "-q"]):
            run = subprocess.run(
                [sys.executable, "-m", "ruff", *how, "--stdin-filename", block.file, "-"],
                input=block.text, cwd=ROOT, capture_output=True, text=True, check=False,
            )  # fmt: skip
            assert run.returncode == 0, run.stdout + run.stderr
