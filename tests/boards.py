"""Boards as tests want them: beside the work of the trade, regions and holes stated by numbers."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from slantbore.models.maths.geometry import ORIGIN, Plane, Pose, Vec, dot, unit
from slantbore.models.piece.board import (
    TOP,
    Board,
    Cut,
    Face,
    Hole,
    Print,
    Seen,
    Side,
    Stock,
    Work,
)
from slantbore.models.work.end_cut import sawn


@dataclass(frozen=True)
class Stated:
    """Work that is stated by what it takes out and by the normals of the sides that it tilts."""

    parts: tuple[Cut | Hole, ...] = ()
    sides: Mapping[Side, Vec] = field(default_factory=dict)
    called: str = "stated"
    done_from: Side = TOP
    datum: tuple[Side, ...] = ()

    def tilts(self) -> Mapping[Side, Vec]:
        return self.sides

    def removes(self, board: Board) -> tuple[Cut | Hole, ...]:
        return self.parts

    def told(self, board: Board, length: Print) -> str:
        return "; ".join(part.name for part in self.parts)


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
    work: tuple[Work, ...] = (),
    pose: Pose = ORIGIN,
) -> Board:
    """A board with its ends cut square or at a mitre, and what is taken out of it."""
    done: tuple[Work, ...] = (*sawn(left_mitre, right_mitre), *work)
    if cuts or holes:
        done = (*done, Stated((*cuts, *holes)))
    depth = stock.thickness if thickness is None else thickness
    return Board(
        name, piece, role, stock, length, width, depth, names or {}, seen or {}, done, pose
    )


def cut(
    name: str,
    planes: Mapping[str, tuple[Vec, float]],
    seen: Mapping[str, Seen] | Seen = "concealed",
) -> Cut:
    """A cut from the planes that bound its region: part to (normal out of it, offset in mm)."""
    faces = []
    for part, (normal, offset) in planes.items():
        size = math.sqrt(dot(normal, normal))
        how: Seen = seen if isinstance(seen, str) else seen.get(part, "concealed")
        plane = Plane(unit(normal), offset / size)
        faces.append(Face(f"{name} {part}", f"{name} {part}", plane, how))
    return Cut(name, tuple(faces))
