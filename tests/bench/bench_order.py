"""How the search for an order of assembly grows with the number of boards.

    python -m tests.bench.bench_order        from the root, in the project's environment

A panel of boards side by side, and shelves between two sides that hang together as one assembly.
Printed per size: boards, screws, seconds, and the exponent between neighbouring sizes (seconds ~
boards^n). Target: the exponent stays below 1.4.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable

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


def panel(count: int) -> Project:
    """A top glued up of about so many boards."""
    text = (
        "name: top\nunits: mm\nstock:\n  top: {wood: cherry, thickness: 20}\nbuild:\n"
        f"  - {{design: panel, stock: top, size: 600 x {60 * count}, board_width: 60}}\n"
    )
    return plan(parse_recipe(text, "top.yaml", piece_models()))


def grown(name: str, made: Callable[[int], Project], counts: tuple[int, ...]) -> None:
    """Print a line per size."""
    before: tuple[int, float] | None = None
    for count in counts:
        project = made(count)
        spent = []
        for _ in range(3):
            start = time.process_time()
            order = assembly_order(project)
            spent.append(time.process_time() - start)
        boards, least = len(project.boards), min(spent)
        growth = ""
        if before is not None:
            exponent = math.log(least / before[1]) / math.log(boards / before[0])
            growth = f", exponent {exponent:.2f}"
        says = "an order found" if not order.stuck else "NO ORDER"
        print(
            f"{name}: {boards} boards, {len(project.bores)} screws: {least:.2f} s, {says}{growth}"
        )
        before = (boards, least)


def main() -> None:
    """Print a line per size."""
    grown("panel", panel, (38, 75, 150, 300, 600))
    grown("shelves", shelves, (6, 12, 24, 48, 96))


if __name__ == "__main__":
    main()
