"""How soon `check` says that a recipe fails, against the same recipe where nothing fails.

    python -m tests.bench.bench_verdict_first    from the root, in the project's environment

The computer's time from a recipe's text to the first line that is printed, the good one and the
failing one in turn; the least of several counts. What to change is looked for after that line.
Target: at most 1.3.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path

from slantbore.generators.pipeline import Pipeline
from slantbore.generators.telling.printed import opening, plain

TARGET, TIMES = 1.3, 7
HOME = files("slantbore") / "recipes"


def recipes() -> Mapping[str, tuple[str, str]]:
    """Recipes that ship, each as it is and gone wrong."""
    slim, sink, kitchen, shelf = (
        (HOME / f"{name}.yaml").read_text(encoding="utf-8").rstrip() + "\n"
        for name in ("slim-mirror", "sink-base", "kitchenette", "book-shelf")
    )
    screw = "    changes: {every joint: {screw: %s}}\n"
    thick = "\nlimits: {hidden_wall: 14 mm}\nbuild:"
    return {
        "slim mirror, square pockets": (slim, slim.replace("swing: auto", "swing: 0")),
        "sink base, long screws": (sink + screw % "1-1/4", sink + screw % "2"),
        "kitchenette, thick walls": (kitchen, kitchen.replace("\nbuild:", thick, 1)),
        "book-shelf, long screws": (shelf + screw % "1-1/4", shelf + screw % "2"),
    }


def verdict(text: str) -> tuple[float, str]:
    """Seconds of the computer until the first line stands there, and the line."""
    start = time.process_time()
    made = Pipeline(Path("recipe.yaml"), text)
    line = plain(opening(made.project, made.judged))
    return time.process_time() - start, line.strip()


def main() -> int:
    """Measure each pair; 0 where all meet the target."""
    met = True
    for name, pair in recipes().items():
        runs = [[verdict(text) for text in pair] for _ in range(TIMES)]
        (_, good), (_, bad) = runs[0]
        assert "nothing fails" in good and "nothing fails" not in bad, (good, bad)
        times = [min(run[which][0] for run in runs) for which in (0, 1)]
        ratio = times[1] / times[0]
        met = met and ratio <= TARGET
        print(
            f"{name}: {times[0]:.2f} s, failing {times[1]:.2f} s: {ratio:.2f} times "
            f"({'meets' if ratio <= TARGET else 'misses'} {TARGET})"
        )
    return int(not met)


if __name__ == "__main__":
    sys.exit(main())
