"""The proof on solids: walls, bores beside bores, stray screws, overlapping boards, open joints.

It measures the very solids that are exported. Every rule here says what it measured, what is
needed, and where.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import combinations

import numpy as np

from ...models.judging.rules import cut_through, gap, overlap
from ...models.judging.rules.stray_screw import finding as stray_screw
from ...models.judging.study import study_of
from ...models.maths.geometry import Array, Plane, Vec, along
from ...models.piece.board import Board, Face, Side
from ...models.piece.bored import bores_in, pilots_into
from ...models.piece.contact import Overlap
from ...models.piece.project import Bore, Finding, Limits, Project, Severity
from ...models.words.lengths import Unit, write_length
from ..telling.report import length
from . import Progress
from .faces import face_plane, faces_of, outward_faces
from .kernel import cq
from .measure import Wall, WallKey, common, measure, solid_walls
from .nearness import nearness, too_close
from .solids import Solids, blank_corners, location, unbored_solid

__all__ = ["compare", "prove", "solid_walls"]

TOUCHING = 1e-6  # mm
LOST_AREA = 1e-6  # mm2
SHARED_VOLUME = 1e-6  # mm3
AGREEMENT = 1e-6  # mm
_KERNEL = 1e-7  # mm; what the kernel takes for the same place


def prove(
    solids: Solids,
    progress: Progress | None = None,
    closed: Mapping[WallKey, float] | None = None,
) -> tuple[Finding, ...]:
    """Everything that the solids say against their project.

    Args:
        solids: the solids that are exported, with their project.
        progress: told what is being measured.
        closed: walls and distances in closed form, to be compared with the measured ones.
    """
    project = solids.project
    walls = measure(project, progress)
    findings = list(_thin(project, walls))
    findings += _lost_areas(project, solids, findings)
    near = nearness(project)
    findings += too_close(project, near)
    findings += _stray_screws(project, solids)
    findings += _apart(project, solids)
    findings += _overlaps(project, solids)
    findings += _gaps(project, solids)
    if closed is not None:
        both = (*walls, *near)
        measured = {(w.bore, w.board, w.side): w.thickness for w in both}
        points = {(w.bore, w.board, w.side): w.point for w in both}
        findings += compare(closed, measured, project, points)
    return tuple(findings)


# --- walls -------------------------------------------------------------------------------------


def _needed(limits: Limits, face: Face, in_mate: bool) -> float:
    if in_mate:
        return limits.tip_cover
    return limits.wall(face.seen)


def _thin(project: Project, walls: tuple[Wall, ...]) -> Iterator[Finding]:
    bores = {bore.name: bore for bore in project.bores}
    faces = {board.name: _faces(board) for board in project.boards}
    for wall in walls:
        bore, face = bores[wall.bore], faces[wall.board][wall.side]
        mate = wall.board != bore.board
        needed = _needed(project.limits, face, mate)
        if wall.thickness >= needed - TOUCHING:
            continue
        name, least = f"the {face.name} of {wall.board}", length(needed, project.unit)
        rule = "tip-cover" if mate else "thin-wall"
        # Little wood to a face that nobody sees is weak rather than wrong, if the drill ran true.
        sure = wall.thickness >= project.limits.wander - TOUCHING
        severity: Severity = "fails" if mate or face.seen == "show" or not sure else "warns"
        if wall.thickness <= TOUCHING:
            rule, severity = ("tip-cover" if mate else "breakout"), "fails"
            what = "screw comes" if mate else "bore breaks"
            message = f"{bore.name}: the {what} out through {name}"
            remedy = f"keep at least {least} of wood there: "
        else:
            left = length(wall.thickness, project.unit)
            what = "screw" if mate else "bore"
            message = f"{bore.name}: only {left} of wood between the {what} and {name}"
            remedy = f"give it {length(needed - wall.thickness, project.unit)} more: "
        yield _finding(
            project, rule, message, wall.board, bore, face.name, wall.thickness, needed,
            remedy + _way_out(face, mate), wall.point, severity,
        )  # fmt: skip


def _way_out(face: Face, mate: bool) -> str:
    if mate:
        return f"use a shorter screw or move the pocket away from the {face.name}"
    return f"move the pocket away from the {face.name}, or swing it away"


def _lost_areas(project: Project, solids: Solids, known: list[Finding]) -> Iterator[Finding]:
    """Faces that lost area to bores that had no business there: a check of its own on the solid."""
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
        for (face, _), lost in zip(outward_faces(board), areas[key], strict=True):
            if lost <= LOST_AREA or face.side in passed or (board.name, face.name) in told:
                continue
            message = f"{board.name}: bores take {lost:.3g} mm2 out of its {face.name}"
            yield Finding(
                "breakout", "fails", message, board.name, face=face.name, measured=0.0,
                needed=_needed(project.limits, face, in_mate=False),
                remedy=f"move the pockets of {board.name} away from its {face.name}",
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
    closed: Mapping[WallKey, float],
    solid: Mapping[WallKey, float],
    project: Project | None = None,
    points: Mapping[WallKey, Vec | None] | None = None,
) -> tuple[Finding, ...]:
    """Where the closed form promises more wood than the solid has; that must never happen.

    Args:
        closed: wall (mm) by bore, board and side, in closed form.
        solid: the same, measured.
        project: for the joint's name and the place, where known.
        points: nearest points in the boards' frames, where known.
    """
    findings = []
    joints = {b.name: b.joint for b in project.bores} if project else {}
    unit: Unit = project.unit if project else "mm"
    for key, measured in solid.items():
        bore, board, side = key
        promised = closed.get(key)
        if promised is None:
            # A wall that the closed form never looked at is a wall that it did not check.
            said = "the closed form did not look at it"
        elif promised > measured + AGREEMENT:
            said = f"the closed form says {write_length(promised, unit)}"
        else:
            continue
        if promised is None and math.isinf(measured):
            continue
        point = (points or {}).get(key)
        if project and point:
            point = project.board_named[board].pose.point(point)
        findings.append(
            Finding(
                "disagreement",
                "fails",
                f"{bore}: from it to {side} in {board} the solid has "
                f"{write_length(measured, unit)} of wood, {said}",
                board,
                joints.get(bore, ""),
                bore,
                side,
                measured,
                promised,
                "this is a fault of the program: please report it with the recipe",
                point,
            )  # fmt: skip
        )
    return tuple(findings)


def _apart(project: Project, solids: Solids) -> Iterator[Finding]:
    """Boards that cuts or bores leave in several pieces."""
    for board in project.boards:
        parts = solids.own_solid(board.name).Solids()
        if len(parts) > 1:
            by = "cuts" if len(unbored_solid(board).Solids()) > 1 else "cuts and bores"
            smallest = min(parts, key=lambda part: part.Volume())
            yield cut_through.told(board, by, board.pose.point(_centre(smallest)))


# --- solids against each other -----------------------------------------------------------------


def _stray_screws(project: Project, solids: Solids) -> Iterator[Finding]:
    boxes = {board.name: _box(_placed_corners(board)) for board in project.boards}
    for bore in project.bores:
        screw = None
        own = project.board_named[bore.board].pose
        ends = [
            own.point(p) for p in (bore.tip, along(bore.seat, bore.back, bore.screw.head_height))
        ]
        low, high = _box(np.array(ends))
        girth = max(bore.screw.radius, bore.screw.head_radius)
        for board in project.boards:
            if board.name in (bore.board, bore.mate):
                continue
            if not _boxes_meet((low - girth, high + girth), boxes[board.name]):
                continue
            screw = screw or solids.screw_solid(bore.name)
            shared = common(screw, solids.board_solid(board.name))
            if shared is None or shared.Volume() <= SHARED_VOLUME:
                continue
            yield stray_screw(bore, board, None, _centre(shared))


def _overlaps(project: Project, solids: Solids) -> Iterator[Finding]:
    study = study_of(project)
    known = {(one.first, one.second): one for one in study.overlaps}
    corners = {board.name: _placed_corners(board) for board in project.boards}
    boxes = {name: _box(points) for name, points in corners.items()}
    for a, b in combinations(project.boards, 2):
        if not _boxes_meet(boxes[a.name], boxes[b.name]):
            continue
        # Blanks that a face's plane keeps apart cannot share wood; the kernel need not be asked.
        if _parted(a, corners[b.name]) or _parted(b, corners[a.name]):
            continue
        shared = common(solids.board_solid(a.name), solids.board_solid(b.name))
        if shared is None or shared.Volume() <= SHARED_VOLUME:
            continue
        # What touches within the kernel's noise is as thin: twice its volume over its surface.
        thin = 2 * shared.Volume() / shared.Area()
        if thin > TOUCHING:
            here = Overlap(a.name, b.name, thin, _centre(shared))
            yield overlap.told(study, known.get((a.name, b.name), here)._replace(point=here.point))


def _gaps(project: Project, solids: Solids) -> Iterator[Finding]:
    for joint in gap.pressed(project):
        first, face = _joint_faces(project, solids, joint.first, joint.first_face)
        second, other = _joint_faces(project, solids, joint.second, joint.second_face)
        opening = _opening(first, face, second, other)
        if opening is not None:
            where = _centre(cq.Compound.makeCompound(first)) if first else None
            yield gap.told(project, joint, *opening, where)


def _opening(
    first: tuple[cq.Face, ...], face: Plane, second: tuple[cq.Face, ...], other: Plane
) -> tuple[str, float] | None:
    """What keeps a joint's faces from meeting, and by how much (mm); None when they do."""
    if not first or not second:
        return gap.GONE, math.inf
    off = min(_furthest(first, other), _furthest(second, face))
    facing = float(np.dot(face.normal, other.normal)) < 0
    if off > TOUCHING or not facing:
        return gap.TURNED, off
    shared = common(cq.Compound.makeCompound(first), cq.Compound.makeCompound(second))
    if shared is None or shared.Area() <= LOST_AREA:
        apart = cq.Compound.makeCompound(first).distance(cq.Compound.makeCompound(second))
        return gap.ASIDE, apart
    return None


