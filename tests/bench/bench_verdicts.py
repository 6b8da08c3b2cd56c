"""Is `check` ever contradicted by `build`? Random recipes of every design and their neighbours.

    python -m tests.bench.bench_verdicts [COUNT] [--seed N]    from the root; 300 builds by default

Every recipe that is not refused is planned, judged, made as solids and proven. Prints each finding
that fails on the solids and was not said in closed form, with the recipe, and how many there were.
"""

from __future__ import annotations

import argparse
import sys
import time

from tests.generators.test_random_pieces import texts, unsaid


def main() -> int:
    """Build so many recipes; 0 where check said all that build found."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("count", nargs="?", type=int, default=300)
    parser.add_argument("--seed", type=int, default=11)
    asked = parser.parse_args()
    built = refused = wrong = 0
    start = time.perf_counter()
    for text in texts(asked.seed):
        wrongs: list[object] | None
        try:
            found = unsaid(text)
            wrongs = None if found is None else [*found]
        except Exception as error:  # a defect counts as well, and the rest is still to be seen
            wrongs = [f"{type(error).__name__}: {error}"]
        if wrongs is None:
            refused += 1
            continue
        built += 1
        if wrongs:
            wrong += 1
            print(f"--- build {built}", *wrongs, text, sep="\n", flush=True)
        if built == asked.count:
            break
    spent = time.perf_counter() - start
    print(
        f"{built} builds ({refused} recipes refused), {wrong} with what check did not say; "
        f"{spent / built:.2f} s each"
    )
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
