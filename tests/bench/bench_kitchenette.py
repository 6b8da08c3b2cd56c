"""Does a room cost what its boards cost, and no more?

    python -m tests.bench.bench_kitchenette [--build]    from the root

Prints the time of `check` (plan and rules) and with --build of a whole build as context, and as
ratios: time per board with one, three and six cases (flat within 1.3), what the rules on boards
against boards add to a check without them (at most 0.3), and the boards that are built over the
boards that there are. The ratios do not depend on the machine.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.judging.rules import rules
from slantbore.models.judging.study import Study
from slantbore.models.piece.groups import groups
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe, read_recipe

KITCHENETTE = Path(__file__).parents[2] / "recipes" / "kitchenette.yaml"
FLAT = 1.3
ADDED = 0.3
AGAINST = ("overlap", "gap", "cut-through")
HEAD = """\
name: cases
units: mm
stock:
  case: {sheet: birch-ply-18}
  back: {sheet: plywood-1-4}
  box: {sheet: birch-ply-15}
  front: {wood: hard-maple, thickness: 19}
build:
"""


def case(number: int) -> str:
    """A case that is like no other of them: a width, drawers and a height of its own."""
    return f"""\
  - design: case
    name: case {number}
    stock: case
    size: {560 + 13 * number} x {870 + 7 * number}
    depth: {540 + 5 * number}
    toe_kick: {{height: {95 + number}, setback: 70}}
    back: {{stock: back, fit: rebate}}
    adjustable: {{shelves: 1}}
    drawers:
      stock: box
      bottom: back
      heights: [{140 + 3 * number}]
      front: {{stock: front, fit: overlay, overlap: 16, reveal: 3}}
"""


def planned(cases: int) -> Project:
    text = HEAD + "".join(case(i) for i in range(cases))
    return plan(parse_recipe(text, "cases.yaml", piece_models()))


def best(work: Callable[[], object], times: int = 3) -> float:
    """The least time of a few runs, s."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def per_board(cases: int) -> float:
    """Time to plan and check, per board, s."""
    count = len(planned(cases).boards)
    return best(lambda: judge(planned(cases))) / count


def boards_against_boards(project: Project) -> float:
    """Time of the rules on boards against boards, s; the order needs their pieces anyhow."""
    study = Study(project)
    pieces = study.convex

    def judged() -> None:
        fresh = replace(study)
        vars(fresh)["convex"] = pieces
        for code in AGAINST:
            list(rules()[code].check(fresh))

    return best(judged)


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--build", action="store_true", help="build the kitchenette as well")
    building = parser.parse_args().build

    project = plan(read_recipe(KITCHENETTE, piece_models()))
    planning = best(lambda: plan(read_recipe(KITCHENETTE, piece_models())))
    checking = best(lambda: judge(replace(project)))  # a copy: nothing is measured yet
    against = boards_against_boards(project)
    print(f"kitchenette: {len(project.boards)} boards, {len(project.bores)} bores")
    print(f"  plan {planning:.2f} s, rules {checking:.2f} s")
    share = against / (planning + checking - against)
    print(f"  boards against boards add {share:.3f} to a check without (at most {ADDED})")
    print(f"  boards built / boards: {len(groups(project)) / len(project.boards):.2f}")
    if building:
        from slantbore.generators.build import build

        with tempfile.TemporaryDirectory() as folder:
            start = time.perf_counter()
            build(KITCHENETTE, Path(folder) / "kitchenette")
            print(f"  build {time.perf_counter() - start:.1f} s")

    each = {cases: per_board(cases) for cases in (1, 3, 6)}
    for cases, seconds in each.items():
        ratio = seconds / each[1]
        print(f"{cases} unlike cases: {1e3 * seconds:.1f} ms a board, {ratio:.2f} of one case")
    worst = max(each.values()) / each[1]
    print(f"growth of time per board: {worst:.2f} (at most {FLAT})")
    raise SystemExit(0 if worst <= FLAT and share <= ADDED else 1)


if __name__ == "__main__":
    main()
