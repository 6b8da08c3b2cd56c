"""Convex pieces of a board, and whether two of them meet: resting, or one on its way."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import combinations

import numpy as np

from ..maths.clearance import Rods
from ..maths.geometry import Array, Plane, Pose, crosses, vertices
from .board import Board, Round

# Two boards that share less than this across are taken to touch (mm).
TOUCH = 1e-4
_FLAT = 1e-9


@dataclass(frozen=True)
class Convex:
    """A convex polytope.

    Attributes:
        normals: (M, 3) outward.
        offsets: (M,) mm.
        corners: (V, 3) mm.
        edges: (E, 3) directions of its edges, each once.
    """

    normals: Array
    offsets: Array
    corners: Array
    edges: Array

    def placed(self, pose: Pose) -> Convex:
        """The polytope of a board's frame in the project's."""
        turn, shift = pose.matrix, np.array(pose.origin)
        normals = self.normals @ turn.T
        return Convex(
            normals,
            self.offsets + normals @ shift,
            self.corners @ turn.T + shift,
            self.edges @ turn.T,
        )

    def within(self, pose: Pose) -> Convex:
        """The polytope of the project's frame in that of a board with a pose."""
        turn, shift = pose.matrix, np.array(pose.origin)
        return Convex(
            self.normals @ turn,
            self.offsets - self.normals @ shift,
            (self.corners - shift) @ turn,
            self.edges @ turn,
        )

    @cached_property
    def box(self) -> Array:
        """Lowest and highest coordinates, (2, 3) mm."""
        return np.array([self.corners.min(axis=0), self.corners.max(axis=0)])


def convex(planes: Sequence[Plane]) -> Convex | None:
    """The polytope within the planes; None where nothing, or only a sliver, is left."""
    planes = list(dict.fromkeys(planes))  # a cut often ends where another one began
    normals = np.array([p.normal for p in planes])
    offsets = np.array([p.offset for p in planes])
    corners = vertices(normals, offsets)
    if len(corners) < 4:
        return None
    if min(np.ptp(corners @ normal) for normal in normals) < TOUCH:
        return None
    on = np.abs(corners @ normals.T - offsets) <= 1e-6
    held = on.sum(axis=0) >= 3
    normals, offsets, on = normals[held], offsets[held], on[:, held]
    edges = [
        crosses(normals[i], normals[j])
        for i, j in combinations(range(len(normals)), 2)
        if (on[:, i] & on[:, j]).sum() >= 2
    ]
    return Convex(normals, offsets, corners, _directions(np.array(edges)))


def _directions(vectors: Array) -> Array:
    """Each direction once, at length one, its first large component positive."""
    size = np.linalg.norm(vectors, axis=1)
    vectors = vectors[size > 1e-9] / size[size > 1e-9, None]
    lead = np.argmax(np.abs(vectors) > 1e-6, axis=1)
    sign = np.sign(vectors[np.arange(len(vectors)), lead])
    unique: Array = np.unique(np.round(vectors * sign[:, None], 9), axis=0)
    return unique


def pieces(board: Board) -> tuple[Convex, ...]:
    """The board without its cuts, as convex pieces in the board's frame; bores not regarded.

    What lies outside a cut is split off plane by plane, so the pieces do not overlap. At a curve
    they are the wood to less than half a millimetre. Like boards are cut up once.
    """
    return _cut_up(*shape(board))


Region = tuple[tuple[Plane, ...], Round | None]


def shape(board: Board) -> tuple[tuple[Plane, ...], tuple[Region, ...]]:
    """What boards of one shape share, bores not regarded."""
    cuts = ((tuple(face.plane for face in cut.faces), cut.round) for cut in board.cuts)
    return tuple(face.plane for face in board.faces), tuple(cuts)


@lru_cache(maxsize=1024)
def _cut_up(blank: tuple[Plane, ...], cuts: tuple[Region, ...]) -> tuple[Convex, ...]:
    whole = [blank]
    for region, curve in cuts:
        split: list[tuple[Plane, ...]] = []
        for planes in whole:
            if convex([*planes, *region]) is None:
                split.append(planes)
                continue
            inside = planes
            for plane in region:
                outside = (*inside, plane.flipped)
                if convex(outside) is not None:
                    split.append(outside)
                inside = (*inside, plane)
            if curve is not None and not curve.hollow:
                split.append((*inside, *_about(curve, region[0])))
        whole = split
    found = (convex(planes) for planes in whole)
    return tuple(piece for piece in found if piece is not None)


def _about(curve: Round, chord: Plane) -> tuple[Plane, ...]:
    """The flat sides about what is left of a rounded corner beyond the plane that cuts it off."""
    half = math.degrees(math.acos(-chord.gap(curve.point) / curve.radius))
    return curve.sides(chord.flipped.normal, half)


def standing(board: Board) -> tuple[Convex, ...]:
    """The board's convex pieces where it stands.

    They are kept on the board, as a cached property would be.
    """
    if "_standing" not in board.__dict__:
        there = tuple(piece.placed(board.pose) for piece in pieces(board))
        board.__dict__["_standing"] = there
    found: tuple[Convex, ...] = board.__dict__["_standing"]
    return found


