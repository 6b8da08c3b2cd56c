"""Marks in mm of paper as what every backend can draw: polylines, text, pictures."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from .fonts import width_of
from .marks import (
    Arc,
    Dimension,
    Drawing,
    Ellipse,
    Hatch,
    Leader,
    Line,
    Mark,
    Pen,
    Picture,
    Point,
    Polyline,
    Running,
    Table,
    Text,
    text_box,
)

Plain = Polyline | Text | Picture

CHORD = 0.02
"""How far a polyline may lie off the curve that it stands for, mm of paper."""
ARROW, SLIM = 2.2, 0.35  # mm of paper: length of an arrow, half its width
_GAP = 0.8  # mm of paper between a line and its text
_OVER = 1.2  # mm of paper that an extension line goes on beyond the dimension line
STRAIGHT, BENT, REACH = 1.5, 5.0, 6.5
"""A running dimension, mm of paper from its place: its line begins, is bent, ends at the number."""


def plain(mark: Mark) -> Iterator[Plain]:
    """What a mark is drawn with; all in mm of paper."""
    match mark:
        case Line():
            yield Polyline((mark.start, mark.end), mark.pen)
        case Polyline() | Text() | Picture():
            yield mark
        case Arc():
            points = ellipse_points(mark.centre, (mark.radius, 0.0), 1.0, mark.start, mark.end)
            yield Polyline(points, mark.pen)
        case Ellipse():
            points = ellipse_points(mark.centre, mark.major, mark.ratio, mark.start, mark.end)
            yield Polyline(points, mark.pen)
        case Dimension():
            yield from _dimension(mark)
        case Running():
            yield from _running(mark)
        case Hatch():
            yield from _hatch(mark)
        case Leader():
            yield from _leader(mark)
        case Table():
            yield from _table(mark)


def extent(drawing: Drawing) -> tuple[Point, Point]:
    """Lower left and upper right corner of what a drawing is on paper, its origin at 0, 0 (mm)."""
    points: list[Point] = []
    for mark in drawing.on_paper((0.0, 0.0)):
        for one in plain(mark):
            match one:
                case Text():
                    points += text_box(one)
                case Picture():
                    points += [one.at, (one.at[0] + one.width, one.at[1] + one.height)]
                case Polyline():
                    points += one.points
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys)), (max(xs), max(ys))


def ellipse_points(
    centre: Point, major: Point, ratio: float, start: float, end: float, chord: float = CHORD
) -> tuple[Point, ...]:
    """Points on an ellipse, no chord further from it than stated (mm)."""
    size = math.hypot(*major)
    step = 2 * math.acos(max(0.0, 1 - chord / size)) if size > chord else math.pi / 4
    parts = max(4, math.ceil(math.radians(abs(end - start)) / step))
    ux, uy = major
    vx, vy = -uy * ratio, ux * ratio
    turns = (math.radians(start + (end - start) * i / parts) for i in range(parts + 1))
    return tuple(
        (
            centre[0] + ux * math.cos(a) + vx * math.sin(a),
            centre[1] + uy * math.cos(a) + vy * math.sin(a),
        )
        for a in turns
    )


def _dimension(mark: Dimension) -> Iterator[Plain]:
    (ax, ay), (bx, by) = mark.start, mark.end
    turn = mark.turn
    angle = math.atan2(by - ay, bx - ax) if turn is None else math.radians(turn)
    ux, uy = math.cos(angle), math.sin(angle)
    nx, ny = -uy, ux
    reach = (bx - ax) * ux + (by - ay) * uy
    lift = (bx - ax) * nx + (by - ay) * ny
    p = (ax + nx * mark.away, ay + ny * mark.away)
    q = (p[0] + ux * reach, p[1] + uy * reach)
    side = math.copysign(1.0, mark.away)
    for foot, tip, rise in ((mark.start, p, mark.away), (mark.end, q, mark.away - lift)):
        if abs(rise) < _GAP:
            continue
        way = math.copysign(1.0, rise)
        low = (foot[0] + nx * way * _GAP, foot[1] + ny * way * _GAP)
        yield Polyline((low, (tip[0] + nx * side * _OVER, tip[1] + ny * side * _OVER)), "thin")
    says = width_of(mark.says, mark.height)
    inside = abs(reach) >= says + 2 * ARROW
    way = math.copysign(1.0, reach)
    if abs(reach) >= 3 * ARROW:
        yield Polyline((p, q), "thin")
        yield _arrow(p, (-ux * way, -uy * way))
        yield _arrow(q, (ux * way, uy * way))
    else:  # too short: the arrows point at it from outside
        tail = 2 * ARROW
        before = (p[0] - ux * way * tail, p[1] - uy * way * tail)
        after = (q[0] + ux * way * tail, q[1] + uy * way * tail)
        yield Polyline((before, p), "thin")
        yield Polyline((q, after), "thin")
        yield _arrow(p, (ux * way, uy * way))
        yield _arrow(q, (-ux * way, -uy * way))
    # Words stand above the line, read from below or from the right.
    degrees = math.degrees(angle) % 180.0
    flipped = 90.0 + 1e-6 < degrees <= 180.0 - 1e-6
    degrees = degrees - 180.0 if flipped else degrees
    tx, ty = -math.sin(math.radians(degrees)), math.cos(math.radians(degrees))
    if inside:
        middle = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
    else:
        far = says / 2 + (2 * ARROW if abs(reach) < 3 * ARROW else 0.0) + _GAP
        middle = (q[0] + ux * way * far, q[1] + uy * way * far)
    at = (middle[0] + tx * _GAP, middle[1] + ty * _GAP)
    yield Text(at, mark.says, mark.height, "middle", "base", degrees)


def _running(mark: Running) -> Iterator[Plain]:
    (x, y), (ox, oy) = mark.at, mark.out
    upright = ox != 0.0  # numbers beside the drawing, heights counted
    sx, sy = (0.0, mark.aside) if upright else (mark.aside, 0.0)

    def at(far: float, aside: float) -> Point:
        return (x + ox * far + sx * aside, y + oy * far + sy * aside)

    points = (at(STRAIGHT, 0.0), at(STRAIGHT + 1.0, 0.0), at(BENT, 1.0), at(REACH, 1.0))
    yield Polyline(points, "thin")
    along: Literal["left", "right"] = "left" if ox + oy > 0 else "right"
    turn = 0.0 if upright else 90.0
    yield Text(at(REACH + 0.6, 1.0), mark.says, mark.height, along, "middle", turn)


def _arrow(tip: Point, way: Point) -> Polyline:
    """A slim filled arrow whose tip points along `way`."""
    (x, y), (ux, uy) = tip, way
    back = (x - ux * ARROW, y - uy * ARROW)
    points = (
        tip,
        (back[0] - uy * SLIM, back[1] + ux * SLIM),
        (back[0] + uy * SLIM, back[1] - ux * SLIM),
    )
    return Polyline(points, None, True, 0.0)


def _hatch(mark: Hatch) -> Iterator[Plain]:
    angle = math.radians(mark.turn)
    ux, uy = math.cos(angle), math.sin(angle)
    across = [-p[0] * uy + p[1] * ux for p in mark.points]
    first = math.floor(min(across) / mark.gap) + 1
    for number in range(first, math.ceil(max(across) / mark.gap)):
        level = number * mark.gap
        meets: list[float] = []
        for (ax, ay), (bx, by) in zip(mark.points, (*mark.points[1:], mark.points[0]), strict=True):
            a, b = -ax * uy + ay * ux - level, -bx * uy + by * ux - level
            if (a < 0) != (b < 0):
                share = a / (a - b)
                x, y = ax + (bx - ax) * share, ay + (by - ay) * share
                meets.append(x * ux + y * uy)
        meets.sort()
        for low, high in zip(meets[::2], meets[1::2], strict=False):
            start = (low * ux - level * uy, low * uy + level * ux)
            end = (high * ux - level * uy, high * uy + level * ux)
            yield Polyline((start, end), mark.pen)


def _leader(mark: Leader) -> Iterator[Plain]:
    tip, after, last = mark.points[0], mark.points[1], mark.points[-1]
    size = math.dist(tip, after) or 1.0
    yield Polyline(mark.points, "thin")
    yield _arrow(tip, ((tip[0] - after[0]) / size, (tip[1] - after[1]) / size))
    right = last[0] >= mark.points[-2][0]
    at = (last[0] + (_GAP if right else -_GAP), last[1])
    yield Text(at, mark.says, mark.height, "left" if right else "right", "middle")


def _table(mark: Table) -> Iterator[Plain]:
    x, y = mark.at
    wide = sum(mark.widths)
    for number, row in enumerate((mark.head, *mark.rows)):
        base = y - (number + 1) * mark.pitch + mark.height * 0.55
        left = x
        for column, (cell, width) in enumerate(zip(row, mark.widths, strict=True)):
            if cell and column in mark.right:
                at = (left + width - _GAP, base)
                yield Text(at, cell, mark.height, "right", bold=number == 0)
            elif cell:
                yield Text((left + _GAP, base), cell, mark.height, bold=number == 0)
            left += width
        pen: Pen = "outline" if number == 0 else "faint"
        under = y - (number + 1) * mark.pitch
        if number < len(mark.rows) and not mark.rows[number][0] and number:
            continue  # the entry goes on
        yield Polyline(((x, under), (x + wide, under)), pen)
