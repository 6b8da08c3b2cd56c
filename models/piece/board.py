"""A board: a convex blank, the work that is done to it, and how its faces are seen.

    z (thickness)
    |   y (width)            top face     z = thickness    left end   x = 0
    |  /                     bottom face  z = 0            right end  x = length
    | /                      front edge   y = 0
    +--------- x (length)    back edge    y = width

The board lies on the bench, its grain from left to right. A design may print other names for its
faces (outside edge, back); the side stays the key. All that is not a plain box is work: it tilts a
face of the blank, or takes cuts and holes out of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Final, Literal, Protocol

from ..maths.geometry import ORIGIN, Plane, Pose, Vec, along, dot, turned
from ..maths.walls import Blank

Seen = Literal["exposed", "semi-exposed", "concealed"]
Sawn = Literal["flat", "quarter"]
Side = str
BoardSide = Literal["top face", "bottom face", "front edge", "back edge", "left end", "right end"]
Edge = Literal["front edge", "back edge"]
End = Literal["left end", "right end"]
TOP: Final = "top face"
BOTTOM: Final = "bottom face"
FRONT: Final = "front edge"
BACK: Final = "back edge"
LEFT: Final = "left end"
RIGHT: Final = "right end"
SIDES = (TOP, BOTTOM, FRONT, BACK, LEFT, RIGHT)
OPPOSITE = {TOP: BOTTOM, BOTTOM: TOP, FRONT: BACK, BACK: FRONT, LEFT: RIGHT, RIGHT: LEFT}

_OUT: Mapping[Side, Vec] = {
    TOP: (0.0, 0.0, 1.0),
    BOTTOM: (0.0, 0.0, -1.0),
    FRONT: (0.0, -1.0, 0.0),
    BACK: (0.0, 1.0, 0.0),
    LEFT: (-1.0, 0.0, 0.0),
    RIGHT: (1.0, 0.0, 0.0),
}

_OFF = 0.5  # mm that the flat sides about a round one may stand off it

Print = Callable[[float], str]
"""Prints a length given in mm."""


@dataclass(frozen=True)
class Face:
    """One flat face of a board, in the board's frame.

    Attributes:
        side: key, unique within the board (one of SIDES, or a cut's name and number).
        name: what is printed (the role the design gives it, or the side).
        plane: outward plane; the wood is on the inside.
        seen: how the face is seen in the finished piece.
    """

    side: Side
    name: str
    plane: Plane
    seen: Seen = "exposed"


@dataclass(frozen=True)
class Round:
    """A cylinder where the wood ends, board frame.

    Attributes:
        point: of its axis (mm).
        axis: unit vector.
        radius: mm.
        hollow: whether what is taken lies within it (an arch), or outside (a rounded corner).
    """

    point: Vec
    axis: Vec
    radius: float
    hollow: bool

    def sides(self, middle: Vec, half: float) -> tuple[Plane, ...]:
        """Planes that touch it, so close together that they stand off it by less than half a mm.

        Args:
            middle: outward unit normal of the one in their middle, square to the axis.
            half: angle from there to the first and the last, degrees.
        """
        step = 2 * math.degrees(math.acos(self.radius / (self.radius + _OFF)))
        count = 2 * max(1, math.ceil(half / step))
        ways = (turned(middle, self.axis, half * (2 * i / count - 1)) for i in range(count + 1))
        return tuple(Plane(way, dot(way, self.point) + self.radius) for way in ways)

    def off(self, p: Vec) -> Vec:
        """From the axis to a point, square to the axis (mm)."""
        away = (p[0] - self.point[0], p[1] - self.point[1], p[2] - self.point[2])
        return along(away, self.axis, -dot(away, self.axis))


@dataclass(frozen=True)
class Cut:
    """A convex region that work takes out of a blank: `plane.gap(x) >= 0` for all its faces.

    The region is left open where it runs out of the blank. Each face's plane is that of the
    *region* (normal out of the region, into the wood).

    Attributes:
        name: unique within the board.
        faces: that bound it.
        round: what the wood really ends at; then the region contains all that is taken, and its
            faces, all of one side, are no faces of the wood.
    """

    name: str
    faces: tuple[Face, ...]
    round: Round | None = None

    @property
    def left(self) -> tuple[Face, ...]:
        """The faces of wood that it leaves; of a round one, the plane that stands in its middle."""
        return self.faces if self.round is None else (self.faces[len(self.faces) // 2],)

    @property
    def seen(self) -> Seen:
        """How its best seen face is seen; one that shows at times counts as hidden."""
        return "exposed" if any(face.seen == "exposed" for face in self.faces) else "concealed"


@dataclass(frozen=True)
class Hole:
    """A straight round hole that work takes out of a blank; each of its steps has a flat bottom.

    Attributes:
        name: what it is for.
        mouth: centre of the mouth on the face it is drilled from, board frame (mm).
        inward: unit direction of drilling.
        radius: mm.
        depth: mm along `inward`.
        narrower: further steps inward: radius and depth from the mouth, mm.
        slot: how far it is moved sideways, both ways, square to `inward` (mm); nought: it is round.
    """

    name: str
    mouth: Vec
    inward: Vec
    radius: float
    depth: float
    narrower: tuple[tuple[float, float], ...] = ()
    slot: Vec = (0.0, 0.0, 0.0)


class Work(Protocol):
    """One thing that is done to a board, in the maker's terms; the kinds stand in models/work."""

    @property
    def called(self) -> str:
        """What to call it, unique among the work on a board."""

    @property
    def done_from(self) -> Side:
        """The face that lies up while it is done."""

    @property
    def datum(self) -> tuple[Side, ...]:
        """The sides that its place is measured from."""

    def tilts(self) -> Mapping[Side, Vec]:
        """Sides of the blank that it saws off square, each with its outward unit normal."""

    def removes(self, board: Board) -> tuple[Cut | Hole, ...]:
        """What it takes out of the board's blank."""

    def told(self, board: Board, length: Print) -> str:
        """Kind, sizes and place in words, as a cut list has them."""


@dataclass(frozen=True)
class Stock:
    """What a board is made of.

    Attributes:
        label: the recipe's own name for it.
        material: species or sheet key of the reference tables.
        title: what is printed.
        thickness: mm.
        kind: decides thread and movement.
        sawn: flat (the growth rings run along the width) or quarter (across it); solid wood only.
        sheet: length along the grain and width of its sheets (mm), where the recipe states them.
    """

    label: str
    material: str
    title: str
    thickness: float
    kind: Literal["softwood", "hardwood", "sheet"]
    sawn: Sawn = "flat"
    sheet: tuple[float, float] | None = None


@dataclass(frozen=True)
class Board:
    """One board of a project.

    Attributes:
        name: unique in the project; also the name of its product, mesh and file.
        piece: the piece of furniture it belongs to.
        role: its part in the piece ("top rail"); boards of one role may be identical.
        stock: what it is cut from.
        length: finished, long point to long point (mm, along x).
        width: finished, over the widest section, mm along y.
        thickness: mm, along z.
        names: what its faces are called where the side is not printed.
        seen: how its faces are seen; a face that is not there shows.
        work: what is done to it, in the order of the shop.
        pose: where it stands in the project.
        hand: "left" or "right" for one of a mirrored pair, else "".
    """

    name: str
    piece: str
    role: str
    stock: Stock
    length: float
    width: float
    thickness: float
    names: Mapping[Side, str] = field(default_factory=dict)
    seen: Mapping[Side, Seen] = field(default_factory=dict)
    work: tuple[Work, ...] = ()
    pose: Pose = ORIGIN
    hand: str = ""

    @cached_property
    def faces(self) -> tuple[Face, ...]:
        """The planes that bound the blank, each once; a tilted one goes through its far corner.

        Raises:
            ValueError: the ends or the edges are tilted so far that they meet within the board.
        """
        tilted = {side: way for work in self.work for side, way in work.tilts().items()}
        ways = {side: tilted.get(side, _OUT[side]) for side in SIDES}
        offsets = {TOP: self.thickness, BOTTOM: 0.0}
        heights = (0.0, self.thickness)
        section: list[tuple[float, float]] = []
        for side, size in ((FRONT, 0.0), (BACK, self.width)):
            _, y, z = ways[side]
            offsets[side] = y * size + min(z * height for height in heights) + 0.0
            section += [((offsets[side] - z * height) / y, height) for height in heights]
        for side, size in ((LEFT, 0.0), (RIGHT, self.length)):
            x, y, z = ways[side]
            offsets[side] = x * size + min(y * p + z * q for p, q in section) + 0.0
        planes = {side: Plane(ways[side], offsets[side]) for side in SIDES}
        if any(section[i][0] >= section[i + 2][0] for i in (0, 1)):
            raise ValueError(f"{self.name}: the bevels meet before they reach the other face")
        if any(_run(planes[LEFT], p, q) >= _run(planes[RIGHT], p, q) for p, q in section):
            raise ValueError(f"{self.name}: the mitres meet before they reach the other edge")
        return tuple(
            Face(side, self.names.get(side, side), planes[side], self.seen.get(side, "exposed"))
            for side in SIDES
        )

    @cached_property
    def _removed(self) -> tuple[Cut | Hole, ...]:
        return tuple(part for work in self.work for part in work.removes(self))

    @cached_property
    def cuts(self) -> tuple[Cut, ...]:
        """The convex regions that its work takes out of the blank."""
        return tuple(part for part in self._removed if isinstance(part, Cut))

    @cached_property
    def holes(self) -> tuple[Hole, ...]:
        """The round holes that its work takes out of the blank; pocket bores are not its own."""
        return tuple(part for part in self._removed if isinstance(part, Hole))

    @cached_property
    def by_side(self) -> Mapping[Side, Face]:
        """Faces of the blank by side."""
        return {face.side: face for face in self.faces}

    @cached_property
    def wood(self) -> Blank:
        """Its faces and cuts as planes alone, board frame."""
        return Blank(
            tuple(face.plane for face in self.faces),
            tuple(tuple(face.plane for face in cut.faces) for cut in self.cuts),
        )

    def face(self, side: Side) -> Face:
        """The blank's face on a side.

        Raises:
            KeyError: the board has no such side.
        """
        return self.by_side[side]

    def outward(self, side: Side) -> Plane:
        """The outward plane of a face of the wood, also of a cut's.

        Raises:
            KeyError: the board has no such side.
        """
        for cut in self.cuts:
            for face in cut.faces:
                if face.side == side:
                    return face.plane.flipped
        return self.face(side).plane

    def region(self, side: Side) -> tuple[Plane, ...]:
        """The region of the cut that a face belongs to; nothing for a face of the blank."""
        for cut in self.cuts:
            if any(face.side == side for face in cut.faces):
                return tuple(face.plane for face in cut.faces if face.side != side)
        return ()

    def across(self, side: Side) -> float:
        """The size of the convex blank square to one of its faces, at right angles (mm)."""
        plane = self.face(side).plane
        size = (self.length, self.width, self.thickness)
        return plane.offset + sum(max(0.0, -n) * s for n, s in zip(plane.normal, size, strict=True))

    def inside(self, p: Vec, tolerance: float = 1e-9) -> bool:
        """Whether a point (board frame, mm) lies in the blank, cuts not regarded."""
        return all(face.plane.gap(p) >= -tolerance for face in self.faces)

    def size(self, side: Side) -> float:
        """Length, width or thickness: how far it is from a side to the one opposite (mm)."""
        return (self.thickness, self.width, self.length)[SIDES.index(side) // 2]

    def placed(self, pose: Pose) -> Board:
        """The same board elsewhere."""
        return replace(self, pose=pose)


def _run(end: Plane, y: float, z: float) -> float:
    """Where a line along the grain meets the plane of an end (x, mm)."""
    return (end.offset - end.normal[1] * y - end.normal[2] * z) / end.normal[0]
