"""Does a build take the same for every board, however many there are?

    python -m tests.bench.bench_growth [CASES ...]        from the root

Builds rooms of cases of which no two are alike, each size in a process of its own, and prints per
distinct board: processor time, the memory that the build took beyond what is imported, and bytes of
the page beyond its library. The last column is the worst of the three over the smallest room's:
flat growth stays below 1.3.
"""

from __future__ import annotations

import argparse
import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from pathlib import Path

from slantbore.generators.build import build
from slantbore.generators.page.three_source import three_source
from slantbore.generators.solids import proof
from slantbore.generators.writers import writers
from slantbore.models.piece.groups import groups
from tests.bench.bench_kitchenette import HEAD, case

FLAT = 1.3


def measured(cases: int) -> Mapping[str, float]:
    """Build so many unlike cases here; what each distinct board takes: s, kB, kB."""
    formats, _ = writers(), proof.prove  # the kernel is loaded from here on
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with tempfile.TemporaryDirectory() as scratch:
        recipe, folder = Path(scratch, "cases.yaml"), Path(scratch, "cases")
        recipe.write_text(HEAD + "".join(case(i) for i in range(cases)), "utf-8")
        start = time.process_time()
        result = build(recipe, folder, None, formats)
        spent = time.process_time() - start
        page = len((folder / "preview.html").read_bytes()) - len(three_source())
    taken = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    boards = len(groups(result.project))
    return {
        "boards": boards, "seconds": spent / boards, "memory": taken / boards,
        "page": page / 1e3 / boards,
    }  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("cases", nargs="*", type=int, default=[3, 9, 27])
    parser.add_argument("--one", action="store_true", help=argparse.SUPPRESS)
    given = parser.parse_args()
    if given.one:
        print(json.dumps(measured(given.cases[0])))
        return
    first: Mapping[str, float] = {}
    worst = 0.0
    for cases in given.cases:
        command = [sys.executable, "-m", "tests.bench.bench_growth", "--one", str(cases)]
        done = subprocess.run(command, check=True, capture_output=True, text=True)
        each = json.loads(done.stdout)
        first = first or each
        worst = max(each[what] / first[what] for what in ("seconds", "memory", "page"))
        print(
            f"{cases} unlike cases, {each['boards']} distinct boards: per board "
            f"{1e3 * each['seconds']:.0f} ms, {each['memory']:.0f} kB of memory, "
            f"{each['page']:.1f} kB of page: {worst:.2f} of the smallest room"
        )
    print(f"growth per board: {worst:.2f} (at most {FLAT})")
    raise SystemExit(0 if worst <= FLAT else 1)


if __name__ == "__main__":
    main()
