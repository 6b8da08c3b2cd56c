"""The boards and screws of a project as exact solids: one kernel boolean per distinct board."""

from __future__ import annotations

from .kernel import cq  # first, for it says what is missing where the kernel does not load

# isort: split
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations

import numpy as np
from OCP.BRep import BRep_Builder
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeVertex,
    BRepBuilderAPI_MakeWire,
    BRepBuilderAPI_Transform,
)
from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
from OCP.gp import gp_Ax1, gp_Ax3, gp_Dir, gp_Pln, gp_Pnt, gp_Trsf
from OCP.Standard import Standard_Failure
from OCP.TopoDS import TopoDS, TopoDS_Edge, TopoDS_Shell, TopoDS_Solid, TopoDS_Vertex
from OCP.TopTools import TopTools_ListOfShape

from ...models.maths.geometry import Array, Plane, Pose, Vec, along, cross, unit
from ...models.piece.board import Board, Cut, Hole, Work
from ...models.piece.bodies import overhang
from ...models.piece.bored import work_on
from ...models.piece.groups import Key, screw_frame, shape_key, upright
from ...models.piece.project import Bore, Project, Screw
from ...models.words.errors import SlantboreError
from . import Progress
from .meshing import Mesh, mesh_of

_ON_PLANE = 1e-6  # mm; ten times the kernel's tolerance
_PARALLEL = 1e-9
_AIR = 1.0  # mm that a tool reaches past the wood
_INFLATED = 10.0  # mm that a cut left open reaches past the blank


class SolidError(SlantboreError):
    """A board or a screw that does not come out as sound wood.

    Attributes:
        board: its name, where the message is about one.
    """

    def __init__(self, message: str, board: str = "") -> None:
        super().__init__(message)
        self.board = board


@dataclass(frozen=True)
class Solids:
    """Exact solids of a project, each made when it is first asked for; like ones are held once.

    Attributes:
        project: what they are built from.
    """

    project: Project
    _made: dict[Key, cq.Shape] = field(default_factory=dict, repr=False, compare=False)
    _meshes: dict[int, Mesh] = field(default_factory=dict, repr=False, compare=False)

    @cached_property
    def key_of(self) -> Mapping[str, Key]:
        """Name of a board to its key in `shapes`."""
        return {board.name: shape_key(self.project, board) for board in self.project.boards}

    @cached_property
    def distinct(self) -> Mapping[Key, str]:
        """Per distinct board the name of the first one, in the project's order."""
        first: dict[Key, str] = {}
        for board in self.project.boards:
            first.setdefault(self.key_of[board.name], board.name)
        return first

    @cached_property
    def shapes(self) -> Mapping[Key, cq.Shape]:
        """Per distinct board its solid; several in a compound where cuts and bores part it."""
        return {key: self.own_solid(name) for key, name in self.distinct.items()}

    @cached_property
    def screws(self) -> Mapping[Screw, cq.Solid]:
        """One solid per kind of screw, its seat at the origin and its head towards +z."""
        kinds = dict.fromkeys(bore.screw for bore in self.project.bores)
        return {screw: screw_solid(screw) for screw in kinds}

    def made(self, progress: Progress | None = None) -> Solids:
        """These solids, with every board made.

        Raises:
            SolidError: as `own_solid` does.
        """
        for done, name in enumerate(self.distinct.values()):
            if progress:
                progress(name, done, len(self.distinct))
            self.own_solid(name)
        if progress:
            progress("solids", len(self.distinct), len(self.distinct))
        return self

    def mesh(self, solid: cq.Shape) -> Mesh:
        """The mesh of one of `shapes` or `screws`, made once for all the formats that want it."""
        if id(solid) not in self._meshes:
            self._meshes[id(solid)] = mesh_of(solid)
        return self._meshes[id(solid)]

    def own_solid(self, name: str) -> cq.Shape:
        """A board's solid in the board's own frame.

        Raises:
            SolidError: nothing is left of the board, or it is not sound; the message names it.
        """
        key = self.key_of[name]
        if key not in self._made:
            try:
                self._made[key] = bored_solid(self.project, self.project.board_named[name])
            except (SolidError, Standard_Failure) as error:
                what = str(error) if isinstance(error, SolidError) else f"{name}: {error}"
                raise SolidError(what, name) from error
        return self._made[key]

    def board_solid(self, name: str) -> cq.Shape:
        """A board's solid where it stands in the project (shares the geometry, no copy)."""
        return self.own_solid(name).moved(location(self.project.board_named[name].pose))

    def screw_solid(self, name: str) -> cq.Solid:
        """The screw of the bore so named, where it sits in the project."""
        screw = self._bore_named[name].screw
        return self.screws[screw].moved(location(self.screw_pose(name)))

    def screw_pose(self, name: str) -> Pose:
        """Where the screw of the bore so named sits in the project."""
        seat, back = screw_frame(self.project, self._bore_named[name])
        return Pose(seat, *upright(back))

    @cached_property
    def _bore_named(self) -> Mapping[str, Bore]:
        return {bore.name: bore for bore in self.project.bores}


