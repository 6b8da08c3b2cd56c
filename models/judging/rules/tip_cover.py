"""A screw's tip near a face of the mating board, or out through it."""

from __future__ import annotations

from collections.abc import Iterator

from ...piece.project import Bore, Finding
from ..study import Study
from . import BORED, Number, Rule, wall_finding, wall_numbers

CODE = "tip-cover"


def check(study: Study) -> Iterator[Finding]:
    """A screw that lacks cover in the mating board fails: it shows, or it scratches a hand."""
    for wall in study.thinnest(in_mate=True):
        if wall.gap < study.needed(wall) - 1e-6:
            says = "comes out of" if wall.out else "comes too near"
            said = f"the {wall.body} {says} the {wall.name} of the {wall.board.role}"
            yield wall_finding(study, CODE, "fails", said, wall)


def numbers(study: Study, bore: Bore) -> Iterator[Number]:
    """Every wall of the bore and its screw in the mating board."""
    return wall_numbers(study, bore, in_mate=True)


RULE = Rule(
    CODE,
    "Too little wood over a screw's tip",
    """The screw within the mating board, as a cylinder of its nominal diameter up to the tip, keeps
`tip_cover` to every face but the one it enters, and to every rebate, groove and opening. The real
tip tapers, so the measure errs to the safe side. The limit is common practice, no source.""",
    check,
    numbers,
    kinds=BORED,
    on_solids=True,
)
