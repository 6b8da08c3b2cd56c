"""One drawing or sheet as SVG 1.1, in millimetres."""

from __future__ import annotations

import base64
from collections.abc import Iterable
from xml.etree import ElementTree as xml

from .fonts import font_size
from .marks import (
    DASHES,
    GREYS,
    WIDTHS,
    Drawing,
    Mark,
    Picture,
    Point,
    Polyline,
    Sheet,
    Text,
    text_start,
)
from .plain import extent, plain

_MARGIN = 3.0  # mm about a single drawing


def svg(what: Drawing | Sheet) -> str:
    """The text of the file."""
    if isinstance(what, Sheet):
        return _file(what.title, what.on_paper(), what.width, what.height)
    low, high = extent(what)
    origin = (_MARGIN - low[0], _MARGIN - low[1])
    width, height = (high[i] - low[i] + 2 * _MARGIN for i in (0, 1))
    return _file(what.name, what.on_paper(origin), width, height)


def _file(title: str, marks: Iterable[Mark], width: float, height: float) -> str:
    root = xml.Element(
        "svg",
        xmlns="http://www.w3.org/2000/svg",
        width=f"{width:.3f}mm",
        height=f"{height:.3f}mm",
        viewBox=f"0 0 {width:.3f} {height:.3f}",
    )
    xml.SubElement(root, "title").text = title
    for mark in marks:
        for one in plain(mark):
            match one:
                case Polyline():
                    _polyline(root, one, height)
                case Text():
                    _text(root, one, height)
                case Picture():
                    data = base64.b64encode(one.png).decode("ascii")
                    xml.SubElement(
                        root, "image",
                        x=_n(one.at[0]), y=_n(height - one.at[1] - one.height),
                        width=_n(one.width), height=_n(one.height),
                        href=f"data:image/png;base64,{data}",
                    )  # fmt: skip
    xml.indent(root)
    return xml.tostring(root, encoding="unicode") + "\n"


def _n(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _polyline(root: xml.Element, line: Polyline, height: float) -> None:
    points: list[Point] = list(line.points)
    path = "M" + " L".join(f"{_n(x)} {_n(height - y)}" for x, y in points)
    style = {"d": path + (" Z" if line.closed else "")}
    style["fill"] = "none" if line.fill is None else _grey(line.fill)
    if line.pen is not None:
        style["stroke"] = _grey(GREYS.get(line.pen, 0.0))
        style["stroke-width"] = _n(WIDTHS[line.pen])
        style["stroke-linecap"] = style["stroke-linejoin"] = "round"
        if line.pen in DASHES:
            style["stroke-dasharray"] = " ".join(_n(part) for part in DASHES[line.pen])
    xml.SubElement(root, "path", style)


def _text(root: xml.Element, text: Text, height: float) -> None:
    x, y = text_start(text)
    place = f"translate({_n(x)} {_n(height - y)})"
    style = {
        "transform": place + (f" rotate({_n(-text.turn)})" if text.turn else ""),
        "font-family": "DejaVu Sans, sans-serif",
        "font-size": _n(font_size(text.height, bold=text.bold)),
    }
    if text.bold:
        style["font-weight"] = "bold"
    xml.SubElement(root, "text", style).text = text.says


def _grey(level: float) -> str:
    return f"#{round(255 * level):02x}" + f"{round(255 * level):02x}" * 2
