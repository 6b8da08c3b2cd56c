"""A bore that leaves too little wood to a face or a cut."""

from __future__ import annotations

from collections.abc import Iterator

from ...piece.project import Bore, Finding, Severity
from ..study import Study
from . import BORED, Number, Rule, wall_finding, wall_numbers

CODE = "thin-wall"


def check(study: Study) -> Iterator[Finding]:
    """Too little wood fails toward a face that shows; toward any other where the drill wanders."""
    wander = study.project.limits.wander
    for wall in study.thinnest(in_mate=False):
        if not wall.out and wall.gap < study.needed(wall) - 1e-6:
            unsure = wall.gap < wander - 1e-6
            severity: Severity = "fails" if unsure or wall.seen == "exposed" else "warns"
            said = f"the {wall.body} leaves too little wood to the {wall.name}"
            if unsure and wall.seen != "exposed":
                said += ", less than a drill may wander"
            yield wall_finding(study, CODE, severity, said, wall)


def numbers(study: Study, bore: Bore) -> Iterator[Number]:
    """Every wall of the bore in its own board."""
    return wall_numbers(study, bore, in_mate=False)


RULE = Rule(
    CODE,
    "Too little wood between a bore and a face",
    """The same measure as for a breakout, held against `show_wall` toward a face that shows and
`hidden_wall` toward any other. Less than `hidden_wall` warns, for what nobody sees is weak rather
than wrong, down to `wander`, how far a drill may run off its line: a wall thinner than that, 0.5 mm
if the recipe states no other, may be no wall at all and fails toward every face. The measure is the
distance to the face itself, or to the wood that a rebate, groove or opening takes away. The limits
are common practice, no source.""",
    check,
    numbers,
    kinds=BORED,
    on_solids=True,
)
