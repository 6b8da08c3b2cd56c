"""Whether the driver comes down a bore's axis: what its bit and its body pass through.

.-----------.
bit                     .-----'   driver   |       from the screw's head: the bit, then the
.---------------------.-'      '-----.      |       driver's body, both swept back along the
==head==================='               '-----'       axis by the length the screw is driven
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..maths.clearance import Rods, trimmed
from ..maths.geometry import Array, Vec, along
from ..piece.board import Board
from ..piece.bodies import Tool, driver_rods
from ..piece.convex import Convex
from ..piece.project import Bore


@dataclass(frozen=True)
class Hindrance:
    """A board in the driver's way.

    Attributes:
        bore: whose screw cannot be driven while the board is there.
        board: name of the board.
        tool: which part of the driver meets it.
        point: where, project's frame (mm).
    """

    bore: Bore
    board: str
    tool: Tool
    point: Vec


def sweep(bore: Bore, board: Board) -> dict[Tool, Rods]:
    """What bit and body sweep while the screw is driven, as one rod each in the project's frame."""
    ends = driver_rods(bore, board)
    point = np.array([board.pose.point(bore.exit)])
    axis = np.array([board.pose.direction(bore.back)])
    return {
        tool: Rods(point, axis, np.array([low]), np.array([high]), np.array([radius]))
        for tool, (low, high, radius) in ends.items()
    }


def hindrances(
    bores: Sequence[Bore], boards: Mapping[str, Board], solids: Mapping[str, Sequence[Convex]]
) -> list[Hindrance]:
    """Every board in the way of every screw's driver, exactly.

    Args:
        bores: whose screws are driven.
        boards: by name.
        solids: per board its convex pieces in the project's frame; the boards regarded.
    """
    names = [name for name, parts in solids.items() for _ in parts]
    parts = [part for some in solids.values() for part in some]
    if not bores or not parts:
        return []
    boxes = np.array([part.box for part in parts])
    asked: list[tuple[Bore, Tool, int]] = []
    rods: list[Rods] = []
    for bore in bores:
        for tool, rod in sweep(bore, boards[bore.board]).items():
            near = _near(rod, boxes)
            for i in np.flatnonzero(near).tolist():
                # The bit turns inside the bore of its own board and leaves by its mouth.
                if tool == "bit" and names[i] == bore.board:
                    continue
                asked.append((bore, tool, i))
                rods.append(rod)
    if not asked:
        return []
    joined = Rods(
        *(np.concatenate([getattr(r, f) for r in rods]) for f in Rods.__dataclass_fields__)
    )
    normals, offsets = _stacked([parts[i] for _, _, i in asked])
    top, points = trimmed(joined, normals, offsets).support(-joined.axis[:, None, :])
    found: dict[tuple[str, str], Hindrance] = {}
    for k in np.flatnonzero(np.isfinite(top[:, 0])).tolist():
        bore, tool, i = asked[k]
        x, y, z = (float(v) for v in points[k, 0])
        found.setdefault((bore.name, names[i]), Hindrance(bore, names[i], tool, (x, y, z)))
    return list(found.values())


def entry(bore: Bore, board: Board) -> Vec:
    """Where the bore's axis enters the pocket face, project's frame (mm)."""
    plane = board.face(bore.pocket_face).plane
    sine = sum(n * b for n, b in zip(plane.normal, bore.back, strict=True))
    return board.pose.point(along(bore.exit, bore.back, plane.gap(bore.exit) / sine))


def _near(rod: Rods, boxes: Array) -> Array:
    """Which boxes (N, 2, 3) the rod's own box meets."""
    ends = rod.point + np.array([[rod.low[0]], [rod.high[0]]]) * rod.axis
    side = rod.radius[0] * np.sqrt(np.maximum(0.0, 1 - rod.axis[0] ** 2))
    low, high = ends.min(axis=0) - side, ends.max(axis=0) + side
    near: Array = ((low < boxes[:, 1]) & (high > boxes[:, 0])).all(axis=1)
    return near


def _stacked(parts: Sequence[Convex]) -> tuple[Array, Array]:
    width = max(len(part.offsets) for part in parts)
    normals, offsets = np.zeros((len(parts), width, 3)), np.ones((len(parts), width))
    for i, part in enumerate(parts):
        normals[i, : len(part.offsets)] = part.normals
        # Touching is not being in the way.
        offsets[i, : len(part.offsets)] = part.offsets - 1e-6
    return normals, offsets