def solidify(project: Project) -> Solids:
    """Every distinct board of a project, made.

    Raises:
        SolidError: nothing is left of a board, or it is not sound; the message names it.
    """
    return Solids(project).made()


# --- boards ------------------------------------------------------------------------------------


def bored_solid(project: Project, board: Board) -> cq.Shape:
    """The finished board in its own frame; a compound where it falls apart."""
    tools = _tools(board, work_on(project, board))
    return _cut(board, blank_solid(board), tools)


def unbored_solid(board: Board) -> cq.Shape:
    """The board in its own frame with its cuts and holes, before any pocket is drilled."""
    return _cut(board, blank_solid(board), _tools(board, board.work))


def blank_solid(board: Board) -> cq.Solid:
    """The convex blank in the board's own frame, nothing taken out of it."""
    return polytope([face.plane for face in board.faces], board.name)


def blank_corners(board: Board) -> Array:
    """Corners of the blank in the board's frame, (n, 3) in mm."""
    return _corners([face.plane for face in board.faces])[0]


def cut_solid(board: Board, cut: Cut) -> cq.Solid:
    """The region of a cut in the board's frame, closed off outside the blank."""
    curve = cut.round
    # What touches the cylinder all along is left out: the cylinder itself bounds the region there.
    planes = [face.plane for face in cut.faces if curve is None or not curve.hollow]
    for axis, size in enumerate((board.length, board.width, board.thickness)):
        x, y, z = (float(axis == k) for k in range(3))
        planes.append(Plane((x, y, z), size + _INFLATED))
        planes.append(Plane((-x, -y, -z), _INFLATED))
    name = f"{board.name}: {cut.name}"
    block = polytope(planes, name)
    if curve is None:
        return block
    reach = 2 * _INFLATED + math.hypot(board.length, board.width, board.thickness)
    start = along(curve.point, curve.axis, -reach)
    rod = cq.Solid.makeCylinder(curve.radius, 2 * reach, cq.Vector(*start), cq.Vector(*curve.axis))
    return one_solid(block.intersect(rod) if curve.hollow else block.cut(rod), name)


def hole_tool(board: Board, hole: Hole) -> cq.Solid:
    """What a straight drill sweeps for a round hole or a slot, in the board's frame."""
    start = -overhang(board, hole) - _AIR
    if any(hole.slot):
        radius, depth = hole.radius, hole.depth
        return slot_solid(hole.mouth, hole.inward, hole.slot, start, depth, radius)
    steps = [(start, hole.radius), (hole.depth, hole.radius)]
    for radius, depth in hole.narrower:
        steps += [(steps[-1][0], radius), (depth, radius)]
    return turned_solid(hole.mouth, hole.inward, steps)


