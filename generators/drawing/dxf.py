"""One drawing as DXF at full size: millimetres, a layer for each pen, real dimensions."""

from __future__ import annotations

import io
import math
import re
from typing import TYPE_CHECKING, Any
from uuid import UUID

from .marks import (
    WIDTHS,
    Arc,
    Dimension,
    Drawing,
    Ellipse,
    Hatch,
    Leader,
    Line,
    Mark,
    Picture,
    Polyline,
    Running,
    Table,
    Text,
)
from .plain import ARROW, REACH, STRAIGHT, plain

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.layouts.layout import Modelspace

_TEXT, _DIMENSIONS = "text", "dimensions"
_LINETYPES = {"hidden": "DASHED", "centre": "CENTER"}
_ALONG = {"left": 0, "middle": 1, "right": 2}
_RISE = {"base": 0, "middle": 2, "top": 3}


def dxf(drawing: Drawing) -> str:
    """The text of an R2000 file; pictures are left out, a DXF holds none.

    What belongs to the paper is drawn as large as it has to be for the drawing's scale.
    """
    import ezdxf

    document: Document = ezdxf.new("R2000", setup=["linetypes"])  # type: ignore[attr-defined]
    document.header["$INSUNITS"], document.header["$MEASUREMENT"] = 4, 1
    for pen, width in WIDTHS.items():
        layer = document.layers.add(pen, linetype=_LINETYPES.get(pen, "Continuous"))
        layer.dxf.lineweight = round(width * 100)
    document.layers.add(_TEXT)
    document.layers.add(_DIMENSIONS)
    document.header["$LTSCALE"] = 1 / drawing.scale
    space = document.modelspace()
    for mark in drawing.marks:
        _add(space, mark, 1 / drawing.scale)
    stream = io.StringIO()
    document.write(stream)
    return undated(stream.getvalue())


def undated(text: str) -> str:
    """The text without clock and random numbers: the same drawing gives the same bytes."""
    text = re.sub(r"(?m)^(\$TDU?(?:CREATE|UPDATE)\n +40\n)[\d.]+$", r"\g<1>2451544.5", text)
    no_id = rf"\g<1>{{{UUID(int=0)}}}"
    text = re.sub(r"(?m)^(\$(?:FINGERPRINT|VERSION)GUID\n +2\n)\{.*\}$", no_id, text)
    return re.sub(r"(?m)^([\d.]+) @ [\d:T.+-]+$", r"\1", text)


def _add(space: Modelspace, mark: Mark, paper: float) -> None:
    """Add a mark; `paper` is how many real mm a mm of paper is."""
    match mark:
        case Line():
            space.add_line(mark.start, mark.end, {"layer": mark.pen})
        case Polyline() if mark.pen is not None:
            space.add_lwpolyline(mark.points, close=mark.closed, dxfattribs={"layer": mark.pen})
        case Arc() if abs(mark.end - mark.start) >= 360:
            space.add_circle(mark.centre, mark.radius, {"layer": mark.pen})
        case Arc():
            space.add_arc(
                mark.centre, mark.radius, mark.start, mark.end, dxfattribs={"layer": mark.pen}
            )
        case Ellipse():
            start, end = math.radians(mark.start), math.radians(mark.end)
            attributes = {"layer": mark.pen}
            space.add_ellipse(mark.centre, mark.major, mark.ratio, start, end, attributes)
        case Text():
            _text(space, mark, paper)
        case Dimension():
            _dimension(space, mark, paper)
        case Running():
            _running(space, mark, paper)
        case Hatch():
            hatch = space.add_hatch(dxfattribs={"layer": mark.pen})
            hatch.set_pattern_fill("ANSI31", scale=paper * mark.gap / 3.175, angle=mark.turn - 45)
            hatch.paths.add_polyline_path(mark.points, is_closed=True)
        case Leader() | Table():
            _drawn(space, mark, paper)
        case Polyline() | Picture():
            pass


def _text(space: Modelspace, text: Text, paper: float) -> None:
    attributes: dict[str, Any] = {
        "layer": _TEXT,
        "height": text.height * paper,
        "rotation": text.turn,
        "halign": _ALONG[text.along],
        "valign": _RISE[text.rise],
        "insert": text.at,
        "align_point": text.at,
    }
    space.add_text(text.says, dxfattribs=attributes)


def _dimension(space: Modelspace, mark: Dimension, paper: float) -> None:
    (ax, ay), (bx, by) = mark.start, mark.end
    angle = math.degrees(math.atan2(by - ay, bx - ax)) if mark.turn is None else mark.turn
    nx, ny = -math.sin(math.radians(angle)), math.cos(math.radians(angle))
    base = (ax + nx * mark.away * paper, ay + ny * mark.away * paper)
    override = {
        "dimtxt": mark.height * paper, "dimasz": ARROW * paper, "dimexo": 0.8 * paper,
        "dimexe": 1.2 * paper, "dimgap": 0.8 * paper, "dimtad": 1, "dimtih": 0, "dimtoh": 0,
    }  # fmt: skip
    dimension = space.add_linear_dim(
        base, mark.start, mark.end, text=mark.says, angle=angle, override=override,
        dxfattribs={"layer": _DIMENSIONS},
    )  # fmt: skip
    dimension.render()


def _running(space: Modelspace, mark: Running, paper: float) -> None:
    """An ordinate dimension; its line is bent where its number has given way."""
    upright = mark.out[0] != 0.0
    out = (REACH * paper * mark.out[0], REACH * paper * mark.out[1])
    aside = mark.aside * paper
    override = {
        "dimtxt": mark.height * paper, "dimasz": 0.75 * paper, "dimexo": STRAIGHT * paper,
        "dimgap": 0.6 * paper, "dimtad": 0,
    }  # fmt: skip
    dimension = space.add_ordinate_dim(
        mark.at, (out[0], aside) if upright else (aside, out[1]), 0 if upright else 1,
        origin=mark.zero, text=mark.says, override=override, dxfattribs={"layer": _DIMENSIONS},
    )  # fmt: skip
    dimension.render()


def _drawn(space: Modelspace, mark: Leader | Table, paper: float) -> None:
    """What has no entity of its own that readers share: lines and text."""
    from .marks import scaled

    for one in plain(scaled(mark, 1 / paper, (0.0, 0.0))):
        back = scaled(one, paper, (0.0, 0.0))
        if isinstance(back, Polyline) and back.pen is None:
            space.add_solid([*back.points, back.points[-1]], {"layer": "thin"})
        else:
            _add(space, back, paper)
