"""What is printed: the verdict first and last, each cause once, its cure as lines to paste."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from contextlib import suppress
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest

from slantbore.generators import cli
from slantbore.generators.build import build
from slantbore.generators.page.scene import scene_of
from slantbore.generators.telling.document import document
from slantbore.generators.telling.printed import Told, brief, opening, plain
from slantbore.generators.telling.report import placement
from slantbore.generators.writers import verdict
from slantbore.models.advice.causes import Cause
from slantbore.models.piece.lever import Change, Setting
from slantbore.models.piece.project import Bore, Bound, Finding, Project, Window
from slantbore.models.recipe.writing import Patch
from tests.generators import small


def printed(project: Project, *causes: Cause, stopped: str = "") -> list[str]:
    """What is printed of causes, line by line."""
    findings = [finding for cause in causes for finding in cause.findings]
    told = Told(project, findings, causes, "in closed form", stopped)
    return plain([*opening(project, findings), *brief(told)]).splitlines()


def cured(*findings: Finding) -> Cause:
    """What one change of the second line of a recipe cures."""
    change = Change((Setting(("build", 0, "swing"), "auto", "let the pockets swing"),), "it fits")
    told = tuple(replace(finding, changes=(change,)) for finding in findings)
    paste = (Patch(2, 2, ("    swing: auto",)), Patch(4, 3, ("    rail: 40",)))
    return Cause(told, cure=change, paste=paste, place="the piece mirror")


def test_the_verdict_stands_first_and_last_and_each_cause_once() -> None:
    project = replace(small.corner(), unit="inch")
    lines = printed(
        project,
        Cause((Finding("thin-wall", "fails", "the wall is thin", "rail 2", remedy="move it"),)),
        Cause((Finding("tolerance", "warns", "a tight window", "rail 1", bore="corner 1 pocket"),)),
        stopped="2 s",
    )
    assert lines == [
        "corner: 1 finding fails, 1 warning.",
        "",
        "What fails",
        "  fails  thin-wall  the wall is thin",
        "         at: rail 2",
        "         help: move it",
        "",
        "What to watch",
        "  warns  tolerance  a tight window",
        "         at: corner 1 pocket",
        "",
        "Where each pocket goes and the order of assembly: --full; of one piece, board or joint: "
        "--show NAME.",
        "",
        "Stopped looking for what to change after 2 s.",
        "corner: 1 finding fails, 1 warning. Checked in closed form: 3 boards, 2 joints, "
        "2 pockets; 20 walls and 1 distance between bores.",
    ]  # fmt: skip


def test_a_cure_is_told_with_the_lines_to_paste_as_they_stand() -> None:
    def thin(bore: str, rule: str, measured: float) -> Finding:
        joint = bore.removesuffix(" pocket")
        return Finding(
            rule, "fails", "too little wood", "rail 1", joint, bore, measured=measured, needed=3.0
        )

    lines = printed(
        small.corner(),
        cured(
            thin("corner 1 pocket", "thin-wall", 2.0),
            thin("corner 2 pocket", "thin-wall", 1.0),
            thin("corner 1 pocket", "tip-cover", 2.5),
            thin("corner 2 pocket", "tip-cover", 2.75),
        ),
    )
    assert lines[2:11] == [
        "What fails",
        "  fails  thin-wall  too little wood: 1 mm, 3 mm needed (the worst of 2)",
        "  fails  tip-cover  too little wood: 2.5 mm, 3 mm needed (the worst of 2)",
        "         at: corner 1 pocket; corner 2 pocket",
        "         cure: let the pockets swing; then it fits",
        "         in the piece mirror, in place of line 2, write",
        "    swing: auto",
        "         and after line 3, add",
        "    rail: 40",
    ]


def test_thousands_of_faults_are_counted_not_printed() -> None:
    project = small.corner()
    many = [Finding("thin-wall", "fails", f"wall {n:04} is thin", "rail 1") for n in range(5000)]
    few = Finding("overlap", "fails", "they overlap", "rail 1")
    lines = printed(project, *(Cause((finding,)) for finding in (few, *many)))
    assert "  fails  overlap  they overlap" in lines and len(lines) < 45
    told = sum("thin-wall" in line for line in lines)
    assert f"  and {5000 - told} more causes; --full tells all" in lines
    assert lines[-1].startswith("corner: 5001 findings fail.")
    assert len(document(project, [*many, few])["findings"]) == 5001
    causes = [Cause((finding,)) for finding in (few, *many)]
    shown = scene_of(Told(project, [few, *many], causes, "in closed form"))
    [group] = shown["causes"]
    assert shown["verdict"]["said"] == "5001 findings fail."
    left = 5001 - len(group["causes"])
    assert len(shown["findings"]) == len(group["causes"]) < 100
    assert group["more"] == f"and {left} more causes; `slantbore check --full` tells all"


def test_what_many_pockets_share_is_said_once_with_how_many_they_are() -> None:
    found = [
        Finding("thin-wall", "warns", "thin", joint=f"joint {n}", bore=f"joint {n} pocket {m}")
        for n in range(9)
        for m in range(4)
    ]
    lines = printed(small.corner(), Cause(tuple(found)))
    places = "; ".join(f"joint {n}, 4 pockets" for n in range(6))
    assert f"         at: {places}; and 3 more" in lines


def placed(bore: Bore, window: Window) -> Project:
    project = small.corner()
    joint = replace(project.joints[0], bores=(replace(bore, window=window),))
    return replace(project, unit="inch", joints=(joint,))


def test_the_report_says_where_a_pocket_may_go() -> None:
    bore = small.corner().bores[0]
    some = placed(bore, Window("outside corner", 50.8, 38.1, 63.5))
    said = '2" from the outside corner (clear from 1-1/2" to 2-1/2"; may be off by 1/2")'
    assert said in placement(some.bores[0], some.unit)
    binds = Window(
        "outside corner", 50.8, 38.1, 57.15, Bound("pilot", "front"), Bound("screw", "it", "b")
    )
    said = 'may be off by 1/4": screw to it of the mating board)'
    assert said in placement(placed(bore, binds).bores[0], "inch")
    stated = placed(bore, Window("outside corner", 50.8, 50.8, 50.8))
    said = '2" from the outside corner (where the recipe puts it)'
    assert said in placement(stated.bores[0], "inch")
    none = placed(
        bore,
        Window(
            "outside corner",
            50.8,
            60.0,
            40.0,
            Bound(face="the inside edge"),
            Bound(face="the front"),
        ),
    )
    said = placement(none.bores[0], none.unit)
    assert "(no place is clear: the inside edge, the front)" in said
    rounded = placed(bore, Window("outside corner", 50.0, 38.1, 63.5))
    assert 'about 1-31/32" (1.969")' in placement(rounded.bores[0], rounded.unit)


def test_a_project_of_a_hundred_boards_is_told_on_a_screen(
    capsys: pytest.CaptureFixture[str],
) -> None:
    recipe = files("slantbore") / "recipes" / "kitchenette.yaml"
    assert cli.main(["check", str(recipe), "--advice-seconds", "1"]) == 0
    lines = capsys.readouterr().out.splitlines()
    boards = re.search(r"(\d+) boards", lines[-1])
    assert boards and int(boards[1]) > 100 and len(lines) <= 25
    assert lines[0].startswith("kitchenette: nothing fails") and lines[-1].startswith(lines[0])


def test_many_warnings_of_what_does_not_fail_stay_on_the_screen() -> None:
    many = [Cause((Finding("gap", "warns", f"gap {n}", f"rail {n}"),)) for n in range(40)]
    lines = printed(small.corner(), *many, stopped="6 s")
    assert len(lines) <= 25
    assert any(line.endswith("more causes; --full tells all") for line in lines)


@pytest.fixture
def bad(tmp_path: Path) -> Path:
    text = (files("slantbore") / "recipes" / "slim-mirror.yaml").read_text(encoding="utf-8")
    path = tmp_path / "bad.yaml"
    path.write_text(text.replace("swing: auto", "swing: 0"), encoding="utf-8")
    return path


def test_json_groups_the_findings_of_a_cause(bad: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", str(bad), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    numbers = [number for cause in data["causes"] for number in cause["findings"]]
    assert sorted(numbers) == list(range(len(data["findings"])))
    first = data["causes"][0]
    severities = [data["findings"][n]["severity"] for n in first["findings"]]
    assert first["severity"] == "fails" and severities.count("fails") == data["counts"]["fails"]
    assert {data["findings"][n]["rule"] for n in first["findings"]} == set(first["rules"])
    [paste] = first["paste"]
    assert paste["lines"] == ["    swing: auto"] and first["cure"]["keys"][0]["value"] == "auto"
    lines = bad.read_text(encoding="utf-8").splitlines()
    assert lines[paste["first_line"] - 1 : paste["last_line"]] == ["    swing: 0"]


def test_the_file_of_a_build_holds_all_that_is_told(
    bad: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    result = build(bad, tmp_path / "out", writers=(verdict.WRITER,))
    text = (tmp_path / "out" / "verdict.txt").read_text(encoding="utf-8")
    lines = text.splitlines()
    assert lines[0].startswith("slim mirror: 24 findings fail") and lines[-1].startswith(lines[0])
    assert "Where each pocket goes" in lines and "Order of assembly" in lines
    assert "    swing: auto" in lines and "Worth knowing" in lines
    assert len(result.causes) < len(result.findings)


@pytest.mark.skipif(sys.platform == "win32", reason="no such terminals")
@pytest.mark.parametrize("colour", [True, False])
def test_a_terminal_has_colour_unless_it_is_not_wanted(bad: Path, colour: bool) -> None:
    import pty

    parent, child = pty.openpty()
    wanted = {"TERM": "xterm-256color", "COLUMNS": "90", **({} if colour else {"NO_COLOR": "1"})}
    environment = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "FORCE_COLOR")}
    run = subprocess.Popen(
        [sys.executable, "-m", "slantbore.generators", "check", str(bad), "--full"],
        stdout=child, stderr=subprocess.DEVNULL, env=environment | wanted,
    )  # fmt: skip
    os.close(child)
    said = b""
    with suppress(OSError):  # the end of a terminal that is closed
        while part := os.read(parent, 65536):
            said += part
    assert run.wait() == 1
    text = said.decode()
    assert ("\x1b[1;31m" in text) is colour and ("\x1b[3" in text) is colour
    plainly = re.sub(r"\x1b\[[\d;]*m", "", text).replace("\r", "")
    assert "    swing: auto\n" in plainly
    assert max(map(len, plainly.splitlines())) <= 90
