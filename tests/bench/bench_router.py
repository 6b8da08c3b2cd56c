"""How long is a router's program simulated, against how long it runs, and as boards grow?

    python -m tests.bench.bench_router [--kitchenette]        from the root

A panel with a groove and an opening is cut by itself, each time with twice the area. Printed:
processor time of its proof per square metre over that of the smallest panel (flat growth stays
below 2), and how many times longer than its proof the program runs. With --kitchenette also its
sheets: processor time to nest, cut and prove them over the 60 s that the workshop waits, and what
share of it the paths take.
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from slantbore.generators.router.proving import proven
from slantbore.generators.router.routing import route
from slantbore.generators.router.setup import program, setups
from slantbore.models.designs import piece_models
from slantbore.models.piece.groups import groups
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe, read_recipe
from slantbore.models.wood.cutters import router_of

KITCHENETTE = Path(__file__).parents[2] / "recipes" / "kitchenette.yaml"
FLAT, LONGER, MINUTE = 2.0, 100.0, 60.0
PANEL = """\
name: panel
units: mm
stock:
  ply: {{sheet: birch-ply-18}}
build:
  - design: free-form
    name: panel
    parts:
      panel:
        stock: ply
        length: {length}
        width: {width}
        grooves: [{{face: top face, edge: front edge, distance: 40, width: 8, depth: 6}}]
        openings: [{{length: {hole}, width: 80, from_end: 100, from_edge: 100}}]
"""


def panel(length: float, width: float) -> Project:
    text = PANEL.format(length=length, width=width, hole=length / 4)
    return plan(parse_recipe(text, "panel.yaml", piece_models()))


def simulated(project: Project) -> tuple[float, float]:
    """Least processor time of three proofs of a panel's program, and its own run time, s."""
    router = router_of(project)
    setup = setups(project, project.boards[0], router)[0]
    made = program(setup)
    assert made is not None
    spent = []
    for _ in range(3):
        start = time.process_time()
        proof = proven(made, ((setup, setup.margin),), router.machine)
        spent.append(time.process_time() - start)
        assert not proof.faults
    return min(spent), 60 * made.minutes(router.machine)


def kitchenette() -> float:
    """Time of all its programs over a minute, with the share of each stage."""
    project = plan(read_recipe(KITCHENETTE, piece_models()))
    router = router_of(project)
    start = time.process_time()
    routing = route(project)
    whole = time.process_time() - start
    start = time.process_time()
    for some in groups(project):
        setups(project, some[0], router)
    paths = time.process_time() - start
    runs = sum(run.program.minutes(router.machine) for run in routing.runs)
    print(
        f"kitchenette: {len(routing.single)} boards' programs and {len(routing.sheets)} sheets, "
        f"{runs:.0f} minutes on the machine"
    )
    print(f"  nested, cut and proven in {whole / MINUTE:.2f} of a minute (at most 1)")
    print(f"  paths {paths / whole:.2f} of it")
    return whole / MINUTE


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--kitchenette", action="store_true", help="its programs as well")
    asked = parser.parse_args().kitchenette
    simulated(panel(400, 300))  # what is loaded at first use is no part of it
    each: list[tuple[float, float]] = []
    for length, width in ((600, 300), (600, 600), (1200, 600), (1200, 1200), (2400, 1200)):
        spent, runs = simulated(panel(length, width))
        area = length * width / 1e6
        each.append((spent / area, runs / spent))
        print(
            f"{area:.2f} m2: {each[-1][0] / each[0][0]:.2f} of the smallest a square metre, "
            f"the program runs {each[-1][1]:.0f} times as long"
        )
    growth = max(one for one, _ in each) / each[0][0]
    longer = min(one for _, one in each)
    print(
        f"growth with area: {growth:.2f} (at most {FLAT}); run time over proof: {longer:.0f} "
        f"(at least {LONGER:.0f})"
    )
    good = growth <= FLAT and longer >= LONGER and not (asked and kitchenette() > 1)
    raise SystemExit(0 if good else 1)


if __name__ == "__main__":
    main()
