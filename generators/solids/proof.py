"""The proof on solids: what the kernel measures on the very solids that are exported, judged.

The rules are those of `check`, and speak the same words. What only solids can say is said here:
area that a face lost to bores, and that the two ways do not agree.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping

from ...models.judging.judge import judge_again, of_screws
from ...models.judging.measures import WallKey
from ...models.judging.study import study_of
from ...models.maths.geometry import Vec
from ...models.piece.board import Board
from ...models.piece.bored import bores_in, pilots_into
from ...models.piece.contact import TOUCHING
from ...models.piece.project import Finding, Project
from ...models.words.lengths import write_length
from . import Progress
from .faces import faces_of, outward_faces
from .kernel import cq
from .on_solids import OnSolids
from .solids import Solids, unbored_solid

AGREEMENT = 1e-6  # mm
LOST_AREA = 1e-6  # mm2


def prove(solids: Solids, progress: Progress | None = None) -> tuple[Finding, ...]:
    """What the rules that are judged on solids say of them, and what only solids can say.

    Args:
        solids: that are exported, with their project.
        progress: told what is being measured.
    """
    study = OnSolids(solids.project, solids, progress)
    findings = list(judge_again(study))
    findings += _lost_areas(solids, findings)
    findings += compare(solids.project, study_of(solids.project).promised, study.measured)
    return tuple(of_screws(solids.project, findings))


def _lost_areas(solids: Solids, known: Iterable[Finding]) -> Iterator[Finding]:
    """Faces that lost area to bores that had no business there: a check of its own on the solid."""
    project = solids.project
    told = {(f.board, f.face) for f in known if f.measured is not None and f.measured <= TOUCHING}
    areas: dict[object, list[float]] = {}
    for board in project.boards:
        bores = bores_in(project, board)
        pilots = pilots_into(project, board)
        if not bores and not pilots:
            continue
        passed = {side for bore in bores for side in (bore.pocket_face, bore.joint_face)}
        passed |= {pilot.done_from for pilot in pilots}
        key = solids.key_of[board.name]
        if key not in areas:
            areas[key] = _areas_lost(board, solids.shapes[key])
        for (face, cut), lost in zip(outward_faces(board), areas[key], strict=True):
            names = {(board.name, face.name), (board.name, cut.name if cut else face.name)}
            if lost <= LOST_AREA or face.side in passed or names & told:
                continue
            message = f"{board.name}: bores take {lost:.3g} mm2 out of its {face.name}"
            yield Finding(
                "breakout", "fails", message, board.name, face=face.name, measured=0.0,
                needed=project.limits.wall(face.seen), solid=True,
            )  # fmt: skip


def _areas_lost(board: Board, solid: cq.Shape) -> list[float]:
    before = unbored_solid(board)
    lost = []
    for face, cut in outward_faces(board):
        areas = [
            sum(part.Area() for part in faces_of(whole, face.plane, cut))
            for whole in (before, solid)
        ]
        lost.append(areas[0] - areas[1])
    return lost


def compare(
    project: Project,
    promised: Mapping[WallKey, float],
    measured: Mapping[WallKey, tuple[float, Vec | None]],
) -> Iterator[Finding]:
    """Where the closed form promises more wood than the solid has; that must never happen.

    Args:
        project: placed.
        promised: in closed form (mm); what is not there was not looked at, which is no check.
        measured: on the solids (mm), with the nearest points in the project's frame.
    """
    joints = {bore.name: bore.joint for bore in project.bores}
    for key, (gap, point) in measured.items():
        bore, board, other = key
        if key in promised and promised[key] > gap + AGREEMENT:
            said = f"the closed form says {write_length(promised[key], project.unit)}"
        elif key not in promised and not math.isinf(gap):
            said = "the closed form did not look at it"
        else:
            continue
        yield Finding(
            "disagreement",
            "fails",
            f"{bore}: from it to {other} in {board} the solid has "
            f"{write_length(gap, project.unit)} of wood, {said}",
            board,
            joints.get(bore, ""),
            bore,
            other,
            gap,
            promised.get(key),
            "this is a fault of the program: please report it with the recipe",
            point,
            solid=True,
        )
