"""A board that its cuts leave in several pieces."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ...maths.geometry import Vec, vec
from ...piece.board import Board
from ...piece.contact import hanging_together
from ...piece.convex import Convex, shape
from ...piece.project import Finding
from ..study import Study
from . import Rule

CODE = "cut-through"


def check(study: Study) -> Iterator[Finding]:
    """A board that falls apart when it is cut fails; bores are left to the solids."""
    known: dict[object, bool] = {}
    for board in study.project.boards:
        parts = study.convex[board.name]
        if len(parts) > 1:
            like = shape(board)
            if like not in known:
                known[like] = len(hanging_together(parts)) > 1
            if known[like]:
                yield told(board, "cuts", _smallest(parts))


def told(board: Board, by: str, point: Vec) -> Finding:
    """The finding of a board that falls apart, found in closed form or on solids.

    Args:
        board: placed.
        by: "cuts", or "cuts and bores".
        point: in the smallest of its pieces, project's frame (mm).
    """
    cuts = " and the ".join(cut.name for cut in board.cuts)
    what = f"the {cuts}" if by == "cuts" else f"its {by}"
    return Finding(
        CODE,
        "fails",
        f"{board.name} falls apart: {what} part it",
        board=board.name,
        point=point,
    )


def _smallest(parts: Sequence[Convex]) -> Vec:
    corners = [part.corners for part in hanging_together(parts)[-1]]
    return vec(np.concatenate(corners).mean(axis=0))


RULE = Rule(
    CODE,
    "A board that falls apart when it is cut",
    """A board without what its cuts take away is a few convex pieces. They hang together where two
of them share some area of a face (textbook: clipping by half-planes); more than one group fails.
Bores that break out may part a board as well: that is told by `build`, which counts the solids
that the kernel leaves.""",
    check,
    hint="make its cuts less deep or less wide, keep its pockets within it, or cut it larger",
)
