"""A screw's tip near a face of the mating board, or out through it."""

from __future__ import annotations

from collections.abc import Iterator

from ..project import Bore, Finding
from ..study import Study
from . import Number, Rule

CODE = "tip-cover"


def check(study: Study) -> Iterator[Finding]:
    """A screw that lacks cover in the mating board fails: it shows, or it scratches a hand."""
    for wall in study.thinnest(in_mate=True):
        needed = study.needed(wall)
        if wall.gap < needed - 1e-6:
            says = "comes out of" if wall.out else "comes too near"
            finding = Finding(
                CODE,
                "fails",
                f"the {wall.body} {says} the {wall.name} of the {wall.board.role}",
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
    """Every wall of the bore and its screw in the mating board."""
    for wall in study.walls:
        if wall.bore.name == bore.name and wall.in_mate:
            what = f"{wall.body} to the {wall.name} of the {wall.board.role}"
            says = "a lower bound" if wall.cut else ""
            yield Number(what, wall.gap, study.needed(wall), "mm", says)


RULE = Rule(
    CODE,
    "Too little wood over a screw's tip",
    """The screw within the mating board, as a cylinder of its nominal diameter up to the tip, keeps
`tip_cover` to every face but the one it enters, and to every rebate, groove and opening. The real
tip tapers, so the measure errs to the safe side. The limit is common practice, no source.""",
    check,
    numbers,
)
