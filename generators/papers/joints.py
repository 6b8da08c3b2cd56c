"""A page of joints: each kind that is used, cut through the middle of a pocket and its screw."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ...models.maths.geometry import Plane, Vec, along, dot, unit
from ...models.piece.board import Board
from ...models.piece.project import Bore, Project
from ...models.words.lengths import Unit, nearest_length
from ..drawing.fonts import wrapped
from ..drawing.marks import Dimension, Drawing, Hatch, Leader, Mark, Placed, Point, Polyline, Sheet
from ..solids.product import Product
from . import Pages
from .frame import UNMEASURED, Room, centred, fitting, grid, lines, pages_of, room_of
from .paper import Paper

_COLUMNS, _ROWS, _TEXT = 2, 3, 21.0
_AROUND = 8.0  # mm of wood that is shown beyond the bore


@dataclass(frozen=True)
class Section:
    """A cut through a bore: square to the pocket face, along the bore's axis.

    Attributes:
        bore: that is cut.
        board: the bored one; points are in its frame.
        mate: the mating board.
        along: unit direction from the joint into the bored board.
        up: unit normal of the pocket face.
    """

    bore: Bore
    board: Board
    mate: Board
    along: Vec
    up: Vec

    def wood(self, board: Board) -> tuple[Point, ...]:
        """The outline of a board's blank in the section, as much of it as is shown (mm)."""
        left = -self.bore.engagement - _AROUND
        right = self.bore.run_out(self.board) + _AROUND
        depth = self.board.across(self.bore.pocket_face)
        top = self.board.face(self.bore.pocket_face).plane.gap(self.bore.exit)
        points = [
            (left, top - depth - _AROUND), (right, top - depth - _AROUND),
            (right, top + _AROUND), (left, top + _AROUND),
        ]  # fmt: skip
        for face in board.faces:
            world = board.pose.plane(face.plane)
            normal = self.board.pose.local_direction(world.normal)
            offset = world.offset - dot(world.normal, self.board.pose.origin)
            points = _clipped(points, self._line(Plane(normal, offset)))
        return tuple(points)

    def rod(self, start: float, end: float, radius: float, within: Board | None) -> list[Point]:
        """A round part of the bore between two places on its axis, as far as it is in a board."""
        c, s = dot(self.bore.back, self.along), dot(self.bore.back, self.up)
        points = [
            (a * c - r * s, a * s + r * c)
            for a, r in ((start, -radius), (end, -radius), (end, radius), (start, radius))
        ]
        for face in within.faces if within else ():
            points = _clipped(points, self._line(face.plane)) if within is self.board else points
        return points

    def at(self, place: float) -> Point:
        """A place on the bore's axis, counted from the exit (mm)."""
        return (place * dot(self.bore.back, self.along), place * dot(self.bore.back, self.up))

    def _line(self, plane: Plane) -> tuple[float, float, float]:
        """A plane of the bored board's frame as (a, b, c): inside is a u + b v <= c."""
        a, b = dot(plane.normal, self.along), dot(plane.normal, self.up)
        return a, b, plane.offset - dot(plane.normal, self.bore.exit)


def section(project: Project, bore: Bore) -> Section:
    """The section through a bore."""
    board = project.board_named[bore.board]
    up = board.face(bore.pocket_face).plane.normal
    flat = along(bore.back, up, -dot(bore.back, up))
    return Section(bore, board, project.board_named[bore.mate], unit(flat), up)


