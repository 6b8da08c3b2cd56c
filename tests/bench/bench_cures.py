"""Failing recipes over all designs: how many findings get a cure, and whether it does what it says.

    python -m tests.bench.bench_cures [COUNT] [--seed N]    from the root; 200 by default

Looks as long as `slantbore cure` does (--seconds). Prints the share by rule of the findings that
fail or warn, each cure that fails once it is pasted, and with --show the recipes that get none.
Target: 95 of 100 findings with a cure, every cure good.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Callable
from itertools import islice

from slantbore.models.advice.budget import CURING, Budget
from tests.cures import failing, told, wrong

TARGET = 0.95


def _clock() -> Callable[[], float]:
    """The computer's seconds since it was first asked for."""
    times: list[float] = []

    def elapsed() -> float:
        times.append(time.process_time())
        return times[-1] - times[0]

    return elapsed


def main() -> int:
    """Try so many; 0 where the target is met and no cure fails."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("count", nargs="?", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=CURING)
    parser.add_argument("--show", action="store_true")
    asked = parser.parse_args()
    cured: Counter[str] = Counter()
    bare: Counter[str] = Counter()
    bad = stopped = 0
    for number, one in enumerate(islice(failing(asked.seed), asked.count)):
        budget = Budget(asked.seconds, _clock())
        found = [cause for cause in told(one, budget) if cause.severity != "notes"]
        stopped += budget.over
        lacking = [cause for cause in found if not cause.paste]
        for cause in found:
            count = cured if cause.paste else bare
            count.update(f.rule for f in cause.findings if f.severity != "notes")
            fault = wrong(one, cause) if cause.paste else ""
            if fault and cause.cure:
                bad += 1
                print(f"--- {number}: {cause.cure.says}: {fault}", one.text, sep="\n", flush=True)
        if asked.show and lacking:
            said = "; ".join(f"{c.findings[0].rule}: {c.findings[0].message}" for c in lacking)
            print(f"--- {number}: {'stopped, ' * budget.over}no cure of {said}", one.text, sep="\n")
    for rule in sorted(cured | bare):
        print(f"{rule:16} {cured[rule]:5} of {cured[rule] + bare[rule]:5} cured")
    whole = cured.total() + bare.total()
    share = cured.total() / whole
    print(
        f"{asked.count} recipes, {whole} findings, {share:.1%} with a cure, {bad} cures that fail, "
        f"{stopped} searches broken off: {'meets' if share >= TARGET and not bad else 'misses'} "
        f"{TARGET:.0%}"
    )
    return int(share < TARGET or bad > 0)


if __name__ == "__main__":
    sys.exit(main())
