"""How long planning a recipe takes where pockets fit nowhere, against the same one as it ships.

    python -m tests.bench.bench_planning    from the root, in the project's environment

The computer's time for `plan`, the good one and the failing ones in turn, some rounds; of the
ratios in each round the middle one counts. Target: at most 1.3.
"""

from __future__ import annotations

import statistics
import sys
import time
from importlib.resources import files

from slantbore.models.designs import piece_models
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe

TARGET, TIMES = 1.3, 15
HOME = files("slantbore") / "recipes"
WRONG = {
    "washroom-mirror": ("show_wall: 1/2", "hidden_wall: 1", "tip_cover: 3/8"),
    "octagon-mirror": ("show_wall: 12", "hidden_wall: 12"),
    "slim-mirror": ("show_wall: 8", "hidden_wall: 12", "show_wall: 20"),
    "drawer": ("hidden_wall: 12 mm", "hidden_wall: 7 mm"),
    "face-frame": ("show_wall: 1/2", "hidden_wall: 3/4", "tip_cover: 3/8"),
    "book-shelf": ("show_wall: 1/2", "tip_cover: 1/2", "tip_cover: 3/8"),
    "sink-base": ("show_wall: 1/2", "hidden_wall: 3/4", "tip_cover: 3/8"),
    "boot-bench": ("show_wall: 12 mm", "hidden_wall: 20 mm"),
    "kitchenette": ("show_wall: 12 mm", "hidden_wall: 14 mm", "tip_cover: 20 mm"),
}


def spent(text: str) -> tuple[float, int]:
    """Seconds of the computer for a plan, and how many joints fail in it."""
    recipe = parse_recipe(text, "recipe.yaml", piece_models())
    start = time.process_time()
    project = plan(recipe)
    return time.process_time() - start, sum(f.severity == "fails" for f in project.findings)


def main() -> int:
    """Measure each; 0 where all meet the target."""
    worst = 0.0
    for name, limits in WRONG.items():
        good = (HOME / f"{name}.yaml").read_text(encoding="utf-8")
        texts = [good, *(good.replace("\nbuild:", f"\nlimits: {{{x}}}\nbuild:", 1) for x in limits)]
        runs = [[spent(text) for text in texts] for _ in range(TIMES)]
        least = [min(run[i][0] for run in runs) for i in range(len(texts))]
        for i, limit in enumerate(limits, start=1):
            time_, fails = least[i], runs[0][i][1]
            ratio = statistics.median(run[i][0] / run[0][0] for run in runs)
            worst = max(worst, ratio if fails else 0.0)
            print(
                f"{name}, {limit}: {least[0] * 1e3:.0f} ms, {fails} joints failing "
                f"{time_ * 1e3:.0f} ms: {ratio:.2f} times"
            )
    print(f"at most {worst:.2f} times: {'meets' if worst <= TARGET else 'misses'} {TARGET}")
    return int(worst > TARGET)


if __name__ == "__main__":
    sys.exit(main())
