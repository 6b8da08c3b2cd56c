"""What the proof of a router program has to see: faults seeded into programs that are good."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from slantbore.generators.router.moves import Move, Pass, Program
from slantbore.generators.router.proving import Proof, proven
from slantbore.generators.router.routing import Routing, Run, route
from slantbore.generators.router.simulate import Stock, run
from slantbore.models.designs import piece_models
from slantbore.models.machine.router import Machine, Router
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe
from slantbore.models.wood.cutters import usual_cutters

RECIPES = Path(__file__).parents[2] / "recipes"
CUTTERS = {cutter.number: cutter for cutter in usual_cutters()}
MACHINE = Machine()
GOUGED = "cuts into wood that should stay"
Change = Callable[[Pass], Pass]


@cache
def routed(name: str) -> Routing:
    return route(plan(read_recipe(RECIPES / f"{name}.yaml", piece_models())))


def one_run(recipe: str, name: str) -> Run:
    [found] = [one for one in routed(recipe).runs if one.program.name == name]
    return found


def proof_of(given: Run, change: Change, cell: float = 0.5) -> Proof:
    """Of a program with some of its passes changed."""
    spoiled = replace(given.program, passes=tuple(change(one) for one in given.program.passes))
    assert spoiled != given.program
    return proven(spoiled, given.laid, MACHINE, cell)


def whats(proof: Proof) -> set[str]:
    return {fault.what for _, fault in proof.faults}


def only(about: str, change: Callable[[Move], Move]) -> Change:
    """A change of the moves of one piece of work."""
    return lambda one: (
        replace(one, moves=tuple(map(change, one.moves))) if one.about.endswith(about) else one
    )


def shifted(x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Callable[[Move], Move]:
    return lambda m: replace(m, to=(m.to[0] + x, m.to[1] + y, m.to[2] + (z if m.to[2] < 1 else 0)))


GROOVED = ("drawer", "drawer left side inside up")
SHEET = ("drawer", "box sheet 1")


@pytest.mark.parametrize("way", [(0.0, 0.15), (0.0, -0.15)])
@pytest.mark.parametrize(("given", "cell"), [(GROOVED, 0.5), (SHEET, 1.0)])
def test_a_groove_a_hair_beside_its_place_is_seen(
    given: tuple[str, str], cell: float, way: tuple[float, float]
) -> None:
    """0.15 mm sideways, a third of a cell and less, with cells that lie along the wall."""
    assert GOUGED in whats(proof_of(one_run(*given), only("groove", shifted(*way)), cell))


@pytest.mark.parametrize("off", [(0.15, 0.0), (-0.15, 0.0), (0.0, 0.15), (0.0, -0.15)])
def test_an_outline_a_hair_off_is_seen(off: tuple[float, float]) -> None:
    assert GOUGED in whats(proof_of(one_run(*GROOVED), only("outline", shifted(*off))))


def test_a_pocket_a_hair_beside_its_place_is_seen() -> None:
    """The pockets lie along the board, and so along the cells."""
    given = one_run("drawer", "drawer front outside up")
    for off in (0.2, -0.2):
        assert GOUGED in whats(proof_of(given, only("pocket 1", shifted(y=off))))


@pytest.mark.parametrize(
    ("recipe", "program", "about"),
    [
        (*GROOVED, "groove"),
        (*GROOVED, "outline"),
        ("drawer", "drawer front outside up", "left side pocket 1"),
        ("drawer", "drawer front inside up", "screw hole 1"),
        ("sink-base", "sink base left side outside up", "toe kick notch"),
    ],
)
def test_work_that_is_not_done_is_seen(recipe: str, program: str, about: str) -> None:
    """Whatever a program is meant to cut and does not, or not to its depth."""
    given = one_run(recipe, program)
    assert any(one.about.endswith(about) for one in given.program.passes)
    assert given.proof.left < 1.0
    gone = proof_of(given, lambda o: replace(o, moves=()) if o.about.endswith(about) else o)
    assert gone.left > 20.0
    shallow = proof_of(given, only(about, shifted(z=1.0)))
    assert shallow.left > 5.0


def test_a_part_that_does_not_come_free_is_seen() -> None:
    """The passes that go below the top of the tabs are missing."""
    given = one_run(*GROOVED)
    thick = given.program.size[2]

    def stops(one: Pass) -> Pass:
        if one.about != "outline":
            return one
        high = tuple(m for m in one.moves if m.to[2] > MACHINE.tab[1] - thick + 0.01)
        return replace(one, moves=high)

    assert proof_of(given, stops).left > 100.0


def test_tabs_are_no_longer_than_is_said() -> None:
    """But for them the part is cut free all round: wood stands over their own length alone."""
    given = one_run(*GROOVED)
    stock = run(given.program, Stock.of(given.program.size, 0.5, 2.0), MACHINE)
    [outline] = [one for one in given.program.passes if one.about == "outline"]
    low = [m.to for m in outline.moves if m.to[2] < MACHINE.tab[1] - given.program.size[2] - 0.1]
    x0, x1 = min(x for x, _, _ in low), max(x for x, _, _ in low)
    y0, y1 = min(y for _, y, _ in low), max(y for _, y, _ in low)
    along = [((x0 + 1, x1 - 1), (y0, y0)), ((x0 + 1, x1 - 1), (y1, y1))]
    along += [((x0, x0), (y0 + 1, y1 - 1)), ((x1, x1), (y0 + 1, y1 - 1))]
    stands = 0.0
    for (a, b), (c, d) in along:
        i, j = stock.window((a - 0.3, c - 0.3), (b + 0.3, d + 0.3))
        cut = stock.heights[i, j].max(axis=1 if b > a else 0)
        stands += 0.5 * float((cut > 0.1 - given.program.size[2]).sum())
    assert 4 * MACHINE.tab[0] - 2 <= stands <= 4 * MACHINE.tab[0] + 4


def test_a_pass_that_begins_low_is_seen() -> None:
    """Between two passes of one cutter nothing lifts it but the passes themselves."""

    def ends_low(one: Pass) -> Pass:
        return replace(one, moves=one.moves[:-1])

    proof = proof_of(one_run("drawer", "drawer front outside up"), ends_low)
    assert "moves at rapid through wood" in whats(proof)

    def begins_low(one: Pass) -> Pass:
        first = one.moves[0]
        return replace(one, moves=(replace(first, to=(*first.to[:2], 1.0)), *one.moves[1:]))

    proof = proof_of(one_run("drawer", "drawer front outside up"), begins_low)
    assert "begins below the safe height" in whats(proof)


def test_a_rapid_move_through_a_tab_is_seen() -> None:
    """The last time round, at rapid: all is cut by then but what holds the part."""
    given = one_run(*GROOVED)
    [outline] = [one for one in given.program.passes if one.about == "outline"]
    deep = min(m.to[2] for m in outline.moves)
    around = [m.to for m in outline.moves if m.to[2] < deep + 1e-6]
    corners = tuple(Move(to, "rapid") for to in around)
    start = Move((*around[0][:2], MACHINE.safe), "rapid")
    more = Pass("outline again", outline.cutter, (start, *corners))
    spoiled = replace(given.program, passes=(*given.program.passes, more))
    faults = [fault for _, fault in proven(spoiled, given.laid, MACHINE).faults]
    through = [fault for fault in faults if fault.what == "moves at rapid through wood"]
    assert through and max(fault.by for fault in through) < MACHINE.tab[1] + MACHINE.spoil + 0.1


def plunged(moves: tuple[Move, ...], number: int) -> set[str]:
    made = Program("one cutter", (100.0, 100.0, 18.0), (Pass("hole", CUTTERS[number], moves),))
    return {fault.what for fault in run(made, Stock.of(made.size, 0.5), MACHINE).faults}


def test_a_drill_that_does_not_clear_its_chips_or_goes_sideways_is_seen() -> None:
    down = (Move((50.0, 50.0, 15.0), "rapid"), Move((50.0, 50.0, -6.0), "plunge"))
    assert plunged(down, 5) == set()
    once = (down[0], Move((50.0, 50.0, -12.0), "plunge"))
    assert plunged(once, 5) == {"cuts deeper than its pass"}
    aside = (*down, Move((60.0, 50.0, -6.0), "feed"))
    assert plunged(aside, 5) == {"is a drill and cuts sideways"}


def test_a_cut_deeper_than_the_cutting_part_is_seen() -> None:
    """The whole cutter that goes round the part, but for the last two millimetres of its edge."""
    given = one_run(*GROOVED)
    short = replace(CUTTERS[1], cut=given.program.size[2] - 2.0)
    proof = proof_of(given, lambda one: replace(one, cutter=short))
    assert whats(proof) == {"cuts deeper than its cutting part"}


def test_moves_wider_than_the_machine_are_seen() -> None:
    given = one_run(*GROOVED)
    for travel in ((400.0, 1300.0, 120.0), (2500.0, 100.0, 120.0), (2500.0, 1300.0, 25.0)):
        proof = proven(given.program, given.laid, replace(MACHINE, travel=travel))
        assert whats(proof) == {"moves further than the machine's travel"}


@pytest.mark.parametrize("off", [0.3, -0.3])
def test_a_zero_set_too_high_or_low_is_seen(off: float) -> None:
    """A whole program off in height: too deep into the spoil board, or the part not free."""
    given = one_run(*GROOVED)
    moves = shifted(z=2 * off)
    proof = proof_of(given, lambda one: replace(one, moves=tuple(map(moves, one.moves))))
    assert proof.left > 100.0 if off > 0 else {GOUGED} <= whats(proof)


def test_a_scratch_on_the_face_is_seen() -> None:
    """A cutter that crosses the face 0.05 mm too low, which elsewhere would be nothing."""
    given = one_run(*GROOVED)
    [groove] = [one for one in given.program.passes if one.about == "groove"]
    ways = ((60.0, 80.0, 15.0), (60.0, 80.0, -0.05), (90.0, 80.0, -0.05), (90.0, 80.0, 15.0))
    kinds = ("rapid", "feed", "feed", "rapid")
    moves = tuple(Move(to, kind) for to, kind in zip(ways, kinds, strict=True))  # type: ignore[arg-type]
    crossing = Pass("crossing", groove.cutter, moves)
    spoiled = replace(given.program, passes=(crossing, *given.program.passes))
    assert whats(proven(spoiled, given.laid, MACHINE)) == {GOUGED}


@pytest.mark.parametrize("number", [1, 2])
def test_a_smaller_ball_leaves_the_bores_floor(number: int) -> None:
    """6.35 mm and 3.175 mm in passes: no gouge, and no ridge above what is told."""
    ball = replace(CUTTERS[4], radius=6.35 / 2 / number, step_down=3.0 / number)
    flat = [cutter for cutter in CUTTERS.values() if cutter.form == "flat"]
    project = plan(read_recipe(RECIPES / "drawer.yaml", piece_models()))
    routing = route(replace(project, router=Router((*flat, ball))))
    cut = [one for run_ in routing.runs for one in run_.program.passes if one.cutter == ball]
    assert len(cut) == 8 and len(cut[0].moves) > 50
    for one in routing.runs:
        assert not one.proof.faults and one.proof.left < 1.0
