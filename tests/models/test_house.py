"""The shape of the house: what is packaged, who imports whom, in which order the rooms stand."""

import ast
import fnmatch
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FLOORS = ("models", "generators", "recipes", "shared")
KERNELS = {
    "cadquery", "OCP", "trimesh", "vtk", "vtkmodules", "matplotlib", "ezdxf", "scipy", "manifold3d",
    "PIL",
}  # fmt: skip
# One file an entry: a kind of work, a design, a rule, a format, a command.
REGISTRIES = {
    "models/work", "models/designs", "models/judging/rules", "generators/writers",
    "generators/commands",
}  # fmt: skip
MOST_FILES, MOST_LINES, LONGEST_FUNCTION = 14, 450, 60
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
SETUPTOOLS = PYPROJECT["tool"]["setuptools"]


checkout = pytest.mark.skipif(not (ROOT / ".git").exists(), reason="this is no checkout")


def package_of(folder: Path) -> str:
    return ".".join(("slantbore", *folder.relative_to(ROOT).parts))


def folders() -> Iterator[Path]:
    for floor in FLOORS:
        for here, below, _ in os.walk(ROOT / floor):
            below[:] = [name for name in below if name != "__pycache__"]
            yield Path(here)


def sources(floor: str) -> list[Path]:
    found = sorted((ROOT / floor).rglob("*.py"))
    assert found
    return found


def imported(path: Path) -> Iterator[tuple[str, int]]:
    """Every module that a file imports, at any depth of it, in full, with the line."""
    package = path.relative_to(ROOT).parent.parts
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield node.module or "", node.lineno
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1]
            for alias in node.names:
                tail = (node.module,) if node.module else (alias.name,)
                yield ".".join(("slantbore", *base, *tail)), node.lineno


def test_packages_are_the_folders_with_python_in_them() -> None:
    with_python = {package_of(folder) for folder in folders() if list(folder.glob("*.py"))}
    assert set(SETUPTOOLS["packages"]) == {"slantbore", *with_python}
    for folder in folders():
        assert not list(folder.glob("*.py")) or (folder / "__init__.py").is_file(), folder


@checkout
def test_every_data_file_is_packaged() -> None:
    patterns = {
        ROOT.joinpath(*package.split(".")[1:]): globs
        for package, globs in SETUPTOOLS["package-data"].items()
        if package != "slantbore"
    }
    tracked = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", *FLOORS],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout.split("\n")  # fmt: skip
    data = [ROOT / name for name in tracked if name and not name.endswith(".py")]
    assert data
    for path in data:
        packaged = any(
            path.is_relative_to(home)
            and fnmatch.fnmatch(str(path.relative_to(home)), glob.replace("**/", "*"))
            for home, globs in patterns.items()
            for glob in globs
        )
        assert packaged, f"no package-data pattern takes {path.relative_to(ROOT)}"


@checkout
def test_the_links_of_the_root_package_are_relative() -> None:
    home = ROOT / ".src" / "slantbore"
    assert {path.name for path in home.iterdir() if path.is_symlink()} == set(FLOORS)
    for floor in FLOORS:
        assert os.readlink(home / floor) == f"../../{floor}"
        assert SETUPTOOLS["package-dir"][f"slantbore.{floor}"] == floor


@pytest.mark.parametrize("floor", ["models", "generators"])
def test_inside_the_package_imports_are_relative(floor: str) -> None:
    for path in sources(floor):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and node.level == 0:
                names = [node.module or ""]
            for name in names:
                assert name.split(".")[0] not in {"slantbore", *FLOORS, "tests"}, (path, name)


def test_models_import_neither_generators_nor_kernels() -> None:
    for path in sources("models"):
        for name, line in imported(path):
            where = f"{path.relative_to(ROOT)}:{line} imports {name}"
            assert not name.startswith("slantbore.generators"), where
            assert name.split(".")[0] not in KERNELS, where


def test_measuring_takes_typed_values_and_reads_no_text() -> None:
    """Rooms that place, measure and judge know what a recipe holds, not how it is written."""
    written = re.compile(r"slantbore\.models\.recipe\.(reading|numbers|edits|schema)|yaml")
    for room in ("maths", "piece", "work", "placing", "judging"):
        for path in (ROOT / "models" / room).rglob("*.py"):
            found = [name for name, _ in imported(path) if written.match(name)]
            assert not found, (path, found)
            assert ".document" not in path.read_text(encoding="utf-8"), path


def test_a_fresh_interpreter_with_all_of_models_holds_no_kernel() -> None:
    modules = [
        package_of(path.parent if path.name == "__init__.py" else path.with_suffix(""))
        for path in sources("models")
    ]
    script = (
        "import importlib, sys\n"
        f"for name in {modules!r}: importlib.import_module(name)\n"
        "print(*sorted({name.split('.')[0] for name in sys.modules}))\n"
    )
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    loaded = set(run.stdout.split())
    assert {"slantbore", "pydantic", "yaml"} <= loaded
    assert not loaded & (KERNELS | {"rich"})


