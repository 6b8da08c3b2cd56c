"""What faces of boards are called, and how they are seen, in more than one design."""

from __future__ import annotations

from ..maths.geometry import Vec
from ..piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Seen, Side

UP: Vec = (0.0, 0.0, 1.0)
LYING: dict[Side, str] = {TOP: "upper face", BOTTOM: "underside"}


def on_edge(top: str, bottom: str) -> dict[Side, str]:
    """Names of a board that stands on its front edge, by those of its two faces."""
    return {TOP: top, BOTTOM: bottom, FRONT: "lower edge", BACK: "upper edge"}


def on_end(top: str, bottom: str, *, turned: bool = False) -> dict[Side, str]:
    """Names of a board that stands on its left end, or turned about on its right one."""
    low, high = (RIGHT, LEFT) if turned else (LEFT, RIGHT)
    return {TOP: top, BOTTOM: bottom, low: "lower end", high: "upper end"}


def hidden(*sides: Side) -> dict[Side, Seen]:
    """Sides that nobody sees once the piece stands."""
    return dict.fromkeys(sides, "concealed")


ENDS = hidden(LEFT, RIGHT)
BEHIND = hidden(BACK, LEFT, RIGHT)
COVERED = BEHIND | hidden(BOTTOM, FRONT)
INNER: dict[Side, Seen] = {
    TOP: "semi-exposed",
    BOTTOM: "semi-exposed",
    FRONT: "semi-exposed",
    BACK: "semi-exposed",
    **ENDS,
}
