"""A driver that cannot come down a bore's axis, whatever is built first."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ...piece.lever import Lever, lever
from ...piece.project import Bore, Finding
from ...wood.tables import bits, drivers
from ...words.lengths import write_length
from ..reach import hindrances
from ..study import Study
from . import Number, Rule

CODE = "out-of-reach"


def check(study: Study) -> Iterator[Finding]:
    """The bored board and its mate are always there: a driver that they hinder fails."""
    boards = study.project.board_named
    for bore in study.project.bores:
        there = {name: study.convex[name] for name in (bore.board, bore.mate)}
        found = hindrances([bore], boards, there)
        for hindrance in found[:1]:
            what = "driver's body" if hindrance.tool == "body" else "driver's bit"
            yield Finding(
                CODE,
                "fails",
                f"the {what} runs into the {boards[hindrance.board].role}",
                board=bore.board,
                joint=bore.joint,
                bore=bore.name,
                point=hindrance.point,
            )


def other_drivers(study: Study, finding: Finding) -> Iterator[Lever]:
    """Bits that are sold, longer than the one that is driven with; then smaller drivers."""
    used = [
        bore.bit(study.project.board_named[bore.board])
        for bore in study.project.bores
        if bore.name == finding.bore
    ]
    longest, unit = max(used, default=math.inf), study.project.unit
    lengths = [write_length(length, unit) for length in bits(unit) if length > longest]
    yield lever("bit", ("tools", "bit_length"), "drive with a bit of {}", lengths)
    own = min((bore.drill.driver_length for bore in study.project.bores), default=0.0)
    smaller = [row.key for row in drivers().values() if row.length < own]
    yield lever("driver", ("tools", "driver"), "take a {} driver", smaller)


def numbers(study: Study, bore: Bore) -> Iterator[Number]:
    """What stands in the driver's way once everything is together: the order must see to it."""
    found = hindrances([bore], study.project.board_named, study.convex)
    names = "; ".join(f"{hindrance.board} ({hindrance.tool})" for hindrance in found)
    yield Number("in the way when all is together", float(len(found)), None, "boards", names)


RULE = Rule(
    CODE,
    "The driver cannot come down the bore",
    """The bit and, behind it, the driver's body are cylinders about the bore's axis, swept back by
the length that the screw is driven. Neither may share space with the bored board (the bit turns
inside the bore) or with the mate, rebates and openings regarded. Exact, in closed form. Lengths and
diameters stand in the tables of drills and drivers, which the recipe's tools choose from or state
otherwise: common practice, no source.""",
    check,
    numbers,
    other_drivers,
)
