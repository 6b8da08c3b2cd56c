"""A board too narrow for the pockets of one joint."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ...maths.geometry import cross, dot, unit
from ...piece.project import Bore, Finding, Joint
from ...placing.spacing import least_width
from ...words.lengths import format_decimal
from ..study import Study
from . import Number, Rule

CODE = "narrow-board"


def width(study: Study, bore: Bore) -> float:
    """The bored board's width along the joint, through the exit (mm)."""
    board = study.project.board_named[bore.board]
    joint, pocket = (board.face(s).plane for s in (bore.joint_face, bore.pocket_face))
    line = unit(cross(joint.normal, pocket.normal))
    ways = [math.inf, math.inf]
    for face in board.faces:
        lean = dot(face.plane.normal, line)
        if face.side != bore.joint_face and abs(lean) > 1e-9:
            way = 0 if lean > 0 else 1
            ways[way] = min(ways[way], face.plane.gap(bore.exit) / abs(lean))
    return sum(ways)


def taken(study: Study, bore: Bore) -> float:
    """What one pocket takes of that width: its diameter, longer where it is swung (mm)."""
    board = study.project.board_named[bore.board]
    joint, pocket = (board.face(s).plane for s in (bore.joint_face, bore.pocket_face))
    along = dot(unit(cross(joint.normal, pocket.normal)), bore.back)
    return 2 * bore.drill.counterbore_radius / math.sqrt(1 - along * along)


def _by_board(joint: Joint) -> list[list[Bore]]:
    """A joint's bores by the board and face that they are in."""
    rows: dict[tuple[str, str], list[Bore]] = {}
    for bore in joint.bores:
        rows.setdefault((bore.board, bore.pocket_face), []).append(bore)
    return list(rows.values())


def check(study: Study) -> Iterator[Finding]:
    """A board narrower at a joint than its pockets there ask for warns."""
    for joint in study.project.joints:
        for bores in _by_board(joint):
            has, needed = width(study, bores[0]), _needed(study, bores)
            if has >= needed - 1e-6:
                continue
            board = study.project.board_named[bores[0].board]
            pockets = f"{len(bores)} pockets" if len(bores) > 1 else "its pocket"
            yield Finding(
                CODE,
                "warns",
                f"the board is narrow for {pockets}: too little wood stays beside the drill",
                board=board.name,
                joint=joint.name,
                bore=bores[0].name,
                measured=has,
                needed=needed,
                point=board.pose.point(bores[0].exit),
            )


def _needed(study: Study, bores: list[Bore]) -> float:
    return least_width(len(bores), max(taken(study, bore) for bore in bores))


def numbers(study: Study, bore: Bore) -> Iterator[Number]:
    """The board's width with the least one for the joint's pockets; judged at the first of them."""
    joint = next(j for j in study.project.joints if j.name == bore.joint)
    bores = next(row for row in _by_board(joint) if bore in row)
    says = f"for {len(bores)} pockets" if len(bores) > 1 else "for one pocket"
    needed = _needed(study, bores)
    if bore != bores[0]:
        says, needed_here = f"{format_decimal(needed, study.project.unit)} needed {says}", None
    else:
        needed_here = needed
    yield Number("board's width at the joint", width(study, bore), needed_here, "mm", says)


RULE = Rule(
    CODE,
    "A board too narrow for the pockets of a joint",
    """The least width of a piece: at least half a pocket's width of wood stays beside and between
the pockets of one joint, so n pockets ask for (3 n + 1)/2 times the width of one: for the 9.5 mm
pocket 19 mm, for two 33 mm, for three 48 mm. A swung pocket is as wide as its diameter over the
cosine of the angle between its axis and the plane square to the joint's line. Common practice, no
source. It is asked besides the walls, for a board can keep every wall and yet be mostly pocket.
Where the recipe does not state the number of pockets, placement takes no more than that.""",
    check,
    numbers,
    kinds=frozenset(("pockets", "drill")),
    joint=True,
)
