"""A bore that leaves too little wood to a face or a cut."""

from __future__ import annotations

from collections.abc import Iterator

from ..project import Bore, Finding
from ..study import Study
from . import Number, Rule

CODE = "thin-wall"


def check(study: Study) -> Iterator[Finding]:
    """Too little wood fails toward a face that shows, and warns toward one that does not."""
    for wall in study.thinnest(in_mate=False):
        needed = study.needed(wall)
        if not wall.out and wall.gap < needed - 1e-6:
            finding = Finding(
                CODE,
                "fails" if wall.seen == "show" else "warns",
                f"the {wall.body} leaves too little wood to the {wall.name}",
                board=wall.board.name,
                joint=wall.bore.joint,
                bore=wall.bore.name,
                face=wall.name,
                measured=max(wall.gap, 0.0),
                needed=needed,
                point=wall.point,
            )
            yield study.remedied(finding, wall.bore)


def numbers(study: Study, bore: Bore) -> Iterator[Number]:
    """Every wall of the bore in its own board."""
    for wall in study.walls:
        if wall.bore.name == bore.name and not wall.in_mate:
            what = f"{wall.body} to the {wall.name}"
            says = "a lower bound" if wall.cut else ""
            yield Number(what, wall.gap, study.needed(wall), "mm", says)


RULE = Rule(
    CODE,
    "Too little wood between a bore and a face",
    """The same measure as for a breakout, held against `show_wall` toward a face that shows and
`hidden_wall` toward any other. To a rebate, groove or opening the measure is the largest distance
to one of the cut's own planes: a certified lower bound, equal to the truth beside a single plane.
The limits are common practice, no source.""",
    check,
    numbers,
)
