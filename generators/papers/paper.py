"""The paper that is printed on."""

from __future__ import annotations

from dataclasses import dataclass

from ...models.words.lengths import Unit


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


def paper_for(unit: Unit) -> Paper:
    """Letter where the recipe speaks inches, A4 where it speaks millimetres."""
    return LETTER if unit == "inch" else A4
