"""A slotted pilot that runs out of the edge it is in, or nearly, beside its pocket."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from ...maths.geometry import Vec, along, dot
from ...piece.board import Board
from ...piece.lever import Lever
from ...piece.project import Bore, Finding
from ..study import Study
from . import BORED, Rule
from .cross_grain import stiller

CODE = "open-slot"


def room(bore: Bore, board: Board) -> tuple[float, Vec]:
    """Wood that a slot leaves to the pocket face where it meets the joint, and its nearer end.

    A round pilot of radius r cuts the joint face in an ellipse: with b the part of its axis that
    lies in that face, it reaches r sqrt(1 + (b . d)^2 / (1 - b^2)) in a direction d of the face.

    Returns:
        The wood (mm), negative where the slot runs out, and the middle of the slot's end, board
        frame.
    """
    joint, pocket = board.face(bore.joint_face).plane, board.face(bore.pocket_face).plane
    lean = along(bore.back, joint.normal, -dot(bore.back, joint.normal))
    toward = along(pocket.normal, joint.normal, -dot(pocket.normal, joint.normal))
    share = math.sqrt(dot(toward, toward))
    cosine = dot(lean, toward) / share
    reach = bore.pilot_radius * math.sqrt(1 + cosine**2 / (1 - dot(lean, lean))) * share
    half = bore.slot / 2
    ends = [along(bore.exit, bore.slot_along, by) for by in (half, -half)]
    end = min(ends, key=pocket.gap)
    return pocket.gap(end) - reach, end


def check(study: Study) -> Iterator[Finding]:
    """A slot without wood beside it fails; one with less than the limit warns."""
    project = study.project
    for bore in project.bores:
        if bore.slot <= 0:
            continue
        board = project.board_named[bore.board]
        face, joint = board.face(bore.pocket_face), board.face(bore.joint_face)
        wood, end = room(bore, board)
        needed = project.limits.wall(face.seen)
        if wood < needed - 1e-6:
            said = f"the slot leaves too little of the {joint.name} to the {face.name}"
            yield Finding(
                CODE,
                "warns" if wood > 0 else "fails",
                said if wood > 0 else f"the slot runs out of the {joint.name} to the {face.name}",
                board=board.name,
                joint=bore.joint,
                bore=bore.name,
                face=face.name,
                measured=max(wood, 0.0),
                needed=needed,
                point=board.pose.point(end),
            )


def levers(study: Study, finding: Finding) -> Iterator[Lever]:
    """Wood for the panel that moves less, and so takes shorter slots."""
    (bore,) = (bore for bore in study.project.bores if bore.name == finding.bore)
    if study.project.board_named[bore.mate].stock.kind != "sheet":
        for lever in stiller(study, replace(finding, board=bore.mate)):
            if lever.kind != "slot":
                yield lever


RULE = Rule(
    CODE,
    "A slot that runs out of the edge it is in",
    """A slotted pilot lets a solid panel swell and shrink: across the panel's grain it is longer
than wide by as much as the panel moves there, either way. It needs wood on both sides where it
leaves the bored board. Toward every other face that is a breakout or a thin wall; toward the pocket
face, by which every pocket leaves, it is measured here, in the plane of the joint: the distance of
the slot's end to the pocket face, less the ellipse in which the pilot's cylinder cuts that plane.
None fails, less than the limit of that face warns. Common practice, no source. Thicker boards, a
panel that moves less (quarter-sawn, a sheet good) or a smaller `moisture_change` may help.""",
    check,
    levers=levers,
    kinds=BORED,
)
