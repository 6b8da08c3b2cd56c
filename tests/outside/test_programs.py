"""Router programs through an interpreter of RS274/NGC that is not ours.

Source: LinuxCNC's stand-alone interpreter `rs274`, of Debian's package linuxcnc-uspace. CI puts it
at RS274; where it is missing these tests are skipped, in CI they fail.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from slantbore.generators.router.findings import routing_findings
from slantbore.generators.router.moves import Move, Pass, Program, text
from slantbore.generators.router.proving import proven
from slantbore.generators.router.routing import Routing, Run, route
from slantbore.models.designs import piece_models
from slantbore.models.machine.router import Machine
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe
from slantbore.models.wood.cutters import usual_cutters

RECIPES = Path(__file__).parents[2] / "recipes"
ALL = sorted(path.stem for path in RECIPES.glob("*.yaml"))
INTERPRETER = os.environ.get("RS274") or shutil.which("rs274") or ""
CUTTERS = {cutter.number: cutter for cutter in usual_cutters()}
MACHINE = Machine()

interpreter = pytest.mark.skipif(
    not INTERPRETER and not os.environ.get("CI"),
    reason="no RS274/NGC interpreter here: Debian's linuxcnc-uspace has one",
)


def interpreted(program: Program, unit: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return run_text(text(program, MACHINE, unit), folder)  # type: ignore[arg-type]


def run_text(said: str, folder: Path) -> subprocess.CompletedProcess[str]:
    assert INTERPRETER, "CI has to fetch the interpreter, see .ci/run"
    code, table = folder / "p.ngc", folder / "tool.tbl"
    code.write_text(said, encoding="ascii")
    # The interpreter reads its tool table in inches.
    rows = [f"T{n} P{n} Z0 D{2 * c.radius / 25.4:.5f}" for n, c in CUTTERS.items()]
    table.write_text("\n".join(rows) + "\n", encoding="ascii")
    return subprocess.run(
        [INTERPRETER, "-t", str(table), "-g", str(code)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip


MOVE = re.compile(r"STRAIGHT_(TRAVERSE|FEED)\((-?[\d.]+), (-?[\d.]+), (-?[\d.]+)")


def canonical(said: str, like: Program) -> Program:
    """The interpreter's own moves as a program, in millimetres."""
    assert "ARC" not in said  # no curves: nothing for planes and directions to be wrong about
    passes: list[Pass] = []
    per, number = 1.0, 0
    for line in said.splitlines():
        if "USE_LENGTH_UNITS" in line:
            per = 25.4 if "INCHES" in line else 1.0
        change = re.search(r"SELECT_TOOL\((\d+)\)", line)
        if change:
            number = int(change[1])
            passes.append(Pass("read back", CUTTERS[number], ()))
        move = MOVE.search(line)
        if move and passes:
            x, y, z = (float(value) * per for value in move.groups()[1:])
            kind = "rapid" if move[1] == "TRAVERSE" else "feed"
            last = passes[-1]
            moves = (*last.moves, Move((x, y, z), kind))  # type: ignore[arg-type]
            passes[-1] = replace(last, moves=moves)
    return replace(like, passes=tuple(passes))


@pytest.fixture(scope="module", params=ALL)
def shipped(request: pytest.FixtureRequest) -> tuple[Project, Routing]:
    """Each recipe that ships, routed once for all that is asked of it."""
    project = plan(read_recipe(RECIPES / f"{request.param}.yaml", piece_models()))
    return project, route(project)


def test_every_program_of_every_recipe_is_proven(shipped: tuple[Project, Routing]) -> None:
    project, routing = shipped
    assert routing.runs
    for one in routing.runs:
        assert one.proof.faults == (), one.program.name
        assert one.proof.gouge <= 0.1 and one.proof.left < 1.0, one.program.name
    found = routing_findings(project, routing)
    assert {finding.severity for finding in found} <= {"notes"}
    # Every set-up that a cutter does anything to has its program, every sheet part its sheet.
    cut = [setup for faces in routing.boards.values() for setup in faces if setup.routed]
    assert len(routing.single) == len(cut)
    assert not [board for nest in routing.nests for board in nest.left_out]


@interpreter
def test_every_program_runs_in_the_interpreter(
    shipped: tuple[Project, Routing], tmp_path: Path
) -> None:
    project, routing = shipped
    for one in routing.runs:
        done = interpreted(one.program, project.unit, tmp_path)
        assert done.returncode == 0, done.stdout[-500:] + done.stderr


@interpreter
@pytest.mark.parametrize("unit", ["inch", "mm"])
def test_the_interpreters_own_moves_leave_the_board(unit: str, tmp_path: Path) -> None:
    """Not our text but what another program makes of it is run on the stock."""
    project = plan(read_recipe(RECIPES / "washroom-mirror.yaml", piece_models()))
    one = route(project).single[0]
    done = interpreted(one.program, unit, tmp_path)
    back = canonical(done.stdout, one.program)
    assert sum(len(p.moves) for p in back.passes) > 100
    proof = proven(back, one.laid, MACHINE)
    assert not proof.faults and proof.gouge <= 0.1 and proof.left < 1.0


