"""What lies over what on a sheet: text on text, lines through text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from shapely import STRtree
from shapely.geometry import LineString, Polygon

from slantbore.generators.drawing.marks import Polyline, Sheet, Text, text_box
from slantbore.generators.drawing.plain import plain

_SHRUNK = 0.15  # mm; boxes are a little generous


def overlaps(sheet: Sheet) -> Iterator[str]:
    """Say each place where a text meets a text or a line that is drawn on the same sheet."""
    texts: list[tuple[Text, Polygon]] = []
    lines: list[LineString] = []
    for mark in sheet.on_paper():
        for one in plain(mark):
            if isinstance(one, Text) and one.says.strip():
                texts.append((one, Polygon(text_box(one)).buffer(-_SHRUNK)))
            elif isinstance(one, Polyline) and one.pen is not None and len(one.points) > 1:
                points = [*one.points, one.points[0]] if one.closed else one.points
                lines.append(LineString(points))
    boxes = [box for _, box in texts]
    for i, j in _pairs(boxes, boxes):
        if i < j:
            yield f"{sheet.title}: {texts[i][0].says!r} lies over {texts[j][0].says!r}"
    for i, j in _pairs(boxes, lines):
        at = lines[j].interpolate(0.5, normalized=True)
        yield f"{sheet.title}: a line near {at.x:.0f}, {at.y:.0f} runs through {texts[i][0].says!r}"


def _pairs(
    boxes: Sequence[Polygon], others: Sequence[Polygon] | Sequence[LineString]
) -> Iterator[tuple[int, int]]:
    if not boxes or not others:
        return
    tree = STRtree(others)
    first, second = tree.query(np.array(boxes, dtype=object), predicate="intersects")
    yield from zip(first.tolist(), second.tolist(), strict=True)


def outside(sheet: Sheet) -> Iterator[str]:
    """Say each text that leaves the paper."""
    for mark in sheet.on_paper():
        for one in plain(mark):
            if isinstance(one, Text):
                for x, y in text_box(one):
                    if not (2 <= x <= sheet.width - 2 and 2 <= y <= sheet.height - 2):
                        yield f"{sheet.title}: {one.says!r} leaves the paper"
                        break
