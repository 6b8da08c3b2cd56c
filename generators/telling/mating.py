"""Where each board comes to another: the line to draw on the mate, from which end, on which side.

The outline of the board's joint face on the mate has two long sides. The one nearer to an end or
edge of the mate is the line: the board lies beyond it, away from what it is measured from.

     _______________________________________ back edge
    |            |     |                    |
    |            |     |                    |     line: so far from the left end, here
    |            |  x  |                    |     the board lies where the x is
    |            |_____|                    |     starts: so far from the front edge
    |_______________________________________| front edge
  left end
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ...models.maths.geometry import Plane, dot
from ...models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, Side
from ...models.piece.lie import Lying, Point
from ...models.piece.project import Joint, Project

_SIDES: tuple[tuple[Side, Side], ...] = ((LEFT, RIGHT), (FRONT, BACK), (BOTTOM, TOP))
_FLUSH = 1e-6  # mm
_PARALLEL = 1e-6  # degrees
_FAR = 1e4  # mm; further than any board reaches beyond its mate


@dataclass(frozen=True)
class MatingLine:
    """Where one board comes to another; lengths in mm.

    Attributes:
        joint: between them.
        mate: the board that is marked.
        face: its side that is marked.
        other: the board that comes there.
        line: distance of the line, where it starts; 0: the board lies flush.
        line_from: the mate's side that it is measured from.
        start: from where along the line the board reaches.
        start_from: the mate's side that this is measured from.
        runs: how long the line is.
        thick: how far the board reaches beyond the line, square to it, be it beyond the mate.
        slant: how far the line is off parallel to `line_from`, degrees; positive: it moves away.
    """

    joint: Joint
    mate: Board
    face: Side
    other: Board
    line: float
    line_from: Side
    start: float
    start_from: Side
    runs: float
    thick: float
    slant: float


def footprint(project: Project, joint: Joint, around: float = 0.0) -> list[Point]:
    """The outline of a joint's first face on the face of its mate that lies up (mm).

    Fewer than three points where the board lies beside the mate.

    Args:
        project: placed.
        joint: of the two boards.
        around: how far the outline may reach outside of the mate.
    """
    mate, other = project.board_named[joint.second], project.board_named[joint.first]
    lying, pose = Lying(mate, joint.second_face), mate.pose
    fences = []
    for face in other.faces:
        if face.side != joint.first_face:
            world = other.pose.plane(face.plane)
            normal = pose.local_direction(world.normal)
            own = Plane(normal, world.offset - dot(world.normal, pose.origin))
            fences.append(lying.plane(own))
    return lying.section(fences, around=around)


def mating_lines(project: Project) -> Iterator[MatingLine]:
    """Yield the lines joint by joint.

    There are none where a board covers the whole face of its mate or lies askew over an edge of it,
    where a groove shows the place (housed), and where nothing is fastened (loose).
    """
    for joint in project.joints:
        if joint.kind in ("housed", "loose"):
            continue
        mate, other = project.board_named[joint.second], project.board_named[joint.first]
        outline = _tidy(footprint(project, joint, _FAR))
        lying = Lying(mate, joint.second_face)
        on_it = len(_tidy(footprint(project, joint))) > 2
        if on_it and not all(_spans(outline, axis, lying) for axis in (0, 1)):
            line = _line(joint, mate, other, outline, lying)
            if line is not None:
                yield line


def _tidy(points: Sequence[Point]) -> list[Point]:
    return [p for i, p in enumerate(points) if math.dist(p, points[i - 1]) > _FLUSH]


def _line(
    joint: Joint, mate: Board, other: Board, outline: Sequence[Point], lying: Lying
) -> MatingLine | None:
    """The long side that is nearer to an end or edge, counted from where it begins."""
    sides = [(outline[i - 1], outline[i]) for i in range(len(outline))]
    sides.sort(key=lambda side: -round(math.dist(*side), 6))
    longest = sides[0]
    across = _across(longest)
    if _spans(outline, across, lying) and any(_across(side) != across for side in sides):
        # From edge to edge there is nothing to measure: its line is where it ends.
        longest = next(side for side in sides if _across(side) != across)
        across = 1 - across
    along = 1 - across
    width, length = lying.size[across], lying.size[along]
    low = max(0.0, min(p[along] for p in longest))
    high = min(length, max(p[along] for p in longest))
    ends = ((low, False), (length - high, True))
    _, start_from, back = min((round(at, 6), _side(lying, along, far), far) for at, far in ends)
    found = []
    for side in sides:
        if math.dist(*side) > math.dist(*longest) / 2 and _parallel(side, longest):
            on_it = _within(side, along, length)
            first, last = sorted(on_it, key=lambda p: -p[along] if back else p[along])
            for far in (False, True):
                at = [width - p[across] if far else p[across] for p in (first, last)]
                if min(at) > -_FLUSH:
                    found.append((round(min(at), 6), _side(lying, across, far), at, first, last))
    if not found:
        return None
    _, line_from, (start, end), first, last = min(found)
    runs = math.dist(first, last)
    slant = math.degrees(math.atan2(end - start, abs(last[along] - first[along])))
    return MatingLine(
        joint, mate, joint.second_face, other,
        line=start if start > _FLUSH else 0.0,
        line_from=line_from.side,
        start=max(0.0, length - first[along] if back else first[along]),
        start_from=start_from.side,
        runs=runs,
        thick=max(abs(_area(first, last, p)) for p in outline) / runs,
        slant=slant if abs(slant) > _PARALLEL else 0.0,
    )  # fmt: skip


def _across(side: tuple[Point, Point]) -> int:
    """The axis that a side is measured along: the one that it runs across more."""
    (ax, ay), (bx, by) = side
    return 0 if abs(by - ay) > abs(bx - ax) else 1


def _within(side: tuple[Point, Point], axis: int, size: float) -> tuple[Point, Point]:
    """The stretch of a side that lies over the mate, by the axis that it runs along."""
    a, b = side

    def at(value: float) -> Point:
        share = (value - a[axis]) / (b[axis] - a[axis])
        return (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))

    low, high = sorted((a[axis], b[axis]))
    return at(max(0.0, low)), at(min(size, high))


def _spans(outline: Sequence[Point], axis: int, lying: Lying) -> bool:
    places = [p[axis] for p in outline]
    return min(places) < _FLUSH and max(places) > lying.size[axis] - _FLUSH


def _parallel(one: tuple[Point, Point], other: tuple[Point, Point]) -> bool:
    (a, b), (c, d) = one, other
    turned = _area(a, b, (a[0] + d[0] - c[0], a[1] + d[1] - c[1]))
    return abs(turned) < 1e-6 * math.dist(a, b) * math.dist(c, d)


def _area(a: Point, b: Point, c: Point) -> float:
    """Twice the area of a triangle, signed."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


@dataclass(frozen=True, order=True)
class _Datum:
    """A side to measure from; of two as near the left end, the front edge, the bottom."""

    rank: int
    side: Side


def _side(lying: Lying, axis: int, far: bool) -> _Datum:
    """The board's side at the low or the far end of one of the two axes."""
    way = lying.axes[axis]
    at = next(i for i in range(3) if abs(way[i]) > 0.5)
    high = far == (way[at] > 0)
    return _Datum(high, _SIDES[at][high])
