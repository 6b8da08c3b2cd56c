"""A set-up as DXF: one layer for each kind of work and depth, closed polylines and circles alone.

Layer names say what is cut and how deep: `groove_6_00_mm`, `hole_12_00_mm`, `opening_through`,
`pocket_sloping_to_9_70_mm`: letters, digits and underscores, which every reader leaves as they are.
What is not cut (text, zero, grain) is on layers that say so.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from typing import Any

from ...models.machine.router import Drawing
from ...models.maths.geometry import Vec
from ..drawing.dxf import undated
from .operations import Operation
from .proving import Place
from .setup import REGISTRATION, Setup

_LONGEST = 31  # characters of a layer's name in R12
NOTES, WORDS = "not_cut_marks", "not_cut_text"


def layer(operation: Operation) -> str:
    """The layer of an operation."""
    word = re.sub(r"[^A-Za-z0-9]+", "_", operation.kind).strip("_").lower() or "work"
    if operation.slot is not None:
        # Its floor rises: a name that cannot be read as a flat pocket of that depth.
        word = f"{word}_sloping_to"
    depth = f"{operation.depth:.2f}_mm".replace(".", "_")
    said = "_through" if operation.through else f"_{depth}"
    return word[: _LONGEST - len(said)] + said


def dxf(
    laid: Sequence[tuple[Setup, Place]], size: tuple[float, float], version: Drawing = "R2000"
) -> str:
    """The text of the file, in millimetres, zero at the front left corner of the stock.

    Args:
        laid: boards and where the corner of each one's box lies (mm).
        size: of the stock.
        version: R2000 states its unit inside; R12 cannot.
    """
    from ezdxf.document import Drawing as Document

    document: Any = Document.new(version)  # not ezdxf.new, which warns that R12 has no units
    if version == "R2000":
        document.header["$INSUNITS"], document.header["$MEASUREMENT"] = 4, 1
    space = document.modelspace()
    for name in (NOTES, WORDS):
        document.layers.add(name)
    _closed(space, [(0.0, 0.0), (size[0], 0.0), size, (0.0, size[1])], "not_cut_stock", version)
    arrow = [(5.0, 0.0), (0.0, 0.0), (0.0, 5.0)]
    space.add_line(arrow[0], arrow[1], {"layer": NOTES})
    space.add_line(arrow[1], arrow[2], {"layer": NOTES})
    for setup, (x, y) in laid:
        for one in setup.operations:
            name = layer(one)
            if one.diameter and one.kind in ("hole", REGISTRATION):
                centre = one.shape.centroid
                radius = one.diameter / 2
                space.add_circle((centre.x + x, centre.y + y), radius, {"layer": name})
                continue
            points = [(a + x, b + y) for a, b in list(one.shape.exterior.coords)[:-1]]
            _closed(space, points, name, version)
        wide, deep, _ = setup.lying.size
        middle = (x + wide / 2, y + deep / 2)
        for ends in _grain(middle, min(30.0, wide / 4), setup.lying.way((1.0, 0.0, 0.0))):
            space.add_line(*ends, {"layer": NOTES})
        words = f"{setup.lying.board.name}, {setup.face} up"
        text = space.add_text(words, dxfattribs={"layer": WORDS, "height": 4.0})
        text.set_placement((x + 3.0, y + deep / 2 + 3.0))
    stream = io.StringIO()
    document.write(stream)
    return undated(stream.getvalue())


def _grain(middle: Place, half: float, way: Vec) -> Iterator[tuple[Place, Place]]:
    """An arrow with two heads along the grain, which has no end and no beginning."""

    def at(along: float, aside: float) -> Place:
        return (
            middle[0] + half * (along * way[0] - aside * way[1]),
            middle[1] + half * (along * way[1] + aside * way[0]),
        )

    yield at(-1, 0), at(1, 0)
    for end in (-1, 1):
        for side in (-1, 1):
            yield at(end, 0), at(0.8 * end, 0.1 * side)


def _closed(space: Any, points: Sequence[Place], name: str, version: Drawing) -> None:
    if version == "R12":
        space.add_polyline2d(points, close=True, dxfattribs={"layer": name})
    else:
        space.add_lwpolyline(points, close=True, dxfattribs={"layer": name})
