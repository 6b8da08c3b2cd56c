"""Thousands of recipes gone wrong through `slantbore check`: no traceback, a place, and not long.

    python -m tests.bench.bench_fuzz [COUNT] [--seed N]    from the root; 5,000 by default

Prints every case that ends otherwise than with status 0, 1 or 2, that ends with 2 and no place, or
that takes more than 10 s, each with its text; then how they ended.
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
import tempfile
import time
from collections import Counter
from itertools import islice
from pathlib import Path
from types import FrameType

from slantbore.generators.cli import DEBUG
from tests.fuzz import mutants
from tests.generators.test_fuzz import checked, fault

LONG, GIVEN_UP = 10, 60  # s


class TooLong(BaseException):
    """Past what a run is given; no Exception, so that nothing takes it for its own."""


def _stop(signal: int, frame: FrameType | None) -> None:
    raise TooLong


def _traced(text: str, recipe: Path) -> str:
    """The end of the trace of a case that went wrong."""
    os.environ[DEBUG] = "1"
    try:
        return "\n".join(checked(text, recipe)[1].splitlines()[-12:])
    finally:
        del os.environ[DEBUG]


def main() -> int:
    """Run so many cases; 0 where all end well."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("count", nargs="?", type=int, default=5000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    signal.signal(signal.SIGPROF, _stop)
    ended: Counter[str] = Counter()
    longest = 0.0
    with tempfile.TemporaryDirectory() as folder:
        recipe = Path(folder) / "mutant.yaml"
        for number, text in enumerate(islice(mutants(asked.seed), asked.count)):
            start = time.process_time()
            signal.setitimer(signal.ITIMER_PROF, GIVEN_UP)  # of its own time, not of the clock
            try:
                status, said = checked(text, recipe)
                wrong = fault(status, said, recipe)
                if wrong:
                    wrong += f"\n{_traced(text, recipe)}"
            except TooLong:
                wrong = f"given up after {GIVEN_UP} s"
            finally:
                signal.setitimer(signal.ITIMER_PROF, 0)
            spent = time.process_time() - start
            longest = max(longest, spent)
            if not wrong and spent > LONG:
                wrong = f"{spent:.1f} s"
            ended["wrong" if wrong else f"status {status}"] += 1
            if wrong:
                print(f"--- case {number}: {wrong}", text, sep="\n", flush=True)
    print(f"{asked.count} cases: {dict(sorted(ended.items()))}; the longest {longest:.1f} s")
    return 1 if ended["wrong"] else 0


if __name__ == "__main__":
    sys.exit(main())
