"""Which boards are alike: same blank, cuts, holes and bores, same stock. Pure Python, no kernel."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass

from ..maths.geometry import Vec, along, cross, dot, unit
from .board import Board, Face
from .project import Bore, Project

# Rounding for comparison: a tenth of the kernel's own tolerance, so that alike means alike to it.
_MM, _DIRECTION = 7, 10

Key = Hashable


@dataclass(frozen=True)
class Pilot:
    """A pilot hole that goes on into a mating board, in that board's frame (mm).

    Attributes:
        face: side of the mating board that it enters.
        entry: a point of its axis on that side's plane.
        back: unit vector along the axis, out of the mating board.
        radius: of the pilot.
        depth: along the axis from `entry`.
    """

    face: str
    entry: Vec
    back: Vec
    radius: float
    depth: float


def bores_in(project: Project, board: Board) -> tuple[Bore, ...]:
    """The bores whose pocket is in the board."""
    return tuple(bore for bore in project.bores if bore.board == board.name)


def in_mate(project: Project, bore: Bore) -> tuple[Vec, Vec]:
    """The bore's exit (mm) and direction `back` in the frame of its mating board."""
    own, mate = project.board_named[bore.board].pose, project.board_named[bore.mate].pose
    return (
        mate.local_point(own.point(bore.exit)),
        mate.local_direction(own.direction(bore.back)),
    )


def pilots_into(project: Project, board: Board) -> tuple[Pilot, ...]:
    """The pilots that enter the board as a mate."""
    found = []
    for bore in project.bores:
        if bore.mate == board.name and bore.pilot_into_mate > 0:
            entry, back = in_mate(project, bore)
            found.append(
                Pilot(bore.mate_face, entry, back, bore.drill.pilot_radius, bore.pilot_into_mate)
            )
    return tuple(found)


def upright(z: Vec) -> tuple[Vec, Vec]:
    """Directions x and y square to a unit vector z, always the same ones for the same z."""
    small = min(range(3), key=lambda axis: (round(abs(z[axis]), 6), axis))
    start: Vec = (float(small == 0), float(small == 1), float(small == 2))
    y = unit(cross(z, start))
    return cross(y, z), y


def screw_frame(project: Project, bore: Bore) -> tuple[Vec, Vec]:
    """The screw's seat (mm) and the direction from tip to head, in the project's frame."""
    pose = project.board_named[bore.board].pose
    return pose.point(along(bore.exit, bore.back, bore.shoulder)), pose.direction(bore.back)


def mm(*values: float) -> tuple[float, ...]:
    """Lengths rounded for comparison, without negative zeros."""
    return tuple(round(value, _MM) + 0.0 for value in values)


def way(v: Vec) -> tuple[float, ...]:
    """A direction rounded for comparison, without negative zeros."""
    return tuple(round(value, _DIRECTION) + 0.0 for value in v)


def _planes(faces: tuple[Face, ...]) -> Key:
    return tuple((way(face.plane.normal), mm(face.plane.offset)) for face in faces)


def blank_key(board: Board) -> Key:
    """Same for boards whose solids agree before the pocket bores are drilled."""
    return (
        _planes(board.faces),
        tuple(_planes(cut.faces) for cut in board.cuts),
        tuple(sorted((mm(*h.mouth, h.radius, h.depth), way(h.inward)) for h in board.holes)),
    )


def bore_key(board: Board, bore: Bore) -> tuple[tuple[float, ...], ...]:
    """Same for bores that take the same wood out of like boards."""
    drill = bore.drill
    planes = [board.face(side).plane for side in (bore.pocket_face, bore.joint_face)]
    return (
        mm(*bore.exit, bore.shoulder, drill.counterbore_radius, bore.pilot_radius),
        *sorted(mm(*shift) for shift in bore.pilot_shifts),
        way(bore.back),
        *(way(plane.normal) + mm(plane.offset) for plane in planes),
    )


def shape_key(project: Project, board: Board) -> Key:
    """Same for boards whose finished solids agree in their own frames and that are of one stock."""
    pilots = ((mm(*p.entry, p.radius, p.depth), way(p.back)) for p in pilots_into(project, board))
    return (
        blank_key(board),
        tuple(sorted(bore_key(board, bore) for bore in bores_in(project, board))),
        tuple(sorted(pilots)),
        (board.stock.material, board.stock.title, board.stock.kind),
    )


def groups(project: Project) -> tuple[tuple[Board, ...], ...]:
    """Like boards together, each group and the groups themselves in the project's order."""
    found: dict[Key, list[Board]] = {}
    for board in project.boards:
        found.setdefault(shape_key(project, board), []).append(board)
    return tuple(tuple(boards) for boards in found.values())


def lean(axis: Vec, normal: Vec) -> float:
    """How far a cylinder reaches past a plane that cuts its axis, in mm per mm of radius."""
    across = abs(dot(axis, normal))
    return float((max(0.0, 1.0 - across * across)) ** 0.5 / across)
