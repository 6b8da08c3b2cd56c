"""Boards alike as a maker sees them: turned end for end the same, mirrored a pair.

Other files tell boards apart in their own frames, for a file or a setting belongs to one frame. On
the bench a board has no frame: what can be turned over into another one is cut and counted with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import product

from ..maths.geometry import ORIGIN, Plane, Vec, along, cross, dot
from .board import Board, Cut, Hole
from .bored import holes_in
from .project import Project

# Five places, off by a little that no shop measure has, so that noise does not straddle a step.
_PLACES, _OFF = 5, 3.7e-7

Turn = tuple[Vec, Vec, Vec]
"""Rows of a signed permutation, in the frame at the middle of the board."""
Key = tuple[object, ...]


Lines = Mapping[str, Sequence[Sequence[Vec]]]
"""What is drawn on boards, by their names: outlines in the board's frame (mm)."""


def like_boards(project: Project, drawn: Lines | None = None) -> tuple[tuple[Board, ...], ...]:
    """Boards of one stock that can be turned into each other together, in the project's order.

    Args:
        project: that the boards belong to.
        drawn: lines that must come over each other as well.
    """
    found: dict[Key, list[Board]] = {}
    for board in project.boards:
        found.setdefault(_key(project, board, drawn, mirrored=False), []).append(board)
    return tuple(tuple(boards) for boards in found.values())


def hands(project: Project, drawn: Lines | None = None) -> Mapping[str, str]:
    """`left` or `right` by board, for those that are mirror images of others; none for the rest.

    What the design says of a board stands. Else the left ones are those that lie further left in
    their pieces, or further front, or lower.
    """
    alike = like_boards(project, drawn)
    rows = {_key(project, boards[0], drawn, mirrored=False): boards for boards in alike}
    middles = {board.name: _middle(project, board) for board in project.boards}
    pieces = _piece_middles(project, middles)
    found: dict[str, str] = {}
    for key, boards in rows.items():
        image = _key(project, boards[0], drawn, mirrored=True)
        if image == key or image not in rows or boards[0].name in found:
            continue
        others = rows[image]
        mine, theirs = _lie(boards, middles, pieces), _lie(others, middles, pieces)
        left, right = (boards, others) if mine <= theirs else (others, boards)
        found |= {board.name: "left" for board in left}
        found |= {board.name: "right" for board in right}
    return {b.name: b.hand or found.get(b.name, "") for b in project.boards}


def _lie(
    boards: tuple[Board, ...], middles: Mapping[str, Vec], pieces: Mapping[str, Vec]
) -> tuple[float, ...]:
    """How far right, back and up of the middle of their pieces boards lie on the whole."""
    offs = [
        tuple(a - b for a, b in zip(middles[board.name], pieces[board.piece], strict=True))
        for board in boards
    ]
    return tuple(round(sum(axis) / len(boards), 3) + 0.0 for axis in zip(*offs, strict=True))


def _middle(project: Project, board: Board) -> Vec:
    """Of a board, in the frame of its piece: right, back and up are the piece's own."""
    half = (board.length / 2, board.width / 2, board.thickness / 2)
    return project.stand(board.piece).local_point(board.pose.point(half))


def _piece_middles(project: Project, middles: Mapping[str, Vec]) -> Mapping[str, Vec]:
    found: dict[str, list[Vec]] = {}
    for board in project.boards:
        found.setdefault(board.piece, []).append(middles[board.name])
    means: dict[str, Vec] = {}
    for piece, places in found.items():
        x, y, z = (sum(axis) / len(places) for axis in zip(*places, strict=True))
        means[piece] = (x, y, z)
    return means


# --- keys ----------------------------------------------------------------------------------------


def _key(project: Project, board: Board, drawn: Lines | None, *, mirrored: bool) -> Key:
    """The same for boards that turn into each other; for a board's mirror image if asked."""
    lines = (drawn or {}).get(board.name, ())
    seen = [_shape(project, board, lines, turn) for turn in _turns(board, mirrored)]
    stock = (board.stock.material, board.stock.title, board.stock.kind)
    size = (_near(board.length), *sorted((_near(board.width), _near(board.thickness))))
    return (stock, size, min(seen, key=repr))


def _turns(board: Board, mirrored: bool) -> Iterator[Turn]:
    """The ways to lay a board on its own outline, grain along grain; or on its mirror image's."""
    x, y, z = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    orders = [(x, y, z)]
    if _near(board.width) == _near(board.thickness):
        orders.append((x, z, y))
    for rows in orders:
        for signs in product((1.0, -1.0), repeat=3):
            a, b, c = ((s * r[0], s * r[1], s * r[2]) for s, r in zip(signs, rows, strict=True))
            if (dot(cross(a, b), c) < 0) == mirrored:
                yield a, b, c


def _shape(project: Project, board: Board, lines: Sequence[Sequence[Vec]], turn: Turn) -> Key:
    """All that is cut, drilled and drawn, in the frame at the middle of the board, turned."""
    middle = (board.length / 2, board.width / 2, board.thickness / 2)

    def way(v: Vec) -> tuple[float, ...]:
        return tuple(_near(dot(row, v)) for row in turn)

    def place(p: Vec) -> tuple[float, ...]:
        return way((p[0] - middle[0], p[1] - middle[1], p[2] - middle[2]))

    def plane(flat: Plane) -> tuple[float, ...]:
        return (*way(flat.normal), _near(flat.offset - dot(flat.normal, middle)))

    def drilled(hole: Hole) -> tuple[object, ...]:
        sizes = (hole.radius, hole.depth, *(size for step in hole.narrower for size in step))
        slot = max(way(hole.slot), way(along(ORIGIN.origin, hole.slot, -1.0)))
        return place(hole.mouth), way(hole.inward), tuple(map(_near, sizes)), slot

    planes = sorted(plane(face.plane) for face in board.faces)

    def region(cut: Cut) -> tuple[object, ...]:
        curve = cut.round
        bent = (curve.hollow, _near(curve.radius), *place(curve.point)) if curve else ()
        return (tuple(sorted(plane(f.plane) for f in cut.faces)), bent)

    cuts = sorted(map(region, board.cuts))
    holes = sorted(drilled(hole) for hole in holes_in(project, board))
    drawn = sorted(tuple(sorted(map(place, line))) for line in lines)
    return tuple(planes), tuple(cuts), tuple(holes), tuple(drawn)


def _near(value: float) -> float:
    return round(value + _OFF, _PLACES) + 0.0
