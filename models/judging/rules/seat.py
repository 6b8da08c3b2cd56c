"""The shoulder that a screw's head pulls on."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ...maths.geometry import dot
from ...piece.project import Bore, Finding
from ...wood.screws import LEAST_BODY
from ..study import Study
from . import Number, Rule

CODE = "seat"
# Common practice, no source.
BEARING = 0.4  # radii of wood above the shoulder's centre: three quarters of the shoulder bear
LEAST_LEDGE = 0.75  # mm by which the head is larger than the pilot, all round


def height(study: Study, bore: Bore) -> float:
    """Wood above the shoulder's centre, in the plane of the shoulder (mm)."""
    plane = study.project.board_named[bore.board].face(bore.pocket_face).plane
    sine = dot(plane.normal, bore.back)
    return plane.gap(bore.seat) / math.sqrt(1 - sine * sine)


def share(above: float, radius: float) -> float:
    """Share of a shoulder's disc that is wood, from the height of wood above its centre (mm).

    A disc less its segment beyond the pocket face (textbook).
    """
    c = max(-1.0, min(1.0, above / radius))
    return 1 - (math.acos(c) - c * math.sqrt(1 - c * c)) / math.pi


def body(study: Study, bore: Bore) -> float:
    """Least wood between the shoulder and the joint face (mm)."""
    plane = study.project.board_named[bore.board].face(bore.joint_face).plane
    cosine = dot(plane.normal, bore.back)
    lean = bore.drill.counterbore_radius * math.sqrt(max(0.0, 1 - cosine * cosine))
    return plane.gap(bore.seat) - lean


def ledge(bore: Bore) -> float:
    """By how much the head is larger than the pilot, all round (mm)."""
    return bore.screw.head_radius - max(bore.pilot_radius, bore.screw.radius)


def check(study: Study) -> Iterator[Finding]:
    """A head that half the shoulder cannot hold fails; less than three quarters warns."""
    for bore in study.project.bores:
        yield from _found(study, bore)


def _found(study: Study, bore: Bore) -> Iterator[Finding]:
    board = study.project.board_named[bore.board]
    radius = bore.drill.counterbore_radius
    above = height(study, bore)
    rows = (
        (
            above,
            BEARING * radius,
            above < 0,
            f"only {share(above, radius):.0%} of the shoulder is under the screw's head: too "
            "little wood above the shoulder's centre",
        ),
        (
            body(study, bore),
            LEAST_BODY,
            False,
            "little wood between the shoulder and the joint: the head may pull through",
        ),
        (
            ledge(bore),
            LEAST_LEDGE,
            ledge(bore) <= 0,
            f"the head of the {bore.screw.gauge} screw hardly covers the pilot",
        ),
        (
            radius - bore.screw.head_radius,
            0.0,
            True,
            f"the head of the {bore.screw.gauge} screw does not go into the counterbore",
        ),
    )
    for measured, needed, fails, says in rows:
        if measured < needed - 1e-6:
            yield Finding(
                CODE,
                "fails" if fails else "warns",
                says,
                board=bore.board,
                joint=bore.joint,
                bore=bore.name,
                measured=max(measured, 0.0),
                needed=needed,
                point=board.pose.point(bore.seat),
            )


def numbers(study: Study, bore: Bore) -> Iterator[Number]:
    """Bearing of the head, and the wood that it pulls on."""
    radius = bore.drill.counterbore_radius
    above = height(study, bore)
    bears = f"{share(above, radius):.0%} of the shoulder bears"
    yield Number("wood above the shoulder's centre", above, BEARING * radius, "mm", bears)
    yield Number("wood from shoulder to joint", body(study, bore), LEAST_BODY)
    yield Number("head over pilot, all round", ledge(bore), LEAST_LEDGE)
    yield Number("counterbore over head, all round", radius - bore.screw.head_radius)


RULE = Rule(
    CODE,
    "The screw's head has too little wood under it",
    """The head seats on the shoulder, a disc of the counterbore's radius R square to the axis. Near
the pocket face a segment of that disc is air. With h the wood above its centre, measured in the
plane of the disc, the share that bears is 1 - (acos c - c sqrt(1 - c^2)) / pi, c = h/R (textbook:
segment of a circle). At c = 0.4 three quarters bear: less warns; a centre in the air fails.
Between the shoulder's rim and the joint face at least 6 mm of wood must stay, and the head must be
larger than the pilot by 0.75 mm all round. These limits are common practice, no source. The web
under the counterbore is a wall like any other: see thin-wall.""",
    check,
    numbers,
    kinds=frozenset(("stop", "screw", "drill")),
)
