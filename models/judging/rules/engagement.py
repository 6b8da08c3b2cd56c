"""How much of a screw is in the mating board, and in what grain."""

from __future__ import annotations

from collections.abc import Iterator

from ...piece.grain import grain, grain_angle
from ...piece.project import Bore, Finding
from ...placing.sites import sides_across
from ...wood.strength import LEAST_PENETRATION, TIP, thread_length
from ...wood.tables import screw_kinds
from ...words.lengths import format_length
from ..study import Study
from . import Number, Rule

CODE = "engagement"
_ACROSS = 0.5  # cosine to the grain under which a joint face lies along it
_STOCKED = 0.5  # mm by which a length may be off and still be the one in stock


def least(bore: Bore) -> float:
    """Length that is tapered tip alone (mm)."""
    return TIP * 2 * bore.screw.radius


def check(study: Study) -> Iterator[Finding]:
    """A screw that does not reach the mate fails; tip alone, end grain or an odd length warns."""
    for bore in study.project.bores:
        yield from _found(study, bore)


def _found(study: Study, bore: Bore) -> Iterator[Finding]:
    boards = study.project.board_named
    board, mate = boards[bore.board], boards[bore.mate]

    def finding(
        says: str, fails: bool, measured: float | None, needed: float | None, face: str = ""
    ) -> Finding:
        return Finding(
            CODE,
            "fails" if fails else "warns",
            says,
            board=bore.board,
            joint=bore.joint,
            bore=bore.name,
            face=face,
            measured=measured,
            needed=needed,
            point=board.pose.point(bore.exit),
        )

    if bore.engagement < least(bore) - 1e-6:
        reaches = bore.engagement > 0
        says = (
            "only the screw's tapered tip is in the mating board"
            if reaches
            else "the screw does not reach the mating board"
        )
        yield finding(says, not reaches, max(bore.engagement, 0.0), least(bore))
    elif grain(bore, board, mate) == "end grain" and _has_side_grain(study, bore):
        yield finding(
            "the screw stands in end grain, which holds less than side grain",
            False,
            None,
            None,
            mate.face(bore.mate_face).name,
        )
    kind = screw_kinds().get(bore.screw.gauge.lstrip("#"))
    if kind is None or all(abs(x - bore.screw.length) > _STOCKED for x in kind.lengths):
        unit = study.project.unit
        lengths = [format_length(length, unit) for length in kind.lengths] if kind else []
        stocked = ", ".join(lengths) or "none of this gauge"
        long = format_length(bore.screw.length, unit)
        yield finding(
            f"a {bore.screw.gauge} screw {long} long is not stocked ({stocked})",
            False,
            None,
            None,
        )


def _has_side_grain(study: Study, bore: Bore) -> bool:
    """Whether, bored from the other board out of sight, the screw would stand in side grain."""
    board = study.project.board_named[bore.board]
    along = abs(board.face(bore.joint_face).plane.normal[0])
    across = board.stock.kind == "sheet" or along < _ACROSS
    return across and bool(sides_across(study.project, bore))


def numbers(study: Study, bore: Bore) -> Iterator[Number]:
    """Length in the mate, in mm and diameters, and the grain."""
    boards = study.project.board_named
    board, mate = boards[bore.board], boards[bore.mate]
    yield Number("screw in the mating board", bore.engagement, least(bore))
    thread = min(thread_length(bore.screw.length), bore.engagement)
    yield Number("thread in the mating board", max(thread, 0.0))
    depth = bore.engagement / (2 * bore.screw.radius)
    rated = f"the NDS rates screws from {LEAST_PENETRATION:g} diameters up"
    yield Number("depth in diameters", depth, None, "x diameter", rated)
    angle = grain_angle(bore, board, mate)
    yield Number("angle to the mate's grain", angle, None, "degrees", grain(bore, board, mate))


RULE = Rule(
    CODE,
    "The screw holds in too little wood, or in end grain",
    """Along the axis L - s of the screw stands in the mating board (L its length from the head, s
from the joint face to the shoulder). A screw that does not reach the mate fails. Up to 2 diameters
it is tapered tip (NDS-2018 Table L3, footnote 6), which warns. From 6 diameters up the NDS gives
design values (12.1.5.6); most pocket screws in 19 mm stock stay under that, so it is told with the
strength notes instead of being held against the joint. A screw within 30 degrees of the grain
stands in end grain: the NDS allows no withdrawal load there (12.2.2.3) and two thirds of the
lateral (12.5.2.2); the Wood Handbook has it hold about three quarters of side grain (from
memory). It warns where the screw would stand in side grain if the other board were bored, from a
face that does not show. A length that is not in the table of stocked screws warns: the tip's cover
was reckoned for a screw that you cannot buy.""",
    check,
    numbers,
    kinds=frozenset(("board", "screw", "stop", "drill")),
)