@interpreter
def test_the_interpreter_takes_each_cutters_length(tmp_path: Path) -> None:
    """After every change the length of the cutter that was changed to, and no other."""
    project = plan(read_recipe(RECIPES / "washroom-mirror.yaml", piece_models()))
    one = route(project).single[0]
    said = interpreted(one.program, "mm", tmp_path).stdout.splitlines()
    changes = [i for i, line in enumerate(said) if "CHANGE_TOOL" in line]
    assert len(changes) == len(one.program.cutters) > 1
    for start in changes:
        after = said[start : start + 60]
        length = next(i for i, line in enumerate(after) if "USE_TOOL_LENGTH_OFFSET" in line)
        move = next(i for i, line in enumerate(after) if MOVE.search(line))
        assert length < move


@interpreter
def test_the_interpreter_refuses_what_is_wrong(tmp_path: Path) -> None:
    project = plan(read_recipe(RECIPES / "washroom-mirror.yaml", piece_models()))
    program = route(project).single[0].program
    unknown = replace(program.passes[0].cutter, number=99)
    wrong = replace(program, passes=(replace(program.passes[0], cutter=unknown),))
    assert interpreted(wrong, "mm", tmp_path).returncode != 0
    still = replace(program.passes[0].cutter, feed=0.0, plunge=0.0)
    wrong = replace(program, passes=(replace(program.passes[0], cutter=still),))
    assert interpreted(wrong, "mm", tmp_path).returncode != 0


# --- text that is wrong --------------------------------------------------------------------------


def left_by(said: str, run: Run, folder: Path, lowered: float = 0.0) -> tuple[set[str], float]:
    """What the proof says of what the interpreter makes of a text; lowered if its zero is below."""
    done = run_text(said, folder)
    assert done.returncode == 0, done.stdout[-300:]
    back = canonical(done.stdout, run.program)
    low = (
        replace(p, moves=tuple(replace(m, to=(*m.to[:2], m.to[2] - lowered)) for m in p.moves))
        for p in back.passes
    )
    proof = proven(replace(back, passes=tuple(low)), run.laid, MACHINE)
    return {fault.what for _, fault in proof.faults}, proof.left


@pytest.fixture(scope="module")
def rail() -> Run:
    project = plan(read_recipe(RECIPES / "washroom-mirror.yaml", piece_models()))
    return route(project).single[0]


@interpreter
def test_zero_on_the_spoil_board_is_the_same_cut_from_below(rail: Run, tmp_path: Path) -> None:
    thick = rail.program.size[2]
    said = text(rail.program, replace(MACHINE, zero="spoil board"), "mm")
    assert left_by(said, rail, tmp_path, thick) == (set(), 0.0)
    # Taken for a zero on top of the stock it cuts nothing.
    faults, left = left_by(said, rail, tmp_path)
    assert left > 1000.0
    # And the other way round it goes through stock, rapid moves and all.
    faults, _ = left_by(text(rail.program, MACHINE, "mm"), rail, tmp_path, thick)
    assert {"goes too deep into the spoil board", "moves at rapid through wood"} <= faults


@interpreter
@pytest.mark.parametrize(
    ("pattern", "instead", "what"),
    [
        (r"^G21$", "G20", "runs out of the stock"),
        (r"^T3 M6$", "T1 M6", "cuts into wood that should stay"),
        (r"^G0 Z15$", "(no way up)", "moves at rapid through wood"),
        (r"^G1 ", "G0 ", "moves at rapid through wood"),
        (r"Z-3\.175", "Z-6.35", "cuts deeper than its pass"),
        (r"^G90 ", "G91 ", "runs out of the stock"),
    ],
)
def test_a_text_that_is_wrong_is_refuted(
    rail: Run, tmp_path: Path, pattern: str, instead: str, what: str
) -> None:
    """Unit, cutter, retreat, kind of move, depth and mode, each spoiled in a good text."""
    said = text(rail.program, MACHINE, "mm")
    assert left_by(said, rail, tmp_path) == (set(), 0.0)
    spoiled = re.sub(pattern, instead, said, flags=re.MULTILINE)
    assert spoiled != said
    faults, _ = left_by(spoiled, rail, tmp_path)
    assert what in faults


def test_programs_use_few_words_and_short_lines(rail: Run) -> None:
    """Straight moves alone, every comment within what controls read, whatever the names."""
    long = "a very long name of a board " * 12
    program = replace(rail.program, name=long, notes=(f"({long})", "ünïcode"))
    lines = text(program, MACHINE, "mm").splitlines()
    assert max(map(len, lines)) <= 120 and all(line.isascii() for line in lines)
    for line in lines:
        if line.startswith("("):
            assert line.endswith(")") and line.count("(") == line.count(")") == 1
        else:
            assert re.fullmatch(
                r"G2[01]|G90 G17 G94 G40 G49 G80 G54|T\d+ M6|G43 H\d+|S\d+ M3|G4 P\d+|M5|M30"
                r"|G[01]( [XYZ]-?[\d.]+)+( F[\d.]+)?",
                line,
            )
