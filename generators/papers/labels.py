"""Words about a drawing, each at the first place where nothing else is; places in real mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal

from shapely import Geometry, STRtree
from shapely.geometry import LineString, Polygon

from ..drawing.marks import Mark, Point, Polyline, Text, scaled, text_box
from ..drawing.plain import plain

Align = Literal["left", "middle", "right"]
_AIR = (0.4, 0.05)  # mm of paper that words keep from lines; where there is no room for that


def covered(mark: Mark, scale: float) -> Iterator[Geometry]:
    """What words must keep clear of, in mm of paper."""
    for one in plain(scaled(mark, scale, (0.0, 0.0))):
        match one:
            case Polyline():
                yield LineString((*one.points, one.points[0]) if one.closed else one.points)
            case Text():
                yield Polygon(text_box(one))


def put(
    says: str, height: float, places: Sequence[Point], taken: list[Geometry], scale: float,
    along: Align = "middle", turn: float = 0.0,
) -> Text:  # fmt: skip
    """Words at the first of some places where nothing else is, else at the first of all.

    Args:
        says: the words.
        height: mm of paper.
        places: to try, real mm.
        taken: what is there, mm of paper; what the words cover is added.
        scale: mm of paper per real mm.
        along: which part of the words stands at a place.
        turn: of the words, degrees.
    """
    texts = [Text(place, says, height, along, "middle", turn) for place in places]
    flat = [Polygon(text_box(replace(t, at=(t.at[0] * scale, t.at[1] * scale)))) for t in texts]
    tree = STRtree(taken)
    for air in _AIR:
        for text, shape in zip(texts, flat, strict=True):
            if not len(tree.query(shape.buffer(air), predicate="intersects")):
                taken.append(shape)
                return text
    taken.append(flat[0])
    return texts[0]
