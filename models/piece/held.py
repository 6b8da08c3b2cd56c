"""What boards hold already, for those bores that come after."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from ..maths.clearance import Rods, clipped, joined, padded
from ..maths.geometry import Vec
from .board import Board
from .bodies import hole_rods, presences, rods_from
from .convex import Convex, Crowd
from .project import Bore


@dataclass(frozen=True)
class Held:
    """What the boards hold already.

    Attributes:
        bores: placed.
        boards: all that a screw could run into, by name, those of the bores among them.
        known: what each bore takes up in a board, as far as it was worked out.
    """

    bores: tuple[Bore, ...]
    boards: Mapping[str, Board]
    known: dict[tuple[Bore, str], Rods] = field(default_factory=dict)
    crowd: Crowd = Crowd(())

    def around(
        self, bored: Board, mate: Board, ends: Sequence[Vec], far: float
    ) -> tuple[tuple[str, Convex], ...]:
        """The other boards' convex pieces near a line, in the bored board's frame.

        Args:
            bored: the board with the line.
            mate: its mate; neither of the two counts.
            ends: of the line, bored board's frame (mm).
            far: how near is near (mm).

        Returns:
            Each piece with its board's role.
        """
        line = np.array([bored.pose.point(end) for end in ends])
        low, high = line.min(axis=0) - far, line.max(axis=0) + far
        found = self.crowd.near(low, high, (bored.name, mate.name))
        return tuple(
            (board.role, piece.within(bored.pose))
            for board, piece in found
            # Boxes meet more often than what is in them does.
            if (line @ piece.normals.T - piece.offsets).min(axis=0).max() < far
        )

    def rods(self, where: Board, frame: Board) -> Rods | None:
        """What bores and holes take up in the board `where`, in the frame of another board."""
        near = [bore for bore in self.bores if where.name in (bore.board, bore.mate)]
        self._work_out([bore for bore in near if (bore, where.name) not in self.known], where)
        parts = [hole_rods(where), *(self.known[bore, where.name] for bore in near)]
        found = [rods for rods in parts if rods is not None]
        if not found:
            return None
        rods = found[0] if len(found) == 1 else joined(*found)
        turn = frame.pose.matrix.T @ where.pose.matrix
        shift = frame.pose.matrix.T @ (np.array(where.pose.origin) - np.array(frame.pose.origin))
        return replace(rods, point=rods.point @ turn.T + shift, axis=rods.axis @ turn.T)

    def _work_out(self, bores: Sequence[Bore], where: Board) -> None:
        """Keep what each bore takes up in a board, in the board's frame."""
        rows = [
            r for r in presences(bores, self.boards, sheathed=True) if r.board.name == where.name
        ]
        if not rows:
            return
        rods = clipped(rods_from(rows), *padded([[f.plane for f in where.faces]] * len(rows)))
        names = np.array([row.bore.name for row in rows])
        for bore in bores:
            self.known[bore, where.name] = rods.take(np.flatnonzero(names == bore.name))
