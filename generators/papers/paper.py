"""The paper that is printed on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ...models.machine.saw import PaperSize


@dataclass(frozen=True)
class Paper:
    """What is printed on, upright: width, height and margin in mm."""

    width: float
    height: float
    margin: float = 12.0

    @property
    def wide(self) -> float:
        """Between the margins, mm."""
        return self.width - 2 * self.margin


LETTER, A4 = Paper(215.9, 279.4), Paper(210.0, 297.0)
PAPERS: Mapping[PaperSize, Paper] = {"letter": LETTER, "a4": A4}
