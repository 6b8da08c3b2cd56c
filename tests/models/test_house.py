"""The shape of the house: what is packaged, who imports whom."""

import ast
import fnmatch
import os
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
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
SETUPTOOLS = PYPROJECT["tool"]["setuptools"]


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
