"""Ten thousand pockets of random pieces, each held to every limit in closed form.

Run: python -m tests.bench.bench_random
"""

from __future__ import annotations

import time

from tests.generators.test_random_pieces import hold

if __name__ == "__main__":
    start = time.process_time()
    bores, walls = hold(7, 10_000)
    spent = time.process_time() - start
    print(
        f"{bores} pockets, {walls} walls, none below its limit; {1e3 * spent / bores:.1f} ms each"
    )