def test_every_model_module_imports_by_itself() -> None:
    """In an order of its own each: a circular import would show here only."""
    script = (
        "import importlib, sys\n"
        "for name in sys.argv[1:]:\n"
        "    for loaded in [m for m in sys.modules if m.startswith('slantbore')]:\n"
        "        del sys.modules[loaded]\n"
        "    importlib.import_module(name)\n"
    )
    modules = [package_of(p.with_suffix("")) for p in sources("models") if p.stem != "__init__"]
    run = subprocess.run(
        [sys.executable, "-c", script, *modules], capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr


# --- rooms ---------------------------------------------------------------------------------------


def rooms() -> list[str]:
    """Folders and files of both houses as DEVELOPERS.md lists them, from the ground up."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    listed = text.partition("two lines name:\n\n")[2].partition("\n\n")[0]
    return re.findall(r"^    ((?:models|generators)/\S+) +\S", listed, re.MULTILINE)


ROOMS = rooms()
READING = ROOT / "models" / "recipe" / "reading.py"
NO_TEXT = ("models/placing", "models/judging")  # they see typed values, not a recipe's text
DEBTS_FILE = Path(__file__).with_name("house_debts.txt")


def room_of(path: Path) -> str:
    """The room that a file or a folder of the houses stands in, "" for a house itself."""
    here = (path.relative_to(ROOT), *path.relative_to(ROOT).parents)
    return next((p.as_posix() for p in here if p.as_posix() in ROOMS), "")


def targets(path: Path) -> Iterator[Path]:
    """The files of the houses that a file imports, at any depth of it."""
    package = path.parent
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.ImportFrom) or not node.level:
            continue
        base = package.parents[node.level - 2] if node.level > 1 else package
        base = base.joinpath(*(node.module or "").split("."))
        if base == ROOT:  # the package's own file, with its version
            continue
        for alias in node.names:
            tried = [base / f"{alias.name}.py", base / alias.name / "__init__.py",
                     base.with_suffix(".py"), base / "__init__.py"]  # fmt: skip
            found = next((file for file in tried if file.is_file()), None)
            assert found is not None, f"{path}:{node.lineno} imports {base}, which is no file"
            if found.is_relative_to(ROOT / "models") or found.is_relative_to(ROOT / "generators"):
                yield found


IMPORTS = {
    path: sorted({file for file in targets(path) if file != path})
    for floor in ("models", "generators")
    for path in sources(floor)
}


def short(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def may_import(room: str) -> set[str]:
    """The rooms that a room's two lines name; of `generators`, `models` is all of that house."""
    above = set(ROOMS[: ROOMS.index(room)])
    if room.endswith(".py"):
        return above
    text = (ROOT / room / "__init__.py").read_text(encoding="utf-8")
    said = re.search(r"^Imports (.+?)\.$", ast.get_docstring(ast.parse(text)) or "", re.M | re.S)
    assert said, f"{room}/__init__.py must say in a line `Imports ...` what it may import"
    if said[1].startswith("every room above it"):
        return above
    named = set(re.findall(r"[\w.]+", said[1])) - {"nothing", "of", "the", "project", "alone"}
    return {
        other for other in above if other.split("/")[1] in named or other.split("/")[0] in named
    }


def reached(file: Path, within: str) -> set[Path]:
    """The file and all that it imports, directly or not, of the files that begin so."""
    found, waiting = set(), [file]
    while waiting:
        one = waiting.pop()
        if one not in found and short(one).startswith(within):
            found.add(one)
            waiting += IMPORTS[one]
    return found


def arrows() -> Iterator[str]:
    """Every import that a room may not have, and every circle."""
    for path, files in IMPORTS.items():
        room = room_of(path)
        allowed = may_import(room) | {room} if room else set(ROOMS)
        for other in sorted({room_of(file) for file in files} - {""} - allowed):
            yield f"{short(path)} imports {other}"
        for file in files:
            if path in reached(file, ""):
                yield f"{short(path)} imports {short(file)} in a circle"
            if room in NO_TEXT and READING in reached(file, "models/recipe/"):
                yield f"{short(path)} imports the reading of recipes by {short(file)}"


def too_long() -> Iterator[str]:
    """Every file and every function that is too long to be read at once."""
    for path in (path for floor in ("models", "generators", "tests") for path in sources(floor)):
        text = path.read_text(encoding="utf-8")
        if len(text.splitlines()) > MOST_LINES:
            yield f"{short(path)} is longer than {MOST_LINES} lines"
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                assert node.end_lineno is not None
                if node.end_lineno - node.lineno >= LONGEST_FUNCTION:
                    yield f"{short(path)}: {node.name} is longer than {LONGEST_FUNCTION} lines"


def test_the_list_of_rooms_is_the_house() -> None:
    assert len(ROOMS) == len(set(ROOMS)) > 15
    assert not may_import("models/maths")
    for room in ROOMS:
        assert (ROOT / room).exists(), f"DEVELOPERS.md lists {room}, which is not there"
    for path in IMPORTS:
        houses = path.parent in (ROOT / "models", ROOT / "generators")
        assert room_of(path) or (houses and path.stem in ("__init__", "__main__")), (
            f"{short(path)} is in no room of DEVELOPERS.md"
        )


def test_no_arrow_goes_up_and_nothing_grows_too_long_but_what_is_listed() -> None:
    known = DEBTS_FILE.read_text(encoding="utf-8").splitlines()
    assert known == sorted(set(known)), "the list is sorted, each line once"
    found = {*arrows(), *too_long()}
    assert not found - set(known), "\n".join(["new:", *sorted(found - set(known))])
    gone = sorted(set(known) - found)
    assert not gone, "\n".join([f"take these lines out of {DEBTS_FILE.name}:", *gone])


def test_a_room_holds_a_dozen_files_and_says_what_it_is() -> None:
    for folder in folders():
        name = short(folder)
        files = [path for path in folder.glob("*.py") if path.name != "__init__.py"]
        if "/" not in name or not files:
            continue
        assert name in REGISTRIES or len(files) <= MOST_FILES, f"{name} holds {len(files)} files"
        text = (folder / "__init__.py").read_text(encoding="utf-8")
        assert ast.get_docstring(ast.parse(text)), f"{name}/__init__.py says nothing"
