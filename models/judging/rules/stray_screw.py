"""A screw that runs into a board that is no part of its joint."""

from __future__ import annotations

from collections.abc import Iterator

from ...piece.project import Finding
from ..study import Study
from . import BORED, Rule

CODE = "stray-screw"


def check(study: Study) -> Iterator[Finding]:
    """Every screw with its head and tip against every board but the two of its joint."""
    for stray in study.strays:
        bore, board = stray.bore, stray.board
        yield Finding(
            CODE,
            "fails",
            f"{bore.name}: its screw runs into {board.name}, which is no part of the joint",
            board=board.name,
            joint=bore.joint,
            bore=bore.name,
            measured=-stray.depth,
            needed=0.0,
            point=stray.point,
            solid=study.solid,
        )


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
    on_solids=True,
)
