"""A board: a convex blank bounded by planes, minus convex cuts; its faces carry how they are seen.

    z (thickness)
    |   y (width)            top face     z = thickness    left end   x = 0
    |  /                     bottom face  z = 0            right end  x = length
    | /                      front edge   y = 0
    +--------- x (length)    back edge    y = width

The board lies on the bench, its grain from left to right. A design may print other names for its
faces (outside edge, back); the side stays the key.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from ..maths.geometry import ORIGIN, Plane, Pose, Vec, dot, unit

Seen = Literal["show", "concealed", "hidden"]
Sawn = Literal["flat", "quarter"]
Side = str
TOP, BOTTOM = "top face", "bottom face"
FRONT, BACK = "front edge", "back edge"
LEFT, RIGHT = "left end", "right end"
SIDES = (TOP, BOTTOM, FRONT, BACK, LEFT, RIGHT)
OPPOSITE = {TOP: BOTTOM, BOTTOM: TOP, FRONT: BACK, BACK: FRONT, LEFT: RIGHT, RIGHT: LEFT}

CutKind = Literal["rebate", "groove", "opening", "notch", "taper"]


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
    seen: Seen = "show"


@dataclass(frozen=True)
class Cut:
    """A convex region taken out of a blank: where `plane.gap(x) >= 0` for all its faces.

    The region is left open where the cut runs out of the blank. Each face's plane is that of the
    *region* (normal out of the region, into the wood).
    """

    kind: CutKind
    name: str
    faces: tuple[Face, ...]


@dataclass(frozen=True)
class Hole:
    """A straight round hole with a flat bottom: a shelf pin, a slotted clearance's end.

    Attributes:
        name: what it is for.
        mouth: centre of the mouth on the face it is drilled from, board frame (mm).
        inward: unit direction of drilling.
        radius: mm.
        depth: mm along `inward`.
    """

    name: str
    mouth: Vec
    inward: Vec
    radius: float
    depth: float


@dataclass(frozen=True)
class Mark:
    """A pencil mark on a face of a board, made before the boards are joined.

    Attributes:
        says: what it is ("face mark"), or the word that is written.
        side: of the face.
        lines: from and to, board frame (mm); none where only the word is written.
    """

    says: str
    side: Side
    lines: tuple[tuple[Vec, Vec], ...] = ()


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
    """

    label: str
    material: str
    title: str
    thickness: float
    kind: Literal["softwood", "hardwood", "sheet"]
    sawn: Sawn = "flat"


@dataclass(frozen=True)
class Board:
    """One board of a project.

    Attributes:
        name: unique in the project; also the name of its product, mesh and file.
        piece: the piece of furniture it belongs to.
        role: its part in the piece ("top rail"); boards of one role may be identical.
        stock: what it is cut from.
        length: finished, long point to long point (mm, along x).
        width: mm, along y.
        thickness: mm, along z.
        faces: the planes that bound the blank, each once.
        cuts: convex regions taken out of the blank.
        holes: round holes that are not pocket bores.
        pose: where it stands in the project.
        hand: "left" or "right" for one of a mirrored pair, else "".
        marks: pencil marks that the sheets show; no wood is taken away.
    """

    name: str
    piece: str
    role: str
    stock: Stock
    length: float
    width: float
    thickness: float
    faces: tuple[Face, ...]
    cuts: tuple[Cut, ...] = ()
    holes: tuple[Hole, ...] = ()
    pose: Pose = ORIGIN
    hand: str = ""
    marks: tuple[Mark, ...] = ()

    @cached_property
    def by_side(self) -> Mapping[Side, Face]:
        """Faces of the blank by side."""
        return {face.side: face for face in self.faces}

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

    def placed(self, pose: Pose) -> Board:
        """The same board elsewhere."""
        return replace(self, pose=pose)


def blank(
    name: str,
    piece: str,
    role: str,
    stock: Stock,
    length: float,
    width: float,
    *,
    thickness: float | None = None,
    names: Mapping[Side, str] | None = None,
    seen: Mapping[Side, Seen] | None = None,
    left_mitre: float = 0.0,
    right_mitre: float = 0.0,
    cuts: tuple[Cut, ...] = (),
    holes: tuple[Hole, ...] = (),
    pose: Pose = ORIGIN,
    hand: str = "",
) -> Board:
    """A rectangular board with its ends cut square or at a mitre.

    A mitre is the angle off square in degrees; positive leaves the front edge the longer one:

             ______________                 back edge (short)
            /              |
           /  left_mitre   |  right_mitre
          /     = 45       |     = 0
         /_________________|                front edge (long)

    Raises:
        ValueError: the mitres meet before the back edge.
    """
    depth = stock.thickness if thickness is None else thickness
    names = names or {}
    seen = seen or {}
    taken = width * (math.tan(math.radians(left_mitre)) + math.tan(math.radians(right_mitre)))
    if min(length, length - taken) <= 0:
        raise ValueError(f"{name}: the mitres meet before they reach the other edge")
    cl, sl = math.cos(math.radians(left_mitre)), math.sin(math.radians(left_mitre))
    cr, sr = math.cos(math.radians(right_mitre)), math.sin(math.radians(right_mitre))
    planes = {
        TOP: Plane((0.0, 0.0, 1.0), depth),
        BOTTOM: Plane((0.0, 0.0, -1.0), 0.0),
        FRONT: Plane((0.0, -1.0, 0.0), 0.0),
        BACK: Plane((0.0, 1.0, 0.0), width),
        # A negative mitre keeps the back edge at full length.
        LEFT: Plane((-cl, sl, 0.0), sl * width if left_mitre < 0 else 0.0),
        RIGHT: Plane((cr, sr, 0.0), cr * length + (sr * width if right_mitre < 0 else 0.0)),
    }
    faces = tuple(
        Face(side, names.get(side, side), planes[side], seen.get(side, "show")) for side in SIDES
    )
    return Board(name, piece, role, stock, length, width, depth, faces, cuts, holes, pose, hand)


def cut(
    kind: CutKind,
    name: str,
    planes: Mapping[str, tuple[Vec, float]],
    seen: Mapping[str, Seen] | Seen = "hidden",
) -> Cut:
    """A cut from the planes that bound its region.

    Args:
        kind: what the trade calls it.
        name: unique within the board.
        planes: part of the cut (floor, wall) to (normal out of the region, offset in mm).
        seen: how its faces are seen.
    """
    faces = []
    for part, (normal, offset) in planes.items():
        size = math.sqrt(dot(normal, normal))
        how: Seen = seen if isinstance(seen, str) else seen.get(part, "hidden")
        faces.append(
            Face(f"{name} {part}", f"{name} {part}", Plane(unit(normal), offset / size), how)
        )
    return Cut(kind, name, tuple(faces))
