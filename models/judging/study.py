"""What the rules read: a project's walls and distances, measured once, in closed form."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

import numpy as np

from ..maths.clearance import Rods, clipped, padded, rod_distances
from ..maths.geometry import Array, Ints, Vec, vec
from ..maths.nearest import rods_apart
from ..maths.walls import most_targets, walls
from ..piece.bodies import Presence, hole_rods, presences, rods_from
from ..piece.contact import Overlap, overlaps
from ..piece.convex import Convex, standing
from ..piece.grain import in_mate
from ..piece.project import Project
from .contacts import openings, parted
from .measures import HoleNearness, Nearness, Opening, Parted, Stray, Wall, WallKey
from .order import Order, assembly_order
from .strays import screws_in_others


@dataclass(frozen=True)
class Study:
    """A project with what was measured on it, in closed form.

    Attributes:
        project: placed.
        solid: whether it was measured on solids instead.
    """

    project: Project
    solid: ClassVar[bool] = False

    @cached_property
    def _rows(self) -> tuple[Presence, ...]:
        return tuple(presences(self.project.bores, self.project.board_named))

    @cached_property
    def _sheathed(self) -> tuple[Presence, ...]:
        """The same with one enclosing rod per slotted pilot: for cuts and other bores."""
        if not any(bore.slot > 0 for bore in self.project.bores):
            return self._rows
        return tuple(presences(self.project.bores, self.project.board_named, sheathed=True))

    @cached_property
    def walls(self) -> tuple[Wall, ...]:
        """Every wall of every bore: to each face that it may not leave by, and to each cut."""
        rows, sheathed = self._rows, self._sheathed
        if not rows:
            return ()
        # Slotted pilots are asked twice, as they are for faces and in one sheath for cuts; all
        # that is asked goes in one question.
        asked = rows if sheathed is rows else (*rows, *sheathed)
        first = len(asked) - len(sheathed)
        boards = {row.board.name: row.board for row in asked}
        place = {name: i for i, name in enumerate(boards)}
        woods = [board.wood for board in boards.values()]
        width, deep = most_targets(woods)
        needs = np.full((len(asked), width + deep), -np.inf)
        limits = self.project.limits
        for i, row in enumerate(asked):
            board, mate = row.board, row.board.name == row.bore.mate
            # The two rods at a slot's ends bound its walls, but they do not fill it.
            if i < len(rows) and (row.bore.slot <= 0 or row.body != "pilot"):
                for column, face in enumerate(board.faces):
                    needs[i, column] = limits.tip_cover if mate else limits.wall(face.seen)
            if i >= first:
                for column, cut in enumerate(board.cuts, width):
                    needs[i, column] = limits.tip_cover if mate else limits.wall(cut.seen)
        whose = np.array([place[row.board.name] for row in asked])
        measured = walls(rods_from(asked), woods, whose, needs)
        points = _in_project(asked, measured.points).tolist()
        gaps, outs, exact = measured.gaps.tolist(), measured.out.tolist(), measured.exact.tolist()
        found = []
        for i, row in enumerate(rows):
            left, bore, body, board = _left_by(row), row.bore, row.body, row.board
            for c, face in enumerate(board.faces):
                if face.side not in left:
                    found.append(
                        Wall(
                            bore, body, board, face.side, face.name, face.seen, False,
                            gaps[i][c], outs[i][c], exact[i][c], tuple(points[i][c]),
                        )
                    )  # fmt: skip
        for i, row in enumerate(sheathed, first):
            for c, cut in enumerate(row.board.cuts, width):
                found.append(
                    Wall(
                        row.bore, row.body, row.board, cut.name, cut.name, cut.seen, True,
                        gaps[i][c], outs[i][c], exact[i][c] and cut.round is None,
                        tuple(points[i][c]),
                    )
                )  # fmt: skip
        return tuple(found)

    @cached_property
    def nearness(self) -> tuple[Nearness, ...]:
        """Per board and pair of bores that enter it, how near their bodies come."""
        bodies = self._sheathed
        if not bodies:
            return ()
        normals, offsets = padded([[f.plane for f in row.board.faces] for row in bodies])
        rods = clipped(rods_from(bodies), normals, offsets)
        # A body that misses its board is none of this measure's business.
        by_board: dict[str, list[int]] = defaultdict(list)
        for i in np.flatnonzero(rods.low <= rods.high).tolist():
            by_board[bodies[i].board.name].append(i)
        number = {name: n for n, name in enumerate(sorted({row.bore.name for row in bodies}))}
        whose = np.array([number[row.bore.name] for row in bodies])
        pairs = [
            np.array(rows)[np.stack(np.triu_indices(len(rows), 1))] for rows in by_board.values()
        ]
        first, second = np.concatenate(pairs, axis=1) if pairs else np.empty((2, 0), dtype=np.intp)
        other = whose[first] != whose[second]
        first, second = first[other], second[other]
        if not len(first):
            return ()
        gaps, points = self._apart(rods.take(first), rods.take(second), (normals, offsets), first)
        boards = {name: n for n, name in enumerate(by_board)}
        at = np.array([boards.get(row.board.name, 0) for row in bodies])[first]
        low, high = np.sort([whose[first], whose[second]], axis=0)
        # Of the bodies of two bores in a board those that come nearest, in the order of pairs.
        pair = (at * len(number) + low) * len(number) + high
        nearest = np.lexsort((gaps, pair))
        nearest = nearest[np.diff(pair[nearest], prepend=-1) > 0]
        _, met = np.unique(pair, return_index=True)
        return tuple(
            Nearness(
                bodies[first[k]].bore,
                bodies[second[k]].bore,
                bodies[first[k]].board,
                float(gaps[k]),
                bodies[first[k]].board.pose.point(vec(points[k])),
            )
            for k in nearest[np.argsort(met)].tolist()
        )

    @cached_property
    def entries(self) -> Mapping[str, tuple[Vec, Vec]]:
        """Per bore where its screw enters the mate, and its tip, in the mate's frame (mm)."""
        boards = self.project.board_named
        return {
            bore.name: in_mate(bore, boards[bore.board], boards[bore.mate])[:2]
            for bore in self.project.bores
        }

    @cached_property
    def beside_holes(self) -> tuple[HoleNearness, ...]:
        """Per board and bore that enters it, how near it comes to the nearest round hole."""
        by_board: dict[str, list[Presence]] = defaultdict(list)
        for row in self._sheathed:
            if row.board.holes:
                by_board[row.board.name].append(row)
        found: dict[tuple[str, str], HoleNearness] = {}
        for rows in by_board.values():
            board = rows[0].board
            holes = hole_rods(board)
            if holes is None:
                continue
            first, second = np.divmod(np.arange(len(rows) * len(holes)), len(holes))
            normals, offsets = padded([[f.plane for f in board.faces]] * len(rows))
            mine = clipped(rods_from(rows), normals, offsets)
            hulls = (normals, offsets)
            gaps, points = self._apart(mine.take(first), holes.take(second), hulls, first)
            table = gaps.reshape(len(rows), len(holes))
            for i, row in enumerate(rows):
                j = int(table[i].argmin())
                gap, key = float(table[i, j]), (row.bore.name, board.name)
                if key not in found or gap < found[key].gap:
                    at = board.pose.point(vec(points[i * len(holes) + j]))
                    found[key] = HoleNearness(row.bore, board.holes[j], board, gap, at)
        return tuple(found.values())

    def _apart(
        self, a: Rods, b: Rods, hulls: tuple[Array, Array], which: Ints
    ) -> tuple[Array, Array]:
        """The distances of pairs of rods, exact where they are less than is asked.

        Args:
            a: one of each pair.
            b: the other.
            hulls: planes of blanks, padded.
            which: of them each pair lies in.
        """
        gaps, points = rod_distances(a, b)
        near = np.flatnonzero(gaps < self.project.limits.between)
        if len(near):
            normals, offsets = (planes[which[near]] for planes in hulls)
            found, at = rods_apart(a.take(near), b.take(near), normals, offsets)
            more = found > gaps[near]
            gaps[near[more]], points[near[more]] = found[more], at[more]
        return gaps, points

    @cached_property
    def convex(self) -> Mapping[str, tuple[Convex, ...]]:
        """Per board its convex pieces where it stands; bores not regarded."""
        return {board.name: standing(board) for board in self.project.boards}

    @cached_property
    def overlaps(self) -> tuple[Overlap, ...]:
        """Every two boards that share wood, bores not regarded."""
        return tuple(overlaps(self.convex))

    @cached_property
    def strays(self) -> tuple[Stray, ...]:
        """Screws in boards that are no part of their joints, by all the bodies of each screw."""
        found: dict[tuple[str, str], Stray] = {}
        deepest = sorted(screws_in_others(self.project, self.convex), key=lambda one: -one[2])
        for bore, board, depth, point in deepest:
            found.setdefault((bore.name, board.name), Stray(bore, board, depth, point))
        return tuple(found.values())

    @cached_property
    def openings(self) -> tuple[Opening, ...]:
        """Joints whose faces are to be pressed together and do not touch."""
        return tuple(openings(self.project, self.convex))

    @cached_property
    def parted(self) -> tuple[Parted, ...]:
        """Boards that their cuts leave in several pieces, bores not regarded."""
        return tuple(parted(self.project, self.convex))

    @cached_property
    def order(self) -> Order:
        """How the boards go together."""
        return assembly_order(self.project, self.convex)

    @cached_property
    def closed(self) -> Mapping[WallKey, float]:
        """Least wall of every bore to every face and cut (mm)."""
        least: dict[WallKey, float] = {}
        for wall in self.walls:
            least[wall.key] = min(wall.gap, least.get(wall.key, np.inf))
        return least

    @cached_property
    def promised(self) -> Mapping[WallKey, float]:
        """All that the proof on solids is held against: walls, and distances between bores (mm)."""
        near: list[Nearness | HoleNearness] = [*self.nearness, *self.beside_holes]
        return {**self.closed, **{one.key: one.gap for one in near}}

    def thinnest(self, *, in_mate: bool) -> tuple[Wall, ...]:
        """Per bore, board and target the body that leaves least, before all one that comes out."""
        return self._thinnest[in_mate]

    @cached_property
    def _thinnest(self) -> tuple[tuple[Wall, ...], tuple[Wall, ...]]:
        """The same in the bored boards, and in their mates."""
        least: tuple[dict[WallKey, Wall], dict[WallKey, Wall]] = ({}, {})
        for wall in self.walls:
            some, key = least[wall.in_mate], wall.key
            known = some.get(key)
            # A cut's gap is a bound: a body that meets it may have more than one that does not.
            if known is None or (not wall.out, wall.gap) < (not known.out, known.gap):
                some[key] = wall
        own, mates = (tuple(some.values()) for some in least)
        return own, mates

    def needed(self, wall: Wall) -> float:
        """The limit on a wall (mm)."""
        limits = self.project.limits
        return limits.tip_cover if wall.in_mate else limits.wall(wall.seen)


def study_of(project: Project) -> Study:
    """The study of a project, made once: kept on the project, as a cached property would be."""
    study: Study = project.__dict__.setdefault("_study", Study(project))
    return study


def _in_project(rows: Sequence[Presence], points: Array) -> Array:
    """Points (N, M, 3) in the frames of the rows' boards, in the project's (mm)."""
    turns = np.array([row.board.pose.matrix for row in rows])
    origins = np.array([row.board.pose.origin for row in rows])
    placed: Array = points @ np.swapaxes(turns, 1, 2) + origins[:, None]
    return placed


def _left_by(row: Presence) -> tuple[str, ...]:
    """The sides that a body is meant to leave by."""
    bore = row.bore
    if row.board.name == bore.mate:
        return (bore.mate_face,)
    return (bore.pocket_face,) if row.body == "counterbore" else (bore.pocket_face, bore.joint_face)
