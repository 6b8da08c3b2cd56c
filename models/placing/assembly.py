"""Where boards stand, solved from which of their faces meet and which are flush.

Everything that a joint says of place is one kind of statement: a plane of one board lies in a plane
of another, facing it (the faces that meet) or facing the same way (flush, or set back by a
distance). With three statements of independent directions against boards that stand already, a
board stands as well: two directions give its turn, three planes its place. What is left over must
agree with that; where it does not, it is the statement that is reported.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..maths.geometry import Array, Plane, Pose, Vec, along, cross, dot, unit, vec
from ..piece.board import Board
from ..words.errors import SlantboreError

CLOSED = 1e-6  # mm; what is off by less is as stated
_PARALLEL = 1e-6
_TURNED = 1e-7

Print = Callable[[float], str]
"""Prints a length given in mm."""


@dataclass(frozen=True)
class Statement:
    """One thing that a joint says of the place of its two boards.

    Attributes:
        joint: number of the joint.
        item: which of its further statements; None for the two faces that meet.
        first: name of a board, and `plane` one of its planes, in its frame.
        second: name of the other board, and `other` its plane.
        facing: whether the planes look at each other, or the same way.
        behind: how far the first plane lies behind the second one, mm (same way only).
        said: in words, for messages: "the left end of rail meets the inside face of leg".
    """

    joint: int
    item: int | None
    first: str
    plane: Plane
    second: str
    other: Plane
    facing: bool
    behind: float
    said: str


class UnsettledError(SlantboreError, ValueError):
    """Statements that leave a board no place, or more than one.

    Attributes:
        joint: number of the joint to look at; None where a board has no joint at all.
        item: which of its further statements, or None.
        board: name of the board.
    """

    def __init__(self, message: str, board: str, joint: int | None, item: int | None = None):
        super().__init__(message)
        self.board, self.joint, self.item = board, joint, item


@dataclass(frozen=True)
class _Row:
    """A statement about one board: where a plane of it (own frame) has to lie (project's)."""

    own: Plane
    target: Plane
    statement: Statement


def solve(
    boards: Mapping[str, Board],
    start: str,
    pose: Pose,
    statements: Sequence[Statement],
    length: Print,
) -> dict[str, Pose]:
    """Stand every board in its place.

    Args:
        boards: by name, in the order in which they are tried.
        start: the board that stands first, at `pose`.
        pose: of the first board.
        statements: of all joints, in order.
        length: prints a length.

    Raises:
        UnsettledError: a board is not held, held in two ways, or in ways that do not agree.
    """
    stands = {start: pose}
    while True:
        waiting = [name for name in boards if name not in stands]
        if not waiting:
            return stands
        for name in waiting:
            rows = list(_rows(name, stands, statements))
            found = _settled(name, rows, length)
            if found is not None:
                stands[name] = found
                break
        else:
            raise _loose(waiting, stands, statements)


def _rows(name: str, stands: Mapping[str, Pose], statements: Sequence[Statement]) -> Iterator[_Row]:
    """What the boards that stand say of one that does not."""
    for s in statements:
        for one, own, other, plane, beyond in (
            (s.first, s.plane, s.second, s.other, -s.behind),
            (s.second, s.other, s.first, s.plane, s.behind),
        ):
            if one == name and other in stands:
                there = stands[other].plane(plane)
                placed = Plane(there.normal, there.offset + beyond)
                yield _Row(own, there.flipped if s.facing else placed, s)


def _settled(name: str, rows: Sequence[_Row], length: Print) -> Pose | None:
    """The pose that the rows give; None where they hold the board too little."""
    if not rows:
        return None
    first = rows[0]
    second = next((r for r in rows if _sine(first.own.normal, r.own.normal) > _PARALLEL), None)
    if second is None:
        return None
    own = dot(first.own.normal, second.own.normal)
    wanted = dot(first.target.normal, second.target.normal)
    if abs(own - wanted) > _TURNED:
        raise _turned(name, second, [first], abs(_angle(own) - _angle(wanted)))
    matrix = _triad(first.target, second.target) @ _triad(first.own, second.own).T
    matrix = np.where(np.abs(matrix) < 1e-12, 0.0, matrix)
    matrix = np.where(np.abs(np.abs(matrix) - 1.0) < 1e-12, np.sign(matrix), matrix)
    turn = Pose((0.0, 0.0, 0.0), vec(matrix[:, 0]), vec(matrix[:, 1]))

    used: list[_Row] = []
    for row in rows:
        normals = np.array([r.target.normal for r in (*used, row)])
        if np.linalg.svd(normals, compute_uv=False)[-1] > _PARALLEL:
            used.append(row)
        if len(used) == 3:
            break
    else:
        return None
    normals = np.array([r.target.normal for r in used])
    shift = np.linalg.solve(normals, [r.target.offset - r.own.offset for r in used])
    pose = Pose(vec(np.where(np.abs(shift) < 1e-10, 0.0, shift)), turn.x, turn.y)
    for row in rows:
        there = pose.plane(row.own)
        cosine = dot(there.normal, row.target.normal)
        if cosine < 1 - _TURNED:
            raise _turned(name, row, used, _angle(cosine))
        off = there.offset - row.target.offset
        if abs(off) > CLOSED:
            raise _off(name, row, used, off, length)
    return pose


def _triad(a: Plane, b: Plane) -> Array:
    """Three directions at right angles from two planes, as columns."""
    z = unit(cross(a.normal, b.normal))
    return np.array([a.normal, cross(z, a.normal), z]).T


def _angle(cosine: float) -> float:
    return math.degrees(math.acos(min(1.0, max(-1.0, cosine))))


def _sine(a: Vec, b: Vec) -> float:
    return math.dist(cross(a, b), (0.0, 0.0, 0.0))


# --- what is wrong -------------------------------------------------------------------------------


def _turned(name: str, row: _Row, used: Sequence[_Row], degrees: float) -> UnsettledError:
    return _conflict(name, row, used, f"it is turned {degrees:.4g} degrees away from that")


def _off(name: str, row: _Row, used: Sequence[_Row], off: float, length: Print) -> UnsettledError:
    how = f"it is {length(abs(off))} off"
    if row.statement.facing:
        how = f"they {'run into each other by' if off > 0 else 'stay apart by'} {length(abs(off))}"
    return _conflict(name, row, used, how)


def _conflict(name: str, row: _Row, used: Sequence[_Row], how: str) -> UnsettledError:
    """A statement that the others do not leave room for."""
    s = row.statement
    held = _list(dict.fromkeys(u.statement.said for u in used if u is not row))
    if all(u.statement.joint == s.joint for u in used):
        message = f"{s.said}, but {held} hold {name} already: {how}; leave one of them out"
    else:
        message = f"the joints do not close: {s.said}, but where {held}, {how}"
    return UnsettledError(message, name, s.joint, s.item)


def _loose(
    waiting: Sequence[str], stands: Mapping[str, Pose], statements: Sequence[Statement]
) -> UnsettledError:
    """The board that is held most, and what it can still do."""
    held = {name: list(_rows(name, stands, statements)) for name in waiting}
    name = max(waiting, key=lambda n: _rank(held[n]))
    rows = held[name]
    if not rows:
        names = ", ".join(stands)
        return UnsettledError(f"no joint leads from {names} to {name}", name, None)
    joint = rows[-1].statement.joint
    said = _list(dict.fromkeys(r.statement.said for r in rows))
    if _rank(rows) == 1:
        message = (
            f"{name} can still slide and turn on that face: {said}, and nothing else; "
            "say of two of its other faces what they are flush with"
        )
    else:
        first = rows[0].own.normal
        second = next(r.own.normal for r in rows if _sine(first, r.own.normal) > _PARALLEL)
        way = _way(unit(cross(first, second)))
        message = f"{name} can still slide {way}: {said}; say what is flush that way"
    return UnsettledError(message, name, joint)


def _list(words: Iterable[str]) -> str:
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def _rank(rows: Sequence[_Row]) -> int:
    if not rows:
        return 0
    return int(np.linalg.matrix_rank(np.array([r.own.normal for r in rows]), tol=_PARALLEL))


def _way(direction: Vec) -> str:
    """A direction of the board in words."""
    lead = max(range(3), key=lambda axis: abs(direction[axis]))
    return f"along its {('length', 'width', 'thickness')[lead]}"


# --- faces that meet -----------------------------------------------------------------------------


def trace(joint: Plane, face: Plane) -> Plane | None:
    """A plane square to the joint's, through the line in which a face meets it.

    What is flush is flush where the boards meet: at a mitre the two outside edges share only that
    line. None where the face lies along the joint.
    """
    lean = dot(face.normal, joint.normal)
    square = along(face.normal, joint.normal, -lean)
    size = math.dist(square, (0.0, 0.0, 0.0))
    if size < _PARALLEL:
        return None
    return Plane(unit(square), (face.offset - lean * joint.offset) / size)