def slot_solid(
    origin: Vec, axis: Vec, shift: Vec, start: float, end: float, radius: float
) -> cq.Solid:
    """A round rod moved sideways by `shift` both ways, with all that it passes through.

    Args:
        origin: point of the rod's axis (mm).
        axis: unit vector.
        shift: square to the axis (mm).
        start: distance from `origin` along the axis where the rod starts.
        end: where it ends.
        radius: of the rod.
    """
    way = unit(shift)
    side = cross(axis, way)
    base = along(origin, axis, start)
    ends = [along(base, shift, 1.0), along(base, shift, -1.0)]

    def point(end: int, across: float, out: float) -> cq.Vector:
        return cq.Vector(*along(along(ends[end], side, across * radius), way, out * radius))

    outline = cq.Wire.assembleEdges(
        [
            cq.Edge.makeThreePointArc(point(0, -1, 0), point(0, 0, 1), point(0, 1, 0)),
            cq.Edge.makeLine(point(0, 1, 0), point(1, 1, 0)),
            cq.Edge.makeThreePointArc(point(1, 1, 0), point(1, 0, -1), point(1, -1, 0)),
            cq.Edge.makeLine(point(1, -1, 0), point(0, -1, 0)),
        ]
    )
    travel = along((0.0, 0.0, 0.0), axis, end - start)
    return cq.Solid.extrudeLinear(outline, [], cq.Vector(*travel))


def one_solid(shape: cq.Shape, name: str) -> cq.Solid:
    """The one sound solid that a boolean left.

    Raises:
        SolidError: it left none, or several, or one that is not sound.
    """
    parts = shape.Solids()
    if len(parts) != 1 or not parts[0].isValid():
        raise SolidError(f"{name} does not come out as one sound solid")
    return parts[0]


def screw_solid(screw: Screw) -> cq.Solid:
    """A screw, its seat at the origin and its head towards +z; the thread is a plain cylinder."""
    steps = [
        (-screw.length, screw.radius),
        (0.0, screw.radius),
        (0.0, screw.head_radius),
        (screw.head_height, screw.head_radius),
    ]
    return turned_solid((0.0, 0.0, 0.0), (0.0, 0.0, 1.0), steps)


def _tools(board: Board, work: Iterable[Work]) -> list[cq.Solid]:
    parts = (part for one in work for part in one.removes(board))
    return [
        cut_solid(board, part) if isinstance(part, Cut) else hole_tool(board, part)
        for part in parts
    ]


def _cut(board: Board, blank: cq.Solid, tools: Sequence[cq.Solid]) -> cq.Shape:
    if not tools:
        return blank
    operation = BRepAlgoAPI_Cut()
    operation.SetArguments(shape_list([blank]))
    operation.SetTools(shape_list(tools))
    operation.SetRunParallel(False)  # the order of the result must not depend on threads
    operation.Build()
    if not operation.IsDone():
        raise SolidError(f"{board.name}: the kernel could not cut it")
    parts = cq.Shape.cast(operation.Shape()).Solids()
    if not parts:
        raise SolidError(f"{board.name}: with its cuts and bores nothing is left of it")
    if not all(part.isValid() for part in parts):
        raise SolidError(f"{board.name}: its cuts and bores do not leave sound wood")
    return parts[0] if len(parts) == 1 else cq.Compound.makeCompound(parts)


# --- shapes ------------------------------------------------------------------------------------


def location(pose: Pose) -> cq.Location:
    """The kernel's location for a pose."""
    move = gp_Trsf()
    move.SetDisplacement(gp_Ax3(), gp_Ax3(gp_Pnt(*pose.origin), gp_Dir(*pose.z), gp_Dir(*pose.x)))
    return cq.Location(move)


def laid(solid: cq.Shape, place: cq.Location) -> cq.Shape:
    """A copy of a solid elsewhere whose own geometry has moved, for what knows no locations."""
    copy = BRepBuilderAPI_Transform(solid.wrapped, place.wrapped.Transformation(), True)
    return cq.Shape.cast(copy.Shape())


def shape_list(shapes: Iterable[cq.Shape]) -> TopTools_ListOfShape:
    """Shapes as the kernel's list."""
    found = TopTools_ListOfShape()
    for shape in shapes:
        found.Append(shape.wrapped)
    return found


