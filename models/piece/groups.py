"""Which boards are alike: same blank, cuts, holes and bores, same stock. Pure Python, no kernel."""

from __future__ import annotations

from collections.abc import Hashable

from ..maths.geometry import Vec, along, cross, unit
from .board import Board, Cut, Face, Hole
from .bored import holes_in
from .project import Bore, Project

# Rounding for comparison: a tenth of the kernel's own tolerance, so that alike means alike to it.
_MM, _DIRECTION = 7, 10

Key = Hashable


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


def _round(cut: Cut) -> Key:
    curve = cut.round
    return curve and (mm(*curve.point, curve.radius), way(curve.axis), curve.hollow)


def blank_key(board: Board) -> Key:
    """Same for boards whose solids agree before the pocket bores are drilled."""
    return (
        _planes(board.faces),
        tuple((_planes(cut.faces), _round(cut)) for cut in board.cuts),
        tuple(sorted(hole_key(hole) for hole in board.holes)),
    )


def hole_key(hole: Hole) -> tuple[tuple[float, ...], ...]:
    """Same for holes that take the same wood out of like boards."""
    steps = [size for step in hole.narrower for size in step]
    slot = max(mm(*hole.slot), mm(*(-part for part in hole.slot)))
    return mm(*hole.mouth, hole.radius, hole.depth, *steps), way(hole.inward), slot


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
    return (
        blank_key(board),
        tuple(sorted(hole_key(hole) for hole in holes_in(project, board))),
        (board.stock.material, board.stock.title, board.stock.kind),
    )


def groups(project: Project) -> tuple[tuple[Board, ...], ...]:
    """Like boards together, each group and the groups themselves in the project's order."""
    found: dict[Key, list[Board]] = {}
    for board in project.boards:
        found.setdefault(shape_key(project, board), []).append(board)
    return tuple(tuple(boards) for boards in found.values())


def like_pieces(project: Project) -> tuple[tuple[str, ...], ...]:
    """Pieces whose boards are alike and stand alike in them, in the project's order."""
    found: dict[Key, list[str]] = {}
    for piece in dict.fromkeys(board.piece for board in project.boards):
        stand = project.stand(piece)
        key = tuple(
            (
                shape_key(project, board),
                mm(*stand.local_point(board.pose.origin)),
                *(way(stand.local_direction(axis)) for axis in (board.pose.x, board.pose.y)),
            )
            for board in project.boards
            if board.piece == piece
        )
        found.setdefault(key, []).append(piece)
    return tuple(tuple(pieces) for pieces in found.values())
