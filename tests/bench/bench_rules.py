"""The rules of the whole kitchenette in closed form against the same questions on solids.

    python -m tests.bench.bench_rules        from the root, in the project's environment

Target: at most one tenth. The solids are built beforehand; only the questions are timed.
"""

from __future__ import annotations

import time
from dataclasses import replace

from slantbore.generators.solids.proof import prove
from slantbore.generators.solids.solids import solidify
from slantbore.models.judging.judge import judge
from tests.bench.bench_closed_form import recipe

TARGET = 0.1


def main() -> None:
    """Print both times and the ratio."""
    project = recipe("kitchenette.yaml")
    times = []
    for _ in range(3):
        fresh = replace(project)  # nothing measured yet
        start = time.perf_counter()
        judge(fresh)
        times.append(time.perf_counter() - start)
    closed = min(times)
    solids = solidify(project)
    start = time.perf_counter()
    prove(solids)
    solid = time.perf_counter() - start
    ratio = closed / solid
    print(
        f"kitchenette: {len(project.bores)} bores; every rule {closed:.2f} s, order of assembly "
        f"counted; proof on solids {solid:.2f} s: {ratio:.3f} of it "
        f"({'meets' if ratio <= TARGET else 'misses'} {TARGET})"
    )


if __name__ == "__main__":
    main()
