"""Bores against each other on the solids: exact kernel distances within one board.

Two pockets, two screws that cross in a leg, a screw and a pocket, a bore and a round hole. What is
measured is what measure.py calls the void of a bore: what drill and screw take up in the board's
blank. Boxes about the bores tell which pairs are worth asking the kernel about, and they owe
nothing to the closed form; a pair that like boards have in common is asked about once.
"""

from __future__ import annotations

from .kernel import cq  # first, for it says what is missing where the kernel does not load

# isort: split
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np

from ...models.judging.measures import HoleNearness, Nearness
from ...models.maths.geometry import Array, Vec, lean
from ...models.piece.board import Board, Hole
from ...models.piece.bodies import overhang
from ...models.piece.bored import in_mate
from ...models.piece.groups import Key, blank_key, hole_key
from ...models.piece.project import Bore, Project
from .measure import common, distance, mate_void, own_void, places
from .solids import blank_solid, hole_tool

# mm past the limit that boxes still count as near: those pairs hold the closed form to account.
_BESIDES = 10.0
_SAME = 1e-6  # mm

Measured = tuple[float, Vec]
Box = tuple[Array, Array]
"""Least and greatest corner, board's frame (mm)."""


@dataclass(frozen=True)
class _Place:
    """A bore in one of its two boards."""

    bore: Bore
    board: Board
    key: Key
    box: Box


@dataclass(frozen=True)
class _Kernel:
    """What was built and measured, so that like bores in like boards are not built again."""

    project: Project
    blanks: dict[Key, cq.Solid] = field(default_factory=dict)
    voids: dict[Key, cq.Shape | None] = field(default_factory=dict)
    gaps: dict[tuple[Key, Key], Measured | None] = field(default_factory=dict)

    def blank(self, board: Board) -> cq.Solid:
        key = blank_key(board)
        if key not in self.blanks:
            self.blanks[key] = blank_solid(board)
        return self.blanks[key]

    def void(self, place: _Place) -> cq.Shape | None:
        """What the bore and its screw take up in the board; None when they miss it."""
        if place.key not in self.voids:
            blank, bore = self.blank(place.board), place.bore
            self.voids[place.key] = (
                own_void(place.board, bore, blank)
                if bore.board == place.board.name
                else mate_void(self.project, bore, blank)
            )
        return self.voids[place.key]

    def hole(self, board: Board, hole: Hole) -> cq.Shape | None:
        """What a round hole takes out of the blank."""
        key = _hole_key(board, hole)
        if key not in self.voids:
            self.voids[key] = common(hole_tool(board, hole), self.blank(board))
        return self.voids[key]

    def between(self, a: _Place, b: _Place) -> Measured | None:
        """Distance between two bores, with the place on the first; None where one is not there."""
        if (a.key, b.key) not in self.gaps:
            self.gaps[a.key, b.key] = _gap(self.void(a), self.void(b))
        return self.gaps[a.key, b.key]

    def beside(self, place: _Place, hole: Hole) -> Measured | None:
        """Distance from a bore to a hole."""
        key = (place.key, _hole_key(place.board, hole))
        if key not in self.gaps:
            self.gaps[key] = _gap(self.void(place), self.hole(place.board, hole))
        return self.gaps[key]


def nearness(project: Project) -> tuple[Nearness | HoleNearness, ...]:
    """Every two bores of a board, and every bore and its nearest hole, that come near each other.

    Pairs whose boxes stay clear by more than the limit and a little are not there.
    """
    inside: dict[str, list[_Place]] = defaultdict(list)
    for bore in project.bores:
        for board, key in places(project, bore):
            inside[board.name].append(_Place(bore, board, key, _bore_box(project, bore, board)))
    reach = project.limits.between + _BESIDES
    kernel = _Kernel(project)
    found: list[Nearness | HoleNearness] = []
    for some in inside.values():
        boxes = [place.box for place in some]
        for a, b in combinations(range(len(some)), 2):
            if not _near(boxes[a], boxes[b], reach):
                continue
            one, other = some[a], some[b]
            measured = kernel.between(one, other)
            if measured:
                gap, point = measured
                at = one.board.pose.point(point)
                found.append(Nearness(one.bore, other.bore, one.board, gap, at))
        found += _beside_holes(kernel, some, reach)
    return tuple(found)


def _beside_holes(kernel: _Kernel, some: Sequence[_Place], reach: float) -> Iterator[HoleNearness]:
    """The bores of one board, each with the hole that is nearest, where one is near."""
    board = some[0].board
    holes = [(hole, _hole_box(board, hole)) for hole in board.holes]
    for place in some:
        near = [
            (*measured, hole)
            for hole, box in holes
            if _near(place.box, box, reach) and (measured := kernel.beside(place, hole))
        ]
        if near:
            gap, point, hole = min(near, key=lambda one: one[0])
            yield HoleNearness(place.bore, hole, board, gap, board.pose.point(point))


# --- small helpers -------------------------------------------------------------------------------


def _gap(a: cq.Shape | None, b: cq.Shape | None) -> Measured | None:
    if a is None or b is None:
        return None
    gap, point = distance(a, b)
    # Between solids that share space the kernel may find a distance from skin to skin.
    shared = common(a, b)
    if shared is not None:
        x, y, z = shared.Center().toTuple()
        return 0.0, (x, y, z)
    return gap, point


def _hole_key(board: Board, hole: Hole) -> Key:
    return ("hole", blank_key(board), hole_key(hole))


def _bore_box(project: Project, bore: Bore, board: Board) -> Box:
    """A box about all that a bore and its screw take up in a board."""
    drill = bore.drill
    thick = max(bore.pilot_radius, drill.pilot_radius, bore.screw.radius)
    if board.name == bore.board:
        radius = max(thick, drill.counterbore_radius) + bore.slot / 2
        below = radius * lean(bore.back, board.face(bore.joint_face).plane.normal)
        return _rod_box(bore.exit, bore.back, -below, bore.run_out(board), radius)
    entry, back = in_mate(project, bore)
    above = thick * lean(back, board.face(bore.mate_face).plane.normal)
    return _rod_box(entry, back, -max(bore.engagement, bore.pilot_into_mate), above, thick)


def _hole_box(board: Board, hole: Hole) -> Box:
    return _rod_box(hole.mouth, hole.inward, -overhang(board, hole), hole.depth, hole.radius)


def _rod_box(point: Vec, axis: Vec, low: float, high: float, radius: float) -> Box:
    along = np.array(axis)
    ends = np.array(point) + np.outer((low, high), along)
    side = radius * np.sqrt(np.maximum(0.0, 1.0 - along**2))
    return ends.min(axis=0) - side, ends.max(axis=0) + side


def _near(a: Box, b: Box, reach: float) -> bool:
    return bool((np.maximum(a[0], b[0]) - np.minimum(a[1], b[1]) <= reach).all())
