"""Two boards that share wood."""

from __future__ import annotations

from collections.abc import Iterator

from ...piece.project import Finding
from ...words.lengths import format_length
from ..study import Study
from . import Rule

CODE = "overlap"


def check(study: Study) -> Iterator[Finding]:
    """Two boards that stand in one place in part fail, of one piece or of two."""
    for overlap in study.overlaps:
        deep = format_length(overlap.depth, study.project.unit)
        yield Finding(
            CODE,
            "fails",
            f"{overlap.first} and {overlap.second} run into each other by {deep}",
            board=overlap.first,
            measured=-overlap.depth,
            needed=0.0,
            point=overlap.point,
            solid=study.solid,
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
    kinds=frozenset(("place",)),
    hint="move or shorten one of the two until they only touch",
    on_solids=True,
)
