"""Walls of wood on the solids: exact kernel distances from bores and screws to the faces of boards.

What is measured is the *void*: what drill and screw take up within the convex blank of a board,
before any cut. The blank rather than the cut board, so that a void that reaches into a rebate or a
groove still touches the cut's faces and measures nothing there, and so that the closed form, which
knows convex blanks only, speaks of the same body. The faces are those of the board with its cuts,
before the pockets are drilled: a hole in a face must not make the wall to it look thicker.
"""

from __future__ import annotations

from .kernel import cq  # first, for it says what is missing where the kernel does not load

# isort: split
import math
from collections.abc import Iterator
from dataclasses import dataclass

from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.Extrema import Extrema_ExtAlgo_Grad, Extrema_ExtFlag_MIN
from OCP.gp import gp_Pnt

from ...models.judging.measures import WallKey
from ...models.maths.geometry import Vec, lean
from ...models.piece.board import Board, Side
from ...models.piece.bored import bored_holes, in_mate
from ...models.piece.groups import Key, blank_key, bore_key, mm, way
from ...models.piece.project import Bore, Project
from . import Progress
from .faces import faces_of, outward_faces
from .solids import (
    blank_solid,
    hole_tool,
    one_solid,
    shape_list,
    turned_solid,
    unbored_solid,
)

_AIR = 1.0


@dataclass(frozen=True)
class Distance:
    """The wood between a bore or its screw and one face of a board.

    Attributes:
        bore: name.
        board: name of the board whose face it is.
        side: of that board.
        target: the side, or the name of the cut that left the face.
        gap: mm; 0 where they touch, inf where the face or the void is not there.
        point: where the void comes nearest, in the board's frame (mm); None at inf.
    """

    bore: str
    board: str
    side: Side
    target: str
    gap: float
    point: Vec | None

    @property
    def key(self) -> WallKey:
        """What it is about, as the closed form names it."""
        return self.bore, self.board, self.target


def measure(project: Project, progress: Progress | None = None) -> tuple[Distance, ...]:
    """Every wall of every bore: in its own board and, for the screw, in the mating board.

    Faces that a bore goes through on purpose are left out: pocket face and joint face of its own
    board, mate face of the other.
    """
    rooms: dict[Key, _Room] = {}
    measured: dict[Key, tuple[tuple[int, float, Vec | None], ...]] = {}
    walls = []
    total = len(project.bores)
    for done, bore in enumerate(project.bores):
        if progress:
            progress(bore.name, done, total)
        for board, key in places(project, bore):
            if key not in measured:
                like = blank_key(board)
                if like not in rooms:
                    rooms[like] = _Room(board)
                measured[key] = tuple(_walls(project, rooms[like], bore, board))
            # Like boards list their faces in one order, whatever they call them.
            faces = [(f.side, cut.name if cut else f.side) for f, cut in outward_faces(board)]
            for place, gap, point in measured[key]:
                walls.append(Distance(bore.name, board.name, *faces[place], gap, point))
    if progress:
        progress("walls", total, total)
    return tuple(walls)


class _Room:
    """A board before its pockets, in its own frame: the blank, and what is left of its faces."""

    def __init__(self, board: Board) -> None:
        self.blank = blank_solid(board)
        solid = unbored_solid(board)
        self.faces = [faces_of(solid, face.plane, within) for face, within in outward_faces(board)]


def places(project: Project, bore: Bore) -> Iterator[tuple[Board, Key]]:
    """The two boards that a bore concerns, each with a key that like cases share."""
    screw = mm(bore.screw.radius, bore.screw.length, bore.pilot_into_mate)
    own, mate = project.board_named[bore.board], project.board_named[bore.mate]
    yield own, ("own", blank_key(own), bore_key(own, bore), screw)
    entry, back = in_mate(project, bore)
    radii = mm(*entry, bore.shoulder, bore.drill.pilot_radius)
    side = [face.side for face, _ in outward_faces(mate)].index(bore.mate_face)
    yield mate, ("mate", blank_key(mate), radii, way(back), side, screw)


def _walls(
    project: Project, room: _Room, bore: Bore, board: Board
) -> Iterator[tuple[int, float, Vec | None]]:
    own = bore.board == board.name
    void = own_void(board, bore, room.blank) if own else mate_void(project, bore, room.blank)
    passed = (bore.pocket_face, bore.joint_face) if own else (bore.mate_face,)
    for place, (face, _) in enumerate(outward_faces(board)):
        if face.side in passed:
            continue
        if void is None or not room.faces[place]:
            yield place, math.inf, None
            continue
        yield place, *distance(void, cq.Compound.makeCompound(room.faces[place]))


def own_void(board: Board, bore: Bore, blank: cq.Solid) -> cq.Shape | None:
    """What a bore and its screw take up in the bored board; None when they miss it."""
    pocket, *slot = (hole_tool(board, hole) for hole in bored_holes(board, bore, bore.screw.radius))
    tool = one_solid(pocket.fuse(*slot), bore.name) if slot else pocket
    return common(tool, blank)


def mate_void(project: Project, bore: Bore, blank: cq.Solid) -> cq.Shape | None:
    """What a screw and its pilot take up in the mating board, in that board's frame."""
    entry, back = in_mate(project, bore)
    normal = next(
        face.plane.normal
        for face, _ in outward_faces(project.board_named[bore.mate])
        if face.side == bore.mate_face
    )
    parts = [(bore.screw.radius, bore.engagement)]
    if bore.pilot_into_mate > 0:
        parts.append((bore.drill.pilot_radius, bore.pilot_into_mate))
    (thick, short), (thin, deep) = max(parts), min(parts)
    if max(short, deep) <= 0:
        return None
    above = thick * lean(back, normal) + _AIR
    steps = [(-short, thick), (above, thick)]
    if deep > short:
        steps = [(-deep, thin), (-short, thin), *steps]
    return common(turned_solid(entry, back, steps), blank)


# --- the kernel's measuring tools ----------------------------------------------------------------


def common(a: cq.Shape, b: cq.Shape) -> cq.Shape | None:
    """What two shapes share; None when that is nothing (or has no volume, for solids)."""
    operation = BRepAlgoAPI_Common()
    operation.SetArguments(shape_list([a]))
    operation.SetTools(shape_list([b]))
    operation.SetRunParallel(False)
    operation.Build()
    if not operation.IsDone():
        return None
    shape = cq.Shape.cast(operation.Shape())
    return shape if shape.Faces() else None


def distance(a: cq.Shape, b: cq.Shape) -> tuple[float, Vec]:
    """Least distance (mm) between two shapes, and the point of `a` that attains it."""
    extrema = BRepExtrema_DistShapeShape(
        a.wrapped, b.wrapped, Extrema_ExtFlag_MIN, Extrema_ExtAlgo_Grad
    )
    near: gp_Pnt = extrema.PointOnShape1(1)
    return extrema.Value(), (near.X(), near.Y(), near.Z())
