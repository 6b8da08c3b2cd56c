"""Two boards that share wood."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ...maths.geometry import Array
from ...piece.contact import Overlap
from ...piece.convex import joined_box
from ...piece.project import Finding
from ...words.lengths import format_length
from ..study import Study
from . import Rule

CODE = "overlap"


def check(study: Study) -> Iterator[Finding]:
    """Two boards that stand in one place in part fail, of one piece or of two."""
    return (told(study, overlap) for overlap in study.overlaps)


def told(study: Study, overlap: Overlap) -> Finding:
    """The finding of an overlap, measured in closed form or on solids."""
    project = study.project
    deep = format_length(overlap.depth, project.unit)
    first, second = (project.board_named[name] for name in (overlap.first, overlap.second))
    if first.piece == second.piece:
        remedy = f"move or shorten {first.name} or {second.name} until they only touch"
    else:
        remedy = _moved(study, first.piece, second.piece)
    return Finding(
        CODE,
        "fails",
        f"{first.name} and {second.name} run into each other by {deep}",
        board=first.name,
        measured=-overlap.depth,
        needed=0.0,
        remedy=remedy,
        point=overlap.point,
    )


def _moved(study: Study, stays: str, moves: str) -> str:
    """The shortest way along the floor plan that takes one piece out of another."""
    a, b = (_box(study, piece) for piece in (stays, moves))
    ways = {
        "to the right": a[1, 0] - b[0, 0],
        "to the left": b[1, 0] - a[0, 0],
        "to the back": a[1, 1] - b[0, 1],
        "to the front": b[1, 1] - a[0, 1],
    }
    way = min(ways, key=lambda word: round(ways[word], 6))
    far = format_length(ways[way], study.project.unit)
    return f"move {moves} {far} {way} (its `at`): there it stands clear of {stays}"


def _box(study: Study, piece: str) -> Array:
    return np.array(
        joined_box(
            part
            for board in study.project.boards
            if board.piece == piece
            for part in study.convex[board.name]
        )
    )


RULE = Rule(
    CODE,
    "Two boards share wood",
    """Every board without its cuts is a few convex pieces, bores not regarded. Two convex pieces
share wood unless a face normal of either, or the product of two edges, tells them apart (textbook:
separating axes); the least overlap along any of these is how far one would have to move. More than
0.000001 mm fails, within a piece of furniture or between two that the recipe sets too close.
`build` asks the kernel the same of the bored solids.""",
    check,
)
