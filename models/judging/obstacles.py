"""What stands in whose way: boards before a board that moves, boards before a driver.

Everything here is asked by number: boards and ways in the order of the assembly's own lists.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ..maths.geometry import Array, Vec, vec
from ..piece.board import Board
from ..piece.convex import TOUCH, Convex, boxes_meet, joined_box, meets
from ..piece.groups import upright
from ..piece.project import Joint
from .reach import Hindrance, hindrances

_SAME = 1e-6

Those = NDArray[np.bool_]
"""Which of the boards, (n,)."""


@dataclass(frozen=True)
class Assembly:
    """Boards that hang together by joints, with what hinders what.

    Attributes:
        boards: in the project's order.
        joints: between them.
        solids: per board its convex pieces in the project's frame.
    """

    boards: tuple[Board, ...]
    joints: tuple[Joint, ...]
    solids: Mapping[str, Sequence[Convex]]
    _met: dict[tuple[int, int, int], bool] = field(default_factory=dict, repr=False, compare=False)

    @cached_property
    def number(self) -> Mapping[str, int]:
        """Boards by name."""
        return {board.name: i for i, board in enumerate(self.boards)}

    @cached_property
    def ends(self) -> tuple[tuple[int, int], ...]:
        """The two boards of each joint."""
        return tuple((self.number[j.first], self.number[j.second]) for j in self.joints)

    @cached_property
    def out(self) -> tuple[tuple[Vec, Vec], ...]:
        """Per joint the outward normals of its two faces, project's frame."""

        def normal(name: str, side: str) -> Vec:
            board = self.boards[self.number[name]]
            return board.pose.direction(board.face(side).plane.normal)

        return tuple(
            (normal(j.first, j.first_face), normal(j.second, j.second_face)) for j in self.joints
        )

    # --- drivers ------------------------------------------------------------------------------

    @cached_property
    def hindered(self) -> Mapping[str, tuple[Hindrance, ...]]:
        """Per bore the boards in its driver's way."""
        named = {board.name: board for board in self.boards}
        bores = [bore for joint in self.joints for bore in joint.bores]
        found: dict[str, list[Hindrance]] = defaultdict(list)
        for hindrance in hindrances(bores, named, self.solids):
            found[hindrance.bore.name].append(hindrance)
        return {name: tuple(some) for name, some in found.items()}

    @cached_property
    def locks(self) -> tuple[tuple[int, ...], ...]:
        """Per joint the boards in the way of one of its drivers."""
        return tuple(
            tuple(
                dict.fromkeys(
                    self.number[hindrance.board]
                    for bore in joint.bores
                    for hindrance in self.hindered.get(bore.name, ())
                )
            )
            for joint in self.joints
        )

    # --- boards on their way ------------------------------------------------------------------

    @cached_property
    def ways(self) -> tuple[Vec, ...]:
        """The directions that a board may leave by: square to its joints and between two of them.

        A group moves as one, so its members need each other's directions: every board may leave by
        every one.
        """
        own: list[list[Vec]] = [[] for _ in self.boards]
        for (first, second), ((x, y, z), _) in zip(self.ends, self.out, strict=True):
            own[first].append((-x, -y, -z))
            own[second].append((x, y, z))
        return _distinct(way for some in own for way in _distinct(some))

    @cached_property
    def _far(self) -> float:
        return float(np.linalg.norm(np.ptp(self._boxes[:, :, :3], axis=(0, 1)))) + 1.0

    @cached_property
    def _boxes(self) -> Array:
        """Per board its box, (n, 2, 3)."""
        return np.array([joined_box(self.solids[board.name]) for board in self.boards])

    def size(self, some: Iterable[int]) -> float:
        """The longest way through the box round some boards (mm)."""
        boxes = self._boxes[sorted(some)]
        return round(float(np.linalg.norm(boxes[:, 1].max(0) - boxes[:, 0].min(0))), 3)

    @cached_property
    def _along(self) -> tuple[Array, ...]:
        """Per way the boards' boxes (n, 2, 3) in a frame whose last axis is the way."""
        corners = [np.concatenate([c.corners for c in self.solids[b.name]]) for b in self.boards]
        starts = np.cumsum([0, *map(len, corners[:-1])])
        found = []
        for way in self.ways:
            turned = np.concatenate(corners) @ np.array([*upright(way), way]).T
            low, high = (f.reduceat(turned, starts) for f in (np.minimum, np.maximum))
            found.append(np.stack([low, high], axis=1))
        return tuple(found)

    def before(self, one: int, way: int, there: Those) -> Iterator[int]:
        """Yield the boards that one would run into, the nearest first.

        Args:
            one: the board that moves.
            way: by which of the ways.
            there: the boards that are regarded.
        """
        boxes, move = self._along[way], self._far * np.array(self.ways[way])
        low, high = boxes[one]
        near = there & (boxes[:, 1, 2] > low[2] + TOUCH)
        near &= ((boxes[:, 0, :2] < high[:2] - TOUCH) & (boxes[:, 1, :2] > low[:2] + TOUCH)).all(1)
        low, high = self._boxes[one]
        low, high = low + np.minimum(move, 0.0), high + np.maximum(move, 0.0)
        near &= ((self._boxes[:, 0] < high - TOUCH) & (self._boxes[:, 1] > low + TOUCH)).all(1)
        near[one] = False
        some = np.flatnonzero(near)
        for other in some[np.argsort(boxes[some, 0, 2], kind="stable")].tolist():
            if self._meets(one, way, other):
                yield other

    def _meets(self, one: int, way: int, other: int) -> bool:
        key = (one, way, other)
        if key not in self._met:
            move = self._far * np.array(self.ways[way])
            self._met[key] = any(
                meets(a, b, move)
                for b in self.solids[self.boards[one].name]
                for a in self.solids[self.boards[other].name]
                if boxes_meet(a.box, b.box, move)
            )
        return self._met[key]


def _distinct(ways: Iterable[Vec]) -> tuple[Vec, ...]:
    """Directions, each once; then those between two that are neither alike nor opposed."""
    found: list[Vec] = []

    def add(way: Vec) -> None:
        if all(max(abs(a - b) for a, b in zip(way, old, strict=True)) > _SAME for old in found):
            found.append(way)

    for way in ways:
        add(way)
    plain = tuple(found)
    for i, a in enumerate(plain):
        for b in plain[i + 1 :]:
            both = np.array(a) + np.array(b)
            size = float(np.linalg.norm(both))
            if 0.1 < size < 1.99 and len(plain) <= 6:
                add(vec(both / size))
    return tuple(found)
