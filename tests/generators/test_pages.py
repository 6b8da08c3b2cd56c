"""Every code that a finding can carry has a page, and one bore can be explained."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from slantbore.generators import cli
from slantbore.generators.solids.proof_pages import LEFT_TO_SOLIDS, PROOF_PAGES, all_pages
from slantbore.models.designs import designs
from slantbore.models.judging.rules import pages, rules

ROOT = Path(__file__).parents[2]


def sources() -> Iterator[tuple[Path, ast.Module]]:
    for folder in ("models", "generators"):
        for path in sorted((ROOT / folder).rglob("*.py")):
            yield path, ast.parse(path.read_text(encoding="utf-8"))


def words(node: ast.expr | None) -> set[str]:
    """The texts that an expression may come out as: constants and both arms of a condition."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return {node.value}
    if isinstance(node, ast.IfExp):
        return words(node.body) | words(node.orelse)
    if isinstance(node, ast.Tuple):
        return set().union(*map(words, node.elts))
    return set()


def codes_in(tree: ast.Module) -> set[str]:
    """Codes given to findings that are made in a module."""
    named: dict[str, set[str]] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign):
            for target in node.targets:
                if isinstance(target, ast.Name):
                    named.setdefault(target.id, set()).update(words(node.value))
                elif isinstance(target, ast.Tuple) and isinstance(node.value, ast.Tuple):
                    for name, value in zip(target.elts, node.value.elts, strict=True):
                        if isinstance(name, ast.Name):
                            named.setdefault(name.id, set()).update(words(value))
    found: set[str] = set()
    for node in ast.walk(tree):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
            continue
        if node.func.id not in ("Finding", "wall_finding"):
            continue
        first = node.args[:1] if node.func.id == "Finding" else node.args[1:2]
        given = [*first, *(k.value for k in node.keywords if k.arg == "rule")]
        for value in given:
            found |= named.get(value.id, set()) if isinstance(value, ast.Name) else words(value)
    return found


def test_every_code_has_a_page() -> None:
    found: dict[str, str] = {}
    for path, tree in sources():
        found |= {code: str(path.relative_to(ROOT)) for code in codes_in(tree)}
    # What this way of looking must see, or it looks past everything.
    assert {"no-window", "narrow-window", "overlap", "gap", "stray-screw", "disagreement",
            "breakout", "thin-wall", "too-close", "out-of-reach"} <= set(found)  # fmt: skip
    missing = {code: where for code, where in found.items() if code not in all_pages()}
    assert not missing


def test_no_page_is_left_over() -> None:
    made = set().union(*(codes_in(tree) for _, tree in sources()))
    assert set(all_pages()) <= made


def test_pages_say_what_is_checked_and_by_what_source() -> None:
    for page in all_pages().values():
        assert page.title and page.title[0].isupper() and not page.title.endswith(".")
        assert len(page.page.split()) > 25, page.code
    for code, rule in rules().items():
        said = rule.page
        sourced = any(word in said for word in ("source", "textbook", "NDS", "Handbook", "memory"))
        assert sourced or code in ("pocket-in-sight", "no-order"), code


def test_a_code_has_one_page() -> None:
    assert not {page.code for page in PROOF_PAGES} & set(pages())


def test_rules_lists_and_prints(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["rules"]) == 0
    listed = capsys.readouterr().out
    for page in all_pages().values():
        assert page.code in listed and page.title in listed
    for code in all_pages():
        assert cli.main(["rules", code]) == 0
        printed = capsys.readouterr().out
        assert printed.startswith(f"{code}: ")
        assert max(map(len, printed.splitlines())) <= 96


def test_an_unknown_code_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["rules", "thin-wal"]) == 2
    assert "did you mean `thin-wall`?" in capsys.readouterr().err


@pytest.fixture
def recipe(tmp_path: Path) -> Path:
    path = tmp_path / "mirror.yaml"
    path.write_text(designs()["mitred-frame"].starter, encoding="utf-8")
    return path


def test_a_bore_is_explained(recipe: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", str(recipe), "--explain", "mirror corner 1 pocket"]) == 0
    text = capsys.readouterr().out
    for rule in rules().values():
        if rule.numbers:
            assert f"{rule.code}: {rule.title}" in text
    assert text.count("<- least to spare") == 1
    assert "counterbore to the outside edge" in text and "stopped by" in text


def test_a_bore_is_explained_as_data(recipe: Path, capsys: pytest.CaptureFixture[str]) -> None:
    told = ["check", str(recipe), "--json", "--explain", "mirror corner 1 pocket"]
    assert cli.main(told) == 0
    data = json.loads(capsys.readouterr().out)
    walls = [row for row in data["numbers"] if row["rule"] == "thin-wall"]
    # The frame of the starter is 2-1/2 in wide; the web under the shoulder by hand:
    # T less the stop's depth, less R cos t; the least stop on a sixteenth at which the head's rim,
    # 4.4 cos t + 2.6 sin t high, lies 0.2 mm deep is 13/16 in along the axis: 5.34 mm, not 5.12.
    web = next(row for row in walls if row["what"] == "counterbore to the front")
    assert web["value"] == pytest.approx(
        19.05 - 13 / 16 * 25.4 * 0.2588190 - 4.7625 * 0.9659258, abs=1e-4
    )
    assert web["needed"] == 3.0 and web["unit"] == "mm"


def test_an_unknown_bore_is_told(recipe: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", str(recipe), "--explain", "mirror corner 9 pocket"]) == 2
    assert "is no bore; did you mean" in capsys.readouterr().err


def test_telling_a_page_or_a_bore_imports_no_kernel(recipe: Path) -> None:
    script = (
        "import sys\n"
        "from slantbore.generators.cli import main\n"
        "assert main(['rules', 'overlap']) == 0\n"
        f"assert main(['check', {str(recipe)!r}, '--explain', 'mirror corner 1 pocket']) == 0\n"
        "heavy = {'cadquery', 'OCP', 'vtk', 'trimesh', 'scipy'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    subprocess.run([sys.executable, "-c", script], check=True, stdout=subprocess.DEVNULL)


def test_check_says_what_is_left_to_the_solids(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", str(ROOT / "recipes" / "washroom-mirror.yaml")]) == 0
    assert capsys.readouterr().out.splitlines()[-2] == LEFT_TO_SOLIDS
    # Of the codes that only the proof has, each is in that line.
    said = {"disagreement": "both ways agree"}
    assert {page.code for page in PROOF_PAGES} == set(said)
    assert all(words in LEFT_TO_SOLIDS for words in said.values())


def test_what_the_proof_can_say_a_rule_can_say_or_it_is_left_to_build() -> None:
    own = set().union(*(codes_in(t) for path, t in sources() if path.parent.name == "solids"))
    assert own == {"breakout", "disagreement"}
    assert own - set(rules()) == {page.code for page in PROOF_PAGES}
    again = {code for code, rule in rules().items() if rule.on_solids}
    assert again == {
        "breakout", "thin-wall", "tip-cover", "too-close", "stray-screw", "overlap", "gap",
        "cut-through",
    }  # fmt: skip
