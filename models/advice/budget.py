"""How long to look for what to change: for so many seconds, or for so many tries.

Seconds are for whoever waits at a screen. Files are to come out the same from the same recipe on
every machine, however busy it is, so `build` counts tries: see `usual_tries`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ..piece.project import Project

SECONDS = 2.0
"""For whoever waits for a verdict."""
CURING = 6.0
"""For whoever asks to have it cured: `bench_cures` tells how much more is found in that time."""
GLANCE = 0.1
"""What a look in closed form counts for, where tries are counted."""
_FEWEST, _MOST, _WORK = 12, 80, 4000


def usual_tries(project: Project) -> int:
    """How many tries a build makes: fewer, the more there is to lay out and to judge each time."""
    return min(_MOST, max(_FEWEST, _WORK // (1 + len(project.boards) + len(project.bores))))


@dataclass
class Budget:
    """What one search may take. It is used up as the search goes on.

    Attributes:
        most: tries that may be made; seconds that may pass, where there is a clock.
        elapsed: tells the seconds since the search began; None: tries are counted.
        tried: tries made.
        over: whether a try was refused.
    """

    most: float
    elapsed: Callable[[], float] | None = None
    tried: float = 0.0
    over: bool = False

    def spend(self, cost: float = 1.0) -> bool:
        """Whether one more try may be made; it is counted."""
        used = self.used + (cost if self.elapsed is None else 0.0)
        self.over = self.over or used > self.most
        self.tried += 0.0 if self.over else cost
        return not self.over

    @property
    def used(self) -> float:
        """Seconds, or tries, so far."""
        return self.tried if self.elapsed is None else self.elapsed()

    @property
    def said(self) -> str:
        """What it was, in words."""
        return f"{self.most:g} {'tries' if self.elapsed is None else 's'}"
