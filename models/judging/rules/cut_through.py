"""A board that its cuts leave in several pieces."""

from __future__ import annotations

from collections.abc import Iterator

from ...piece.project import Finding
from ..study import Study
from . import Rule

CODE = "cut-through"


def check(study: Study) -> Iterator[Finding]:
    """A board that falls apart when it is cut fails; bores are left to the solids."""
    for parted in study.parted:
        board = parted.board
        cuts = " and the ".join(cut.name for cut in board.cuts)
        what = f"the {cuts}" if parted.by == "cuts" else f"its {parted.by}"
        yield Finding(
            CODE,
            "fails",
            f"{board.name} falls apart: {what} part it",
            board=board.name,
            point=parted.point,
            solid=study.solid,
        )


RULE = Rule(
    CODE,
    "A board that falls apart when it is cut",
    """A board without what its cuts take away is a few convex pieces. They hang together where two
of them share some area of a face (textbook: clipping by half-planes); more than one group fails.
Bores that break out may part a board as well: that is told by `build`, which counts the solids
that the kernel leaves.""",
    check,
    hint="make its cuts less deep or less wide, keep its pockets within it, or cut it larger",
    on_solids=True,
)
