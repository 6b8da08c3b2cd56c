"""A cold `slantbore check` against a bare import of the CAD package.

    python -m tests.bench.bench_cold_check        from the root, in the project's environment

Each is a fresh process, the two in turn, and the least time of several counts. Target: at most one
quarter.
"""

from __future__ import annotations

import subprocess
import sys
import time
from importlib.resources import files

TARGET, TIMES = 0.25, 7
RECIPE = str(files("slantbore") / "recipes" / "washroom-mirror.yaml")
CHECK = [sys.executable, "-m", "slantbore.generators", "check", RECIPE]
IMPORT = [sys.executable, "-c", "import cadquery"]


def seconds(command: list[str]) -> float:
    """How long a process takes from start to end."""
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def main() -> None:
    pairs = [(seconds(CHECK), seconds(IMPORT)) for _ in range(TIMES)]
    check, bare = (min(times) for times in zip(*pairs, strict=True))
    ratio = check / bare
    print(
        f"cold check {check:.2f} s, import cadquery {bare:.2f} s: {ratio:.2f} times "
        f"({'meets' if ratio <= TARGET else 'misses'} {TARGET})"
    )


if __name__ == "__main__":
    main()
