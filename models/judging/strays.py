"""Screws against the boards that are no part of their joints, where all of them stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from ..maths.clearance import Rods, trimmed
from ..maths.geometry import Array, Vec, vec
from ..piece.board import Board
from ..piece.bodies import screw_rods
from ..piece.convex import Convex, rod_gaps
from ..piece.project import Bore, Project

_TOUCH = 1e-6  # mm; a screw that is in by less is taken to touch


def screws_in_others(
    project: Project, standing: Mapping[str, Sequence[Convex]]
) -> Iterator[tuple[Bore, Board, float, Vec]]:
    """Yield each body of a screw that shares wood with a board that is neither bored nor its mate.

    Args:
        project: placed.
        standing: the boards' convex pieces where they stand, by name.

    Yields:
        The bore, the board, how deep the body may be in it at most (mm), and a point of both in
        the project's frame.
    """
    bores = project.bores
    pieces = [(board, piece) for board in project.boards for piece in standing[board.name]]
    if not bores or not pieces:
        return
    rods = _bodies(project)
    names = {board.name: number for number, board in enumerate(project.boards)}
    owners = np.array([names[board.name] for board, _ in pieces])
    own = np.repeat([(names[bore.board], names[bore.mate]) for bore in bores], 2, axis=0)
    low, high = _boxes(rods)
    boxes = np.array([piece.box for _, piece in pieces])
    near = np.ones((len(rods), len(pieces)), dtype=bool)
    for axis in range(3):  # much faster than all three at once
        near &= low[:, axis, None] < boxes[None, :, 1, axis]
        near &= high[:, axis, None] > boxes[None, :, 0, axis]
    near &= (owners[None] != own[:, :1]) & (owners[None] != own[:, 1:])
    for column in np.flatnonzero(near.any(axis=0)):
        board, piece = pieces[column]
        rows = np.flatnonzero(near[:, column])
        some = rods.take(rows)
        gaps = rod_gaps(some, piece)
        inside = gaps < -_TOUCH
        for row, gap, point in zip(
            rows[inside], gaps[inside], _shared(some.take(np.flatnonzero(inside)), piece),
            strict=True,
        ):  # fmt: skip
            if np.isfinite(point).all():
                yield bores[row // 2], board, float(-gap), vec(point)


def _bodies(project: Project) -> Rods:
    """Shank and head of every screw, bore by bore, in the project's frame."""
    points, axes, stretches = [], [], []
    for bore in project.bores:
        pose = project.board_named[bore.board].pose
        for stretch in screw_rods(bore.screw, bore.shoulder):
            points.append(pose.point(bore.exit))
            axes.append(pose.direction(bore.back))
            stretches.append(stretch)
    low, high, radius = np.array(stretches).T
    return Rods(np.array(points), np.array(axes), low, high, radius)


def _boxes(rods: Rods) -> tuple[Array, Array]:
    """Lowest and highest coordinates of rods, (N, 3) each."""
    ends = np.stack([rods.point + end[:, None] * rods.axis for end in (rods.low, rods.high)])
    side = rods.radius[:, None] * np.sqrt(np.maximum(0.0, 1.0 - rods.axis**2))
    return ends.min(axis=0) - side, ends.max(axis=0) + side


def _shared(rods: Rods, piece: Convex) -> Array:
    """The middle of what each rod shares with a piece (N, 3); not finite where they only touch."""
    count = len(rods)
    normals = np.broadcast_to(piece.normals, (count, *piece.normals.shape))
    offsets = np.broadcast_to(piece.offsets - _TOUCH, (count, len(piece.offsets)))
    ways = np.stack([rods.axis, -rods.axis], axis=1)
    top, points = trimmed(rods, normals, offsets).support(ways)
    middle: Array = points.mean(axis=1)
    middle[~np.isfinite(top).all(axis=1)] = np.inf
    return middle
