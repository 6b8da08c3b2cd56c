"""Furniture that hangs or may tip, and that nothing holds to the wall."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from ...maths.geometry import Array, Vec
from ...piece.board import Board
from ...piece.project import Finding
from ...words.lengths import Unit, format_length
from ..study import Study
from . import Rule

CODE = "tip-over"
TALL = 686.0
"""Height (mm, 27 in) from which storage furniture is looked at: the scope of the stability standard
ASTM F2057, from memory."""
SLENDER = 2.5
"""How many times as high as its foot is deep a piece may be: common practice, no source."""
_FRAME = 60.0  # mm; what is no deeper is a frame or a panel, which hangs or leans by its nature
_FEET = 50.0  # mm above the floor that feet or glides may make up
_NEAR = 2.0  # mm between what lies on each other


def check(study: Study) -> Iterator[Finding]:
    """A piece in the air, or much higher than deep, warns unless something holds it to the wall."""
    project = study.project
    held = {item.piece for item in project.hardware if item.holds == "wall"}
    pieces: dict[str, list[Board]] = {}
    for board in project.boards:
        pieces.setdefault(board.piece, []).append(board)
    corners = {
        name: [np.concatenate([part.corners for part in study.convex[b.name]]) for b in boards]
        for name, boards in pieces.items()
    }
    for name, boards in pieces.items():
        if name in held or depth(boards, corners[name]) <= _FRAME:
            continue
        low, high = (float(end(_joined(corners[name])[:, 2])) for end in (np.min, np.max))
        foot = [some for some in corners[name] if some[:, 2].min() < low + _NEAR]
        deep = depth(boards, foot)
        others = [some for other in corners if other != name for some in corners[other]]
        if low > _FEET and not any(_under(_joined(foot), low, other) for other in others):
            said = _hangs(name, low, project.unit)
        elif high - low >= TALL and high - low > SLENDER * deep:
            said = _tips(name, high - low, deep, project.unit)
        else:
            continue
        yield Finding(CODE, "warns", said, board=boards[0].name, point=_top(corners[name]))


def depth(boards: Sequence[Board], corners: Sequence[Array]) -> float:
    """The lesser horizontal extent of corners (mm), along the ways that boards lie."""
    points = _joined(corners)
    ways = {(round(w[0], 6), round(w[1], 6)) for b in boards for w in (b.pose.x, b.pose.y)}
    flat = [np.array(way) for way in ways if abs(way[0] ** 2 + way[1] ** 2 - 1) < 1e-5]
    extents = [float(np.ptp(points[:, :2] @ way)) for way in flat]
    extents += [float(np.ptp(points[:, :2] @ np.array((-w[1], w[0])))) for w in flat]
    return min(extents, default=0.0)


def _joined(corners: Sequence[Array]) -> Array:
    joined: Array = np.concatenate(corners)
    return joined


def _under(foot: Array, low: float, other: Array) -> bool:
    """Whether a board's upper side carries a foot, by their boxes."""
    near = abs(float(other[:, 2].max()) - low) <= _NEAR
    apart = (foot.max(axis=0) < other.min(axis=0)) | (other.max(axis=0) < foot.min(axis=0))
    return near and not bool(apart[:2].any())


def _top(corners: Sequence[Array]) -> Vec:
    points = _joined(corners)
    x, y, z = (points.min(axis=0) + points.max(axis=0)) / 2
    return (float(x), float(y), float(points[:, 2].max()))


def _hangs(name: str, low: float, unit: Unit) -> str:
    return (
        f"{name} hangs {format_length(low, unit)} above the floor, and nothing in the recipe holds "
        "it to the wall"
    )


def _tips(name: str, high: float, deep: float, unit: Unit) -> str:
    return (
        f"{name} is {format_length(high, unit)} high on a foot {format_length(deep, unit)} deep "
        "and may tip, and nothing in the recipe holds it to the wall"
    )


RULE = Rule(
    CODE,
    "Furniture that hangs or may tip",
    """A piece that nothing stands under hangs. One that is 686 mm (27 in) high or more, and more
than two and a half times as high as its foot is deep, may tip when somebody climbs on it or pulls
its drawers out together. Either asks for something that holds it to the wall: a hanging rail in a
case, or a named fixing in the recipe, which goes into the hardware list. The height is the scope of
the stability standard ASTM F2057 (from memory), the slenderness common practice, no source. What is
no deeper than 60 mm is taken for a frame. Whether the fixing and the wall carry the load is for the
local code and a licensed builder to say: nothing here works that out.""",
    check,
    kinds=frozenset(("fixing",)),
    hint="name what holds it to the wall under `fixings`, or give a case a `hanging_rail`",
)