def turned_solid(origin: Vec, axis: Vec, steps: Sequence[tuple[float, float]]) -> cq.Solid:
    """A stepped round solid.

    Args:
        origin: point of the axis (mm).
        axis: unit vector.
        steps: (distance from `origin` along the axis, radius there), in order; a step of the
            radius has two entries at one distance.
    """
    across, _ = upright(axis)
    outline = [along(origin, axis, steps[0][0])]
    for distance, radius in steps:
        corner = along(along(origin, axis, distance), across, radius)
        # Equal radii on both sides of a step leave no shoulder and no corner.
        if corner != outline[-1]:
            outline.append(corner)
    outline.append(along(origin, axis, steps[-1][0]))
    wire = cq.Wire.makePolygon([cq.Vector(*p) for p in outline], close=True)
    face = BRepBuilderAPI_MakeFace(wire.wrapped, True).Face()
    turn = BRepPrimAPI_MakeRevol(face, gp_Ax1(gp_Pnt(*origin), gp_Dir(*axis)))
    solid = cq.Shape.cast(turn.Shape())
    if not isinstance(solid, cq.Solid):
        raise SolidError("a drill or a screw does not come out as a solid")
    return solid


def polytope(planes: Sequence[Plane], name: str) -> cq.Solid:
    """The convex solid inside all planes, with shared corners and edges.

    Args:
        planes: half-spaces; one that touches nothing is left out.
        name: what to call it in an error.

    Raises:
        SolidError: the planes leave nothing, or leave it open.
    """
    corners, rims = _corners(planes)
    if len(corners) < 4:
        raise SolidError(f"{name}: its faces leave no solid")
    vertices = [BRepBuilderAPI_MakeVertex(gp_Pnt(*map(float, p))).Vertex() for p in corners]
    edges: dict[tuple[int, int], TopoDS_Edge] = {}
    uses: dict[tuple[int, int], int] = {}
    builder = BRep_Builder()
    shell = TopoDS_Shell()
    builder.MakeShell(shell)
    for plane, rim in zip(planes, rims, strict=True):
        if len(rim) < 3:
            continue
        wire = BRepBuilderAPI_MakeWire()
        for a, b in zip(rim, rim[1:] + rim[:1], strict=True):
            key = (min(a, b), max(a, b))
            if key not in edges:
                edges[key] = _edge(vertices[key[0]], vertices[key[1]])
            uses[key] = uses.get(key, 0) + 1
            edge = edges[key]
            wire.Add(edge if a < b else TopoDS.Edge_s(edge.Reversed()))
        on = gp_Pnt(*map(float, corners[rim[0]]))
        face = BRepBuilderAPI_MakeFace(gp_Pln(on, gp_Dir(*plane.normal)), wire.Wire(), True)
        builder.Add(shell, face.Face())
    if any(count != 2 for count in uses.values()):
        raise SolidError(f"{name}: its faces do not close")
    shell.Closed(True)
    solid = TopoDS_Solid()
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    # Flat faces whose edges each serve two of them are sound; what is cut from it is checked.
    return cq.Solid(solid)


def _edge(a: TopoDS_Vertex, b: TopoDS_Vertex) -> TopoDS_Edge:
    return BRepBuilderAPI_MakeEdge(a, b).Edge()


def _corners(planes: Sequence[Plane]) -> tuple[Array, list[list[int]]]:
    """Corners (n, 3) of the convex solid inside all planes, and each plane's rim.

    Three planes at a time are intersected; what lies inside all the others is a corner. A rim
    lists corners counter-clockwise as seen from outside.
    """
    normals = np.array([plane.normal for plane in planes])
    offsets = np.array([plane.offset for plane in planes])
    triples = np.array(list(combinations(range(len(planes)), 3)))
    square = np.abs(np.linalg.det(normals[triples])) > _PARALLEL
    points = np.linalg.solve(normals[triples[square]], offsets[triples[square]][..., None])[..., 0]
    points = points[(points @ normals.T <= offsets + _ON_PLANE).all(axis=1)]
    near = (np.abs(points[:, None] - points) <= _ON_PLANE).all(axis=2)
    corners = points[~np.tril(near, -1).any(axis=1)]  # of equal points the first
    held = np.abs(corners @ normals.T - offsets) <= _ON_PLANE
    rims: list[list[int]] = []
    for normal, touching in zip(normals, held.T, strict=True):
        on = np.flatnonzero(touching)
        if len(on) < 3:
            rims.append([])
            continue
        x, y = upright((float(normal[0]), float(normal[1]), float(normal[2])))
        out = corners[on] - corners[on].mean(axis=0)
        turn = np.arctan2(out @ np.array(y), out @ np.array(x))
        rims.append([int(i) for i in on[np.argsort(turn, kind="stable")]])
    return corners, rims