def _furthest(faces: tuple[cq.Face, ...], plane: Plane) -> float:
    return max(abs(plane.gap(v.toTuple())) for face in faces for v in face.Vertices())


# --- small helpers -----------------------------------------------------------------------------


def _faces(board: Board) -> Mapping[Side, Face]:
    return {face.side: face for face, _ in outward_faces(board)}


def _joint_faces(
    project: Project, solids: Solids, name: str, side: Side
) -> tuple[tuple[cq.Face, ...], Plane]:
    """The faces of a placed board on one side, and their plane as the solid has it."""
    board = project.board_named[name]
    face, within = next(pair for pair in outward_faces(board) if pair[0].side == side)
    place = location(board.pose)
    own = faces_of(solids.own_solid(name), face.plane, within)
    faces = tuple(found.moved(place) for found in own)
    plane = face_plane(faces[0]) if faces else None
    return faces, plane or board.pose.plane(face.plane)


def _finding(
    project: Project, rule: str, message: str, board: str, bore: Bore, face: str,
    measured: float, needed: float, remedy: str, point: Vec | None, severity: Severity = "fails",
) -> Finding:  # fmt: skip
    """A finding about a bore; `point` is in the frame of `board`."""
    place = project.board_named[board].pose.point(point) if point else None
    return Finding(
        rule, severity, message, board, bore.joint, bore.name, face, measured, needed, remedy, place
    )


def _placed_corners(board: Board) -> Array:
    placed: Array = blank_corners(board) @ board.pose.matrix.T + np.array(board.pose.origin)
    return placed


def _box(points: Array) -> tuple[Array, Array]:
    return points.min(axis=0), points.max(axis=0)


def _boxes_meet(a: tuple[Array, Array], b: tuple[Array, Array]) -> bool:
    return bool(((a[0] < b[1] - _KERNEL) & (b[0] < a[1] - _KERNEL)).all())


def _parted(board: Board, points: Array) -> bool:
    for face in board.faces:
        plane = board.pose.plane(face.plane)
        if (points @ np.array(plane.normal) >= plane.offset - _KERNEL).all():
            return True
    return False


def _centre(shape: cq.Shape) -> Vec:
    x, y, z = shape.Center().toTuple()
    return (x, y, z)