def _clipped(points: Sequence[Point], line: tuple[float, float, float]) -> list[Point]:
    a, b, c = line
    kept: list[Point] = []
    for i, here in enumerate(points):
        before = points[i - 1]
        p, q = c - a * before[0] - b * before[1], c - a * here[0] - b * here[1]
        if (p < 0) != (q < 0):
            t = p / (p - q)
            x, y = (m + (n - m) * t for m, n in zip(before, here, strict=True))
            kept.append((x, y))
        if q >= 0:
            kept.append(here)
    return kept


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """Six joints a sheet: one of each kind, thickness, drill and screw."""
    project = product.project
    found: dict[tuple[object, ...], tuple[str, Bore]] = {}
    for joint in project.joints:
        for bore in joint.bores:
            thick = project.board_named[bore.board].across(bore.pocket_face)
            key = (joint.kind, round(thick, 3), bore.drill, bore.screw, round(bore.shoulder, 3))
            found.setdefault(key, (joint.kind, bore))
    for page in pages_of(list(found.values()), _COLUMNS * _ROWS):
        marks: list[Mark] = []
        placed: list[Placed] = []
        for (kind, bore), room in zip(page, grid(room_of(paper), _COLUMNS, _ROWS), strict=False):
            number = len(placed) + 1
            cut = section(project, bore)
            picture = Room(room.x, room.y + _TEXT, room.wide, room.high - _TEXT)
            drawing = drawn(cut, f"joint {kind} {number}", project.unit)
            fitted = fitting(drawing, picture.wide, picture.high, UNMEASURED)
            placed.append(centred(fitted, picture))
            says = (
                f"{kind}, {bore.screw.title}: pocket in the {cut.board.role}, screw into the "
                f"{cut.mate.role}, as {bore.name}. "
                f"{legend(cut, project.unit)}."
            )
            marks += lines((room.x, room.y + _TEXT - 1.0), wrapped(says, room.wide, 2.2), 2.2)
        yield Sheet("Joints", paper.width, paper.height, tuple(marks), tuple(placed))


def drawn(cut: Section, name: str, unit: Unit) -> Drawing:
    """The section with the names of its parts and the distances that matter."""
    bore, screw = cut.bore, cut.bore.screw
    board, mate = cut.wood(cut.board), cut.wood(cut.mate)
    marks: list[Mark] = [Polyline(board, "outline", True), Hatch(board, 45.0, 1.6)]
    if len(mate) > 2:
        marks += [Polyline(mate, "outline", True), Hatch(mate, -45.0, 1.6)]
    s, out, deep = bore.shoulder, bore.run_out(cut.board), bore.pilot_into_mate
    rods = (
        (s, out, bore.drill.counterbore_radius, cut.board, 1.0),
        (-deep, s, bore.pilot_radius, None if deep else cut.board, 1.0),
        (-bore.engagement, s, screw.radius, None, 0.8),
        (s, s + screw.head_height, screw.head_radius, None, 0.8),
    )
    for start, end, radius, within, fill in rods:
        points = tuple(cut.rod(start, end, radius, within))
        marks.append(Polyline(points, "thin", True, fill))
    marks.append(Polyline((cut.at(-bore.engagement), cut.at(out)), "centre"))
    marks += _named(cut, board, unit)
    return Drawing(name, tuple(marks))


def _parts(cut: Section) -> Sequence[tuple[Point, str, float]]:
    """Where a part is pointed at, what it is called, and its size (mm)."""
    bore, big = cut.bore, cut.bore.drill.counterbore_radius
    wood = cut.wood(cut.board)
    low, top = min(p[1] for p in wood), max(p[1] for p in wood)
    sine = dot(bore.back, cut.up)
    seat = bore.shoulder * sine - big * dot(bore.back, cut.along)
    under = (cut.at(bore.shoulder)[0] + big * sine, 0.5 * (seat + low))
    return (
        (cut.at(0.5 * (bore.shoulder + top / sine)), "pocket, wide", 2 * big),
        (cut.at(0.5 * bore.shoulder), "pilot, long", bore.shoulder),
        (cut.at(-0.6 * bore.engagement), "screw in the other board", bore.engagement),
        (under, "wood under the pocket", seat - low),
    )


def _named(cut: Section, wood: Sequence[Point], unit: Unit) -> Iterator[Mark]:
    both = (*wood, *cut.wood(cut.mate))
    over, below = max(p[1] for p in both) + 5.0, min(p[1] for p in both) - 5.0
    for letter, (tip, _, _) in zip("abcd", _parts(cut), strict=True):
        end = (tip[0], below if letter == "d" else over)
        yield Leader((tip, end), letter)
    right, top, low = max(p[0] for p in wood), max(p[1] for p in wood), min(p[1] for p in wood)
    yield Dimension((right, low), (right, top), -4.0, nearest_length(top - low, unit))


def legend(cut: Section, unit: Unit) -> str:
    """How steep the drill is guided, and what the letters stand for, with sizes."""
    parts = (
        f"{letter} {word} {nearest_length(size, unit)}"
        for letter, (_, word, size) in zip("abcd", _parts(cut), strict=True)
    )
    return f"drill guide at {cut.bore.slope:g} degrees; {'; '.join(parts)}"


PAGES = Pages("Joints", 60, make)
