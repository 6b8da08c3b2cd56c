"""A screw that runs into a board that is no part of its joint."""

from __future__ import annotations

from collections.abc import Iterator

from ...maths.geometry import Vec
from ...piece.board import Board
from ...piece.project import Bore, Finding
from ..study import Study
from . import BORED, Rule

CODE = "stray-screw"


def finding(bore: Bore, board: Board, depth: float | None, point: Vec) -> Finding:
    """The finding of a screw in another board, in closed form or on the solids.

    Args:
        bore: whose screw.
        board: that it runs into.
        depth: how far it reaches in, at most (mm); None where that was not measured.
        point: of both, project's frame (mm).
    """
    return Finding(
        CODE,
        "fails",
        f"{bore.name}: its screw runs into {board.name}, which is no part of the joint",
        board=board.name,
        joint=bore.joint,
        bore=bore.name,
        measured=None if depth is None else -depth,
        needed=0.0,
        point=point,
    )


def check(study: Study) -> Iterator[Finding]:
    """Every screw with its head and tip against every board but the two of its joint."""
    for stray in study.strays:
        yield finding(stray.bore, stray.board, stray.depth, stray.point)


RULE = Rule(
    CODE,
    "A screw runs into a board that is no part of its joint",
    """Each screw, shank, tip and head, is held against every board other than the two of its
joint, where all of them stand: in closed form against the convex pieces of each board, and as a
solid by the proof. Wood in common fails. Through a mitre a screw may reach a third board; a head
that stands proud of its pocket meets a board that lies on the pocket face. What is measured is how
far the screw reaches in, below zero; the bound is a projection on a direction (textbook: separating
axes).""",
    check,
    kinds=BORED,
    hint="use a shorter screw, or move the pocket away from that board",
)
