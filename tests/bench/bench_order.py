"""How the search for an order of assembly grows with the number of boards.

    python -m tests.bench.bench_order        from the root, in the project's environment

Shelves between two sides hang together as one assembly, so all its boards hinder each other.
Printed per size: boards, screws, seconds, and the exponent between neighbouring sizes (seconds ~
boards^n).
"""

from __future__ import annotations

import math
import time

from slantbore.models.designs import piece_models
from slantbore.models.judging.order import assembly_order
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe


def shelves(count: int) -> Project:
    """A tall book-shelf of so many shelves with edgings, one assembly of about 2 n boards."""
    heights = ", ".join(str(60 + 300 * i) for i in range(count))
    text = (
        "name: stack\nunits: mm\nstock:\n  board: {sheet: plywood-3-4}\n"
        "  edge: {wood: cherry, thickness: 20}\nbuild:\n"
        "  - design: edged-shelf\n    stock: board\n    edging_stock: edge\n    length: 700\n"
        "    depth: 300\n    edges: [front]\n    edging_width: 40\n"
        f"    sides: {{stock: board, height: {300 * count + 60}, shelves: [{heights}]}}\n"
    )
    return plan(parse_recipe(text, "stack.yaml", piece_models()))


def main() -> None:
    """Print a line per size."""
    before: tuple[int, float] | None = None
    for count in (6, 12, 24, 48):
        project = shelves(count)
        start = time.perf_counter()
        order = assembly_order(project)
        spent = time.perf_counter() - start
        boards = len(project.boards)
        growth = ""
        if before is not None:
            exponent = math.log(spent / before[1]) / math.log(boards / before[0])
            growth = f", exponent {exponent:.2f}"
        says = "an order found" if not order.stuck else "NO ORDER"
        print(f"{boards} boards, {len(project.bores)} screws: {spent:.2f} s, {says}{growth}")
        before = (boards, spent)


if __name__ == "__main__":
    main()
