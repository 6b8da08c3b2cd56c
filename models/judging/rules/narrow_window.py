"""A pocket that a pencil line can spoil."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ...piece.project import Bore, Finding
from ...placing.site import pitch
from ...placing.sites import site_of
from ...words.lengths import format_decimal
from ..study import Study
from . import BORED, Number, Rule

CODE = "narrow-window"


def check(study: Study) -> Iterator[Finding]:
    """A window narrower than the tolerance on both sides warns, unless placement said so."""
    project = study.project
    told = {finding.joint for finding in project.findings}
    needed = 2 * project.limits.tolerance
    for bore in project.bores:
        width = bore.window.high - bore.window.low
        # A bore whose place the recipe states has no window: its walls speak for it.
        if bore.joint in told or not 0 < width < needed - 1e-6:
            continue
        yield Finding(
            CODE,
            "warns",
            "the pocket has less room along the joint than a pencil line may be off",
            board=bore.board,
            joint=bore.joint,
            bore=bore.name,
            measured=width,
            needed=needed,
            point=project.board_named[bore.board].pose.point(bore.exit),
        )


def numbers(study: Study, bore: Bore) -> Iterator[Number]:
    """Where the pocket may lie, and how wide the joint must be for one more."""
    limits, window = study.project.limits, bore.window
    width = window.high - window.low
    if width > 0 and math.isfinite(width):
        low, high = (b.says() or "-" for b in (window.low_binds, window.high_binds))
        binds = f"stopped by {low}, and by {high}"
        yield Number("room along the joint", width, 2 * limits.tolerance, "mm", binds)
        yield Number("room to the nearer end", window.margin, limits.tolerance)
    site = site_of(study.project, bore)
    if site is not None:
        apart = pitch(site, bore.swing, limits)
        yield Number(
            "joint's length for one pocket",
            site.reach[1],
            None,
            "mm",
            f"two side by side take {format_decimal(apart, study.project.unit)} from axis to axis",
        )


RULE = Rule(
    CODE,
    "A pocket has less room than a pencil line is off",
    """Placement finds the interval along the joint in which a pocket keeps every limit, and puts it
on a mark there. If that interval is narrower than twice the recipe's `tolerance`, a line marked so
much off spoils the joint, so it warns. The tolerance, 1.5 mm each way unless stated, is common
practice, no source. The least width of a piece follows from the same intervals: a piece is too
narrow where no interval is left.""",
    check,
    numbers,
    kinds=BORED,
    joint=True,
    hint="mark this one with a knife and a stop",
)