@dataclass(frozen=True)
class Crowd:
    """Boards where they stand, by convex pieces, to ask which of them are near a place."""

    boards: tuple[Board, ...]

    @cached_property
    def pieces(self) -> tuple[tuple[Board, Convex], ...]:
        """Every convex piece with its board."""
        return tuple((board, piece) for board in self.boards for piece in standing(board))

    @cached_property
    def boxes(self) -> Array:
        """(P, 2, 3) of the pieces, mm."""
        return np.array([piece.box for _, piece in self.pieces]).reshape(-1, 2, 3)

    def near(self, low: Array, high: Array, without: Iterable[str]) -> list[tuple[Board, Convex]]:
        """The pieces whose boxes meet a box (3,) and (3,), but for those of some boards."""
        met = (self.boxes[:, 0] < high).all(axis=1) & (self.boxes[:, 1] > low).all(axis=1)
        some = (self.pieces[i] for i in np.flatnonzero(met))
        return [(board, piece) for board, piece in some if board.name not in without]


def rod_gaps(rods: Rods, piece: Convex) -> Array:
    """Certified lower bound on the distance of N rods to a convex piece (mm), in its frame.

    The largest gap that one direction tells between the two: of the piece's planes, of the rod's
    ends, and sideways past an edge. Each is linear where a rod moves without turning, so the bound
    is convex there.

    Args:
        rods: N of them; `low`, `high` and `radius` may be (S, N), for S stretches of each axis.
        piece: the piece.

    Returns:
        (N,) or (S, N) bounds; one that is negative is how deep the rod may be in the piece at most.
    """
    axis = rods.axis[:, None]
    sideways = crosses(axis, piece.edges[None])
    size = np.linalg.norm(sideways, axis=2, keepdims=True)
    sideways = np.where(size > _FLAT, sideways / np.where(size > _FLAT, size, 1.0), 0.0)
    planes = np.broadcast_to(piece.normals, (len(axis), *piece.normals.shape))
    ways = np.concatenate([planes, axis, -axis, sideways, -sideways], axis=1)
    lean = np.einsum("nki,ni->nk", ways, rods.axis)
    square = np.sum(ways * ways, axis=2)
    side = np.sqrt(np.maximum(square - lean * lean, 0.0))
    apart = np.einsum("nki,ni->nk", ways, rods.point) - (ways @ piece.corners.T).max(axis=2)
    apart = np.where(square > 0.0, apart, -np.inf)
    low, high, radius = (values[..., None] for values in (rods.low, rods.high, rods.radius))
    found: Array = (apart - radius * side + np.minimum(lean * low, lean * high)).max(axis=-1)
    return found


def separation(a: Convex, b: Convex, way: Array | None = None) -> float:
    """The largest distance (mm) between `a` and `b` along any direction that can tell them apart.

    Two convex bodies are apart when some face normal of either, or some product of two edges,
    tells them apart (textbook: separating axes). Negative: the least way that one would have to
    move for them to touch.

    Args:
        a: stands.
        b: stands, or moves along `way`: the moved polytope sweeps a convex body.
        way: vector (3,) mm; None: none.
    """
    step = np.zeros(3) if way is None else way
    edges = b.edges if way is None else np.concatenate([b.edges, step[None] / np.linalg.norm(step)])
    axes = [a.normals, b.normals, crosses(a.edges[:, None], edges[None]).reshape(-1, 3)]
    if way is not None:
        axes.append(crosses(b.edges, step / np.linalg.norm(step)))
    tested = np.concatenate(axes)
    size = np.linalg.norm(tested, axis=1)
    tested = tested[size > 1e-6] / size[size > 1e-6, None]
    on_a, on_b, moved = tested @ a.corners.T, tested @ b.corners.T, tested @ step
    low = on_b.min(axis=1) + np.minimum(moved, 0.0)
    high = on_b.max(axis=1) + np.maximum(moved, 0.0)
    return float(np.maximum(low - on_a.max(axis=1), on_a.min(axis=1) - high).max())


def meets(a: Convex, b: Convex, way: Array | None = None) -> bool:
    """Whether `a` and `b` share wood, or come to when `b` moves along the vector `way` (3,) mm."""
    return separation(a, b, way) < -TOUCH


def boxes_meet(a: Array, b: Array, way: Array | None = None) -> bool:
    """Whether two boxes (2, 3) overlap, the second one swept along `way`."""
    low, high = b[0], b[1]
    if way is not None:
        low, high = low + np.minimum(way, 0.0), high + np.maximum(way, 0.0)
    return bool((low < a[1] - TOUCH).all() and (high > a[0] + TOUCH).all())


def joined_box(parts: Iterable[Convex]) -> Array:
    """The box (2, 3) about some polytopes."""
    boxes = np.array([part.box for part in parts])
    return np.array([boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)])
