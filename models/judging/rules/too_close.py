"""Bores, screws and round holes of one board that meet or nearly meet."""

from __future__ import annotations

from collections.abc import Iterator

from ...piece.project import Bore, Finding
from ..measures import HoleNearness, Nearness
from ..study import Study
from . import BORED, Number, Rule

CODE = "too-close"


def check(study: Study) -> Iterator[Finding]:
    """Two bores or screws, or one of them and a round hole, nearer than `between` fail."""
    needed = study.project.limits.between
    near: list[tuple[Nearness | HoleNearness, Bore, str]] = [
        (p, p.first, f"comes too near {p.second.name}") for p in study.nearness
    ]
    near += [
        (p, p.bore, f"comes too near the {p.hole.name} of the {p.board.role}")
        for p in study.beside_holes
    ]
    for pair, bore, says in near:
        if pair.gap < needed - 1e-6:
            yield Finding(
                CODE,
                "fails",
                says,
                board=pair.board.name,
                joint=bore.joint,
                bore=bore.name,
                measured=max(pair.gap, 0.0),
                needed=needed,
                point=pair.point,
                solid=study.solid,
            )


def numbers(study: Study, bore: Bore) -> Iterator[Number]:
    """The distance to every other bore, screw and hole of its two boards."""
    needed = study.project.limits.between
    for pair in study.nearness:
        if bore.name in (pair.first.name, pair.second.name):
            other = pair.second if pair.first.name == bore.name else pair.first
            yield Number(f"to {other.name}, in the {pair.board.role}", pair.gap, needed)
    for beside in study.beside_holes:
        if beside.bore.name == bore.name:
            what = f"to the {beside.hole.name} of the {beside.board.role}"
            yield Number(what, beside.gap, needed)


RULE = Rule(
    CODE,
    "Two bores, screws or holes of one board too near each other",
    """Pocket bores and screws among themselves, and to round holes such as those of shelf pins. The
distance of the two axes within the board, less both radii, bounds it from below; where that is
less than `between`, which is common practice, no source, it is the distance of the two bodies
themselves. A slotted pilot counts as the one rod that encloses it.""",
    check,
    numbers,
    kinds=BORED,
    on_solids=True,
)
