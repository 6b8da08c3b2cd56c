"""A study whose walls, distances, strays, overlaps and openings the kernel has measured."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations
from typing import ClassVar

import numpy as np

from ...models.judging.contacts import pressed
from ...models.judging.measures import HoleNearness, Nearness, Opening, Parted, Stray, Wall, WallKey
from ...models.judging.study import Study, study_of
from ...models.maths.geometry import Array, Plane, Vec, along
from ...models.piece.board import Board, Side
from ...models.piece.contact import NO_AREA, TOUCHING, Overlap
from ...models.piece.project import Joint, Project
from . import Progress
from .faces import face_plane, faces_of, outward_faces
from .kernel import cq
from .measure import Distance, common, measure
from .nearness import nearness
from .solids import Solids, blank_corners, location, unbored_solid

SHARED_VOLUME = 1e-6  # mm3
_KERNEL = 1e-7  # mm; what the kernel takes for the same place


@dataclass(frozen=True)
class OnSolids(Study):
    """A project with what the kernel measured on its solids.

    Attributes:
        solids: that are exported.
        progress: told what is being measured.
    """

    solids: Solids
    progress: Progress | None = None
    solid: ClassVar[bool] = True

    @cached_property
    def _closed(self) -> Study:
        return study_of(self.project)

    @cached_property
    def distances(self) -> Mapping[WallKey, Distance]:
        """From each bore's void to each face, or to the nearest face of each cut."""
        least: dict[WallKey, Distance] = {}
        for found in measure(self.project, self.progress):
            known = least.get(found.key, found)
            least[found.key] = min(known, found, key=lambda one: one.gap)
        return least

    @cached_property
    def walls(self) -> tuple[Wall, ...]:
        """The thinnest walls of the closed form, with the measure of the solid where it has one.

        A void is all that a bore takes; which of its bodies is nearest the closed form knows.
        """
        return tuple(
            self._measured(wall)
            for in_mate in (False, True)
            for wall in self._closed.thinnest(in_mate=in_mate)
        )

    def _measured(self, wall: Wall) -> Wall:
        found = self.distances.get(wall.key)
        if found is None or found.point is None:
            return wall
        point = wall.board.pose.point(found.point)
        out = found.gap <= TOUCHING
        return wall._replace(gap=found.gap, out=out, exact=True, point=point, solid=True)

    @cached_property
    def _near(self) -> tuple[Nearness | HoleNearness, ...]:
        return nearness(self.project)

    @cached_property
    def nearness(self) -> tuple[Nearness, ...]:
        """Every two bores of a board that come near each other."""
        return tuple(near for near in self._near if isinstance(near, Nearness))

    @cached_property
    def beside_holes(self) -> tuple[HoleNearness, ...]:
        """Every bore with the round hole that is nearest, where one is near."""
        return tuple(near for near in self._near if isinstance(near, HoleNearness))

    @property
    def measured(self) -> Mapping[WallKey, tuple[float, Vec | None]]:
        """Every distance to a face, a cut, another bore or a hole, with the nearest point (mm)."""
        named = self.project.board_named
        walls = {
            key: (one.gap, one.point and named[one.board].pose.point(one.point))
            for key, one in self.distances.items()
        }
        return {**walls, **{near.key: (near.gap, near.point) for near in self._near}}

    @cached_property
    def strays(self) -> tuple[Stray, ...]:
        """Screws in other boards; how deep is the closed form's to say, where it knows."""
        known = {(stray.bore.name, stray.board.name): stray for stray in self._closed.strays}
        return tuple(
            replace(known.get((one.bore.name, one.board.name), one), point=one.point)
            for one in _stray_screws(self.project, self.solids)
        )

    @cached_property
    def overlaps(self) -> tuple[Overlap, ...]:
        """Boards that share wood; how deep is the closed form's to say, where it knows."""
        known = {(one.first, one.second): one for one in self._closed.overlaps}
        return tuple(
            known.get((one.first, one.second), one)._replace(point=one.point)
            for one in _overlaps(self.project, self.solids)
        )

    @cached_property
    def openings(self) -> tuple[Opening, ...]:
        """Joints whose faces do not touch."""
        return tuple(_openings(self.project, self.solids))

    @cached_property
    def parted(self) -> tuple[Parted, ...]:
        """Boards that cuts or bores leave in several pieces."""
        return tuple(_pieces(self.project, self.solids))


def _pieces(project: Project, solids: Solids) -> Iterator[Parted]:
    for board in project.boards:
        parts = solids.own_solid(board.name).Solids()
        if len(parts) > 1:
            smallest = min(parts, key=lambda part: part.Volume())
            bored = len(unbored_solid(board).Solids()) == 1
            where = board.pose.point(_centre(smallest))
            yield Parted(board, "cuts and bores" if bored else "cuts", where)


def _stray_screws(project: Project, solids: Solids) -> Iterator[Stray]:
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
            yield Stray(bore, board, _thickness(shared), _centre(shared))


def _overlaps(project: Project, solids: Solids) -> Iterator[Overlap]:
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
        # What touches within the kernel's noise is as thin.
        if _thickness(shared) > TOUCHING:
            yield Overlap(a.name, b.name, _thickness(shared), _centre(shared))


def _openings(project: Project, solids: Solids) -> Iterator[Opening]:
    for joint in pressed(project):
        first, face = _joint_faces(project, solids, joint.first, joint.first_face)
        second, other = _joint_faces(project, solids, joint.second, joint.second_face)
        yield from _opening(joint, first, face, second, other)


def _opening(
    joint: Joint,
    first: tuple[cq.Face, ...],
    face: Plane,
    second: tuple[cq.Face, ...],
    other: Plane,
) -> Iterator[Opening]:
    """What keeps a joint's faces from meeting."""
    one, two = (cq.Compound.makeCompound(some) for some in (first, second))
    where = _centre(one) if first else None
    if not first or not second:
        yield Opening(joint, "gone", math.inf, where)
        return
    off = min(_furthest(first, other), _furthest(second, face))
    if off > TOUCHING or float(np.dot(face.normal, other.normal)) >= 0:
        yield Opening(joint, "turned", off, where)
        return
    shared = common(one, two)
    if shared is None or shared.Area() <= NO_AREA:
        yield Opening(joint, "aside", one.distance(two), where)


def _furthest(faces: tuple[cq.Face, ...], plane: Plane) -> float:
    return max(abs(plane.gap(v.toTuple())) for face in faces for v in face.Vertices())


# --- small helpers -----------------------------------------------------------------------------


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


def _thickness(shape: cq.Shape) -> float:
    """Of a thin plate (mm): twice its volume over its surface."""
    return float(2 * shape.Volume() / shape.Area())


def _centre(shape: cq.Shape) -> Vec:
    x, y, z = shape.Center().toTuple()
    return (x, y, z)
