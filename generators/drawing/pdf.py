"""Sheets as one PDF: vectors, the font embedded, the same bytes for the same sheets."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import TYPE_CHECKING

from .fonts import BOLD, REGULAR, drawable, font_file, font_size
from .marks import DASHES, GREYS, WIDTHS, Picture, Polyline, Sheet, Text, text_start
from .plain import plain

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_POINT = 72 / 25.4  # points per mm


def pdf(sheets: Sequence[Sheet], title: str) -> bytes:
    """A document with a page for each sheet, and an entry for each in its outline.

    Raises:
        FontError: the font is missing.
    """
    from reportlab.lib.utils import ImageReader
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont
    from reportlab.pdfgen.canvas import Canvas

    for name in (REGULAR, BOLD):
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, str(font_file(name))))
    stream = io.BytesIO()
    # invariant: no clock and no random number in the file.
    canvas = Canvas(stream, pageCompression=1, invariant=1)
    canvas.setTitle(title)
    canvas.setCreator("slantbore")
    canvas.setProducer("slantbore")
    for number, sheet in enumerate(sheets):
        canvas.setPageSize((sheet.width * _POINT, sheet.height * _POINT))
        canvas.bookmarkPage(f"sheet-{number}")
        canvas.addOutlineEntry(sheet.title, f"sheet-{number}")
        canvas.scale(_POINT, _POINT)
        canvas.setLineJoin(1)
        canvas.setLineCap(1)
        for mark in sheet.on_paper():
            for one in plain(mark):
                match one:
                    case Polyline():
                        _polyline(canvas, one)
                    case Text():
                        _text(canvas, one)
                    case Picture():
                        image = ImageReader(io.BytesIO(one.png))
                        canvas.drawImage(image, *one.at, one.width, one.height)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _polyline(canvas: Canvas, line: Polyline) -> None:
    if len(line.points) < 2:
        return
    path = canvas.beginPath()
    path.moveTo(*line.points[0])
    for point in line.points[1:]:
        path.lineTo(*point)
    if line.closed:
        path.close()
    if line.fill is not None:
        canvas.setFillGray(line.fill)
    if line.pen is not None:
        canvas.setStrokeGray(GREYS.get(line.pen, 0.0))
        canvas.setLineWidth(WIDTHS[line.pen])
        canvas.setDash(*([list(DASHES[line.pen])] if line.pen in DASHES else []))
    canvas.drawPath(path, stroke=int(line.pen is not None), fill=int(line.fill is not None))


def _text(canvas: Canvas, text: Text) -> None:
    canvas.saveState()
    canvas.setFillGray(0.0)
    canvas.translate(*text_start(text))
    canvas.rotate(text.turn)
    canvas.setFont(BOLD if text.bold else REGULAR, font_size(text.height, bold=text.bold))
    canvas.drawString(0, 0, drawable(text.says))
    canvas.restoreState()
