"""Where to put the pencil, and what to set the drill to.

Two distances on the pocket face find a bore's axis.

With square ends they are plain distances, from an end and from an edge. At a mitre they belong to
the edge, which a square lies against: `run` is how far to go along it from its corner with the
end, `square` how far to go in from there. The edge is the nearer one whose corner is not cut away,
at a mitre the one at its long point.

             _____________________  inside edge
            /                     |
           /       x              |
          /        | square       |
         /         |              |
        /__________|______________| outside edge
     corner   run
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from ..maths.geometry import Plane, Vec, along, cross, dot, unit
from ..words.lengths import Unit, nearest_length, parse_length
from .board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, Cut, Face, Side
from .project import Bore, Project

_PAIRS: tuple[tuple[Side, Side], ...] = ((LEFT, RIGHT), (FRONT, BACK), (TOP, BOTTOM))
_ENDS = (LEFT, RIGHT)
_SQUARE = 1e-6
_FRACTIONS = (32, 64, 128, 256)  # of an inch
_PLACES = 1  # decimals of a mm that tell two settings apart: common practice, no source


@dataclass(frozen=True)
class MarkOut:
    """A bore as the bench sees it; lengths in mm, points in the board's frame.

    Attributes:
        mouth: where the axis meets the pocket face.
        corner: where the lines of `end` and `edge` meet on the pocket face.
        end: the end to measure from.
        edge: the edge (or face) to measure from.
        line: of the two, the one whose line on the pocket face is gone along, and in from.
        start: the other one, where that begins.
        run: along the line, from the corner.
        square: from the line, square to it.
        mitre: how far end and edge are off square to each other, degrees.
        end_is_left: whether the end is on the left with the pocket face up and the edge near you.
        turn: of the axis from square to the joint, degrees, counter-clockwise on the pocket face.
        depth: from the pocket face to the shoulder along the axis.
        pilot: from the shoulder to the bottom of the pilot along the axis.
    """

    mouth: Vec
    corner: Vec
    end: Face
    edge: Face
    line: Face
    start: Face
    run: float
    square: float
    mitre: float
    end_is_left: bool
    turn: float
    depth: float
    pilot: float

    @property
    def run_from(self) -> str:
        """What `run` is measured from, and which way, in words."""
        if self.mitre < _SQUARE:
            return f"from the {self.start.name}"
        return f"along the {self.line.name}, from its corner with the {self.start.name}"

    @property
    def square_from(self) -> str:
        """What `square` is measured from, in words."""
        return f"from the {self.line.name}" + (", square to it" if self.mitre >= _SQUARE else "")

    @property
    def leans(self) -> str:
        """Which way the drill's shank leans from square to the joint, in words.

        As one looks from the joint into the board, its pocket face up.
        """
        if abs(self.turn) < _SQUARE:
            return "none"
        return f"{abs(self.turn):.4g} degrees to the {'left' if self.turn > 0 else 'right'}"


def mark_out(board: Board, bore: Bore) -> MarkOut:
    """Measure a bore on its board.

    Raises:
        ValueError: the joint face does not border the pocket face, so there is no line to use.
    """
    pocket = board.face(bore.pocket_face)
    up = pocket.plane.normal
    reach = pocket.plane.gap(bore.exit) / dot(up, bore.back)
    mouth = along(bore.exit, bore.back, reach)

    pairs = [pair for pair in _PAIRS if bore.pocket_face not in pair]
    if not any(bore.joint_face in pair for pair in pairs):
        raise ValueError(f"{bore.name}: its joint face does not border its pocket face")
    others = next(pair for pair in pairs if bore.joint_face not in pair)
    at_end = bore.joint_face in _ENDS or not set(others) & set(_ENDS)

    joint = _line(board.face(bore.joint_face), pocket.plane)
    foot = along(mouth, joint.normal, joint.gap(mouth))

    def corner(side: Side) -> Vec:
        line, run = _line(board.face(side), pocket.plane), cross(up, joint.normal)
        return along(foot, run, line.gap(foot) / dot(line.normal, run))

    def preference(side: Side) -> tuple[bool, bool, float]:
        lean = dot(joint.normal, _line(board.face(side), pocket.plane).normal)
        short_point = at_end and lean > _SQUARE
        gone = any(_removes(cut, corner(side)) for cut in board.cuts)
        return gone, short_point, round(math.dist(corner(side), foot), 6)

    other = min(others, key=preference)
    place = corner(other)
    line, start = board.face(bore.joint_face), board.face(other)
    end, edge = (line, start) if at_end else (start, line)
    end_line, edge_line = _line(end, pocket.plane), _line(edge, pocket.plane)
    mitre = math.degrees(math.asin(min(1.0, abs(dot(end_line.normal, edge_line.normal)))))
    beside = along(mouth, edge_line.normal, edge_line.gap(mouth))
    if mitre >= _SQUARE and end_line.gap(beside) > 0:
        line, start, foot = edge, end, beside
    right = cross(up, edge_line.normal)  # towards you is the edge's normal
    # In from the joint is against its normal; across is to the left of that.
    inward, across = -dot(joint.normal, bore.back), -dot(cross(up, joint.normal), bore.back)
    return MarkOut(
        mouth=mouth,
        corner=place,
        end=end,
        edge=edge,
        line=line,
        start=start,
        run=math.dist(place, foot),
        square=_line(line, pocket.plane).gap(mouth),
        mitre=mitre,
        end_is_left=dot(end_line.normal, right) < 0,
        turn=math.degrees(math.atan2(across, inward)),
        depth=reach - bore.shoulder,
        pilot=bore.shoulder + bore.pilot_into_mate,
    )


def fraction(board: Board, bore: Bore, mark: MarkOut, unit: Unit) -> int:
    """The fraction of an inch that both distances are printed to: 32 for thirty-seconds, or finer.

    A finer one where the rounding would take the bore out of its window.
    """
    if unit == "mm":
        return _FRACTIONS[0]
    pocket = board.face(bore.pocket_face).plane
    joint, line, start = (
        _line(face, pocket) for face in (board.face(bore.joint_face), mark.line, mark.start)
    )
    way = cross(pocket.normal, line.normal)
    sign = -1.0 if dot(way, start.normal) > 0 else 1.0
    beside = cross(pocket.normal, joint.normal)
    by_run, by_square = sign * dot(way, beside), -dot(line.normal, beside)
    for parts in _FRACTIONS:
        off_run, off_square = (
            parse_length(nearest_length(mm, unit, parts), unit) - mm
            for mm in (mark.run, mark.square)
        )
        if abs(by_run * off_run + by_square * off_square) <= max(0.0, bore.window.margin):
            return parts
    return _FRACTIONS[0] if bore.window.margin < 0 else parts


def lie(board: Board, bore: Bore, mark: MarkOut) -> str:
    """Say how the board lies on the bench and which end is then meant."""
    hand = "left" if mark.end_is_left else "right"
    pocket = board.face(bore.pocket_face).name
    return f"{hand}-hand end, with the {pocket} up and the {mark.edge.name} towards you"


@dataclass(frozen=True)
class Setting:
    """One setting of a drill and its guide.

    Attributes:
        drill: which.
        stop: from the pocket face to the shoulder along the axis (mm).
        guide: from the pocket face down to where the axis leaves by the joint face (mm).
    """

    drill: str
    stop: float
    guide: float


def settings(project: Project) -> Mapping[Setting, tuple[Bore, ...]]:
    """The bores by what the drill is set to for them, in the project's order.

    What differs by less than a tenth of a millimetre is one setting, told as the first bore has it.
    """
    found: dict[tuple[str, float, float], tuple[Setting, list[Bore]]] = {}
    for bore in project.bores:
        plane = project.board_named[bore.board].face(bore.pocket_face).plane
        guide = plane.gap(bore.exit)
        stop = guide / dot(plane.normal, bore.back) - bore.shoulder
        setting = Setting(bore.drill.name, round(stop, 6), round(guide, 6))
        key = (setting.drill, round(stop, _PLACES), round(guide, _PLACES))
        found.setdefault(key, (setting, []))[1].append(bore)
    return {setting: tuple(bores) for setting, bores in found.values()}


def _line(face: Face, pocket: Plane) -> Plane:
    """The line where a face meets the pocket face, as the plane through it square to the latter."""
    lean = dot(face.plane.normal, pocket.normal)
    inward = along(face.plane.normal, pocket.normal, -lean)
    size = math.sqrt(dot(inward, inward))
    return Plane(unit(inward), (face.plane.offset - lean * pocket.offset) / size)


def _removes(cut: Cut, p: Vec) -> bool:
    return all(face.plane.gap(p) > 1e-6 for face in cut.faces)
