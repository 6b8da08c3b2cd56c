"""The drawing room: marks as data, and the same marks in PDF, SVG and DXF."""

from __future__ import annotations

import io
import math
from typing import Any
from xml.etree import ElementTree as xml

import ezdxf.filemanagement
import numpy as np
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slantbore.generators.drawing.dxf import dxf
from slantbore.generators.drawing.fonts import fitted, width_of, wrapped
from slantbore.generators.drawing.marks import (
    Arc,
    Dimension,
    Drawing,
    Ellipse,
    Hatch,
    Leader,
    Line,
    Placed,
    Polyline,
    Sheet,
    Table,
    Text,
    text_box,
)
from slantbore.generators.drawing.pdf import pdf
from slantbore.generators.drawing.plain import CHORD, ellipse_points, plain
from slantbore.generators.drawing.svg import svg

RAIL = Drawing(
    "rail",
    (
        Polyline(((0.0, 0.0), (600.0, 0.0), (540.0, 60.0), (60.0, 60.0)), closed=True),
        Dimension((0.0, 0.0), (600.0, 0.0), -8.0, '23-5/8"'),
        Dimension((600.0, 0.0), (540.0, 60.0), -12.0, "60", turn=90.0),
        Hatch(((60.0, 0.0), (120.0, 0.0), (120.0, 60.0), (60.0, 60.0))),
        Ellipse((200.0, 30.0), (18.0, 4.0), 0.26),
        Arc((300.0, 30.0), 10.0, 0.0, 90.0),
        Arc((400.0, 30.0), 5.0),
        Leader(((200.0, 30.0), (230.0, 80.0), (260.0, 80.0)), "pocket 1"),
        Line((0.0, 30.0), (600.0, 30.0), "centre"),
    ),
    0.25,
)
TABLE = Table(
    (10.0, 100.0), (20.0, 40.0, 30.0), ("no", "what", "length"),
    (("1", "rail", '23-5/8"'), ("2", "stile", "30 mm")), right=frozenset({2}),
)  # fmt: skip
SHEET = Sheet("Rail", 210.0, 297.0, (TABLE,), (Placed(RAIL, (30.0, 200.0)),))


def page_text(data: bytes, page: int = 0) -> str:
    text: str = pypdfium2.PdfDocument(data)[page].get_textpage().get_text_range()
    return text


def test_a_pdf_holds_every_word_and_is_the_same_twice() -> None:
    data = pdf([SHEET, SHEET], "papers")
    assert data == pdf([SHEET, SHEET], "papers")
    document = pypdfium2.PdfDocument(data)
    assert len(document) == 2
    assert document[0].get_size() == pytest.approx((210 / 25.4 * 72, 297 / 25.4 * 72), abs=1e-3)
    words = page_text(data)
    for word in ('23-5/8"', "pocket 1", "stile", "30 mm", "what"):
        assert word in words


@settings(max_examples=40)
@given(
    says=st.text(alphabet="gjpqyABXf0123/ -\"'", min_size=1, max_size=20).filter(str.strip),
    height=st.floats(2, 12),
    along=st.sampled_from(["left", "middle", "right"]),
    rise=st.sampled_from(["base", "middle", "top"]),
    turn=st.sampled_from([0.0, 90.0, -90.0, 180.0]),
)
def test_the_ink_of_a_text_lies_in_its_box(
    says: str, height: float, along: str, rise: str, turn: float
) -> None:
    """What is recorded as a text's box is where an independent reader puts its ink."""
    text = Text((200.0, 200.0), says.strip(), height, along, rise, turn)  # type: ignore[arg-type]
    data = pdf([Sheet("one", 400.0, 400.0, (text,))], "one")
    scale = 2.0
    image = pypdfium2.PdfDocument(data)[0].render(scale=scale, grayscale=True).to_numpy()
    rows, columns = np.nonzero(image.squeeze() < 128)
    mm = 25.4 / 72 / scale
    xs, ys = columns * mm, 400.0 - rows * mm
    box = np.array(text_box(text))
    low, high = box.min(axis=0) - 0.35 - 0.08 * height, box.max(axis=0) + 0.35 + 0.08 * height
    assert low[0] <= xs.min() and xs.max() <= high[0]
    assert low[1] <= ys.min() and ys.max() <= high[1]


def test_a_line_of_stated_length_measures_so_on_paper() -> None:
    bar = Drawing("bar", (Line((0.0, 0.0), (400.0, 0.0), "outline"),), 0.25)
    data = pdf([Sheet("bar", 210.0, 297.0, (), (Placed(bar, (50.0, 150.0)),))], "bar")
    dots = 300 / 72
    image = pypdfium2.PdfDocument(data)[0].render(scale=dots, grayscale=True).to_numpy()
    _, columns = np.nonzero(image.squeeze() < 128)
    assert (columns.max() - columns.min()) * 25.4 / 300 == pytest.approx(100.0 + 0.35, abs=0.2)


def test_svg_is_xml_in_millimetres_with_the_words() -> None:
    root = xml.fromstring(svg(SHEET))
    assert (root.get("width"), root.get("height")) == ("210.000mm", "297.000mm")
    words = {node.text for node in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {'23-5/8"', "pocket 1", "stile"} <= words
    assert svg(RAIL) == svg(RAIL)


def test_dxf_is_full_size_with_real_dimensions_and_nothing_to_mend() -> None:
    text = dxf(RAIL)
    assert text == dxf(RAIL)
    document = ezdxf.filemanagement.read(io.StringIO(text))
    audit = document.audit()
    assert not audit.errors and not audit.fixes
    space: Any = document.modelspace()
    kinds = {entity.dxftype() for entity in space}
    assert {"DIMENSION", "LWPOLYLINE", "ELLIPSE", "ARC", "CIRCLE", "HATCH", "TEXT"} <= kinds
    measured = sorted(round(d.get_measurement(), 6) for d in space.query("DIMENSION"))
    assert measured == [60.0, 600.0]
    [outline] = space.query("LWPOLYLINE[layer=='outline']")
    assert {tuple(p) for p in outline.get_points("xy")} == set(RAIL.marks[0].points)  # type: ignore[union-attr]


@given(
    radius=st.floats(0.5, 300), ratio=st.floats(0.05, 1), start=st.floats(0, 180),
    sweep=st.floats(5, 360),
)  # fmt: skip
def test_a_curve_is_followed_within_the_chord(
    radius: float, ratio: float, start: float, sweep: float
) -> None:
    points = ellipse_points((0.0, 0.0), (radius, 0.0), ratio, start, start + sweep)
    middles = [
        ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in zip(points, points[1:], strict=False)
    ]
    for x, y in points:
        assert math.hypot(x / radius, y / radius / ratio) == pytest.approx(1.0, abs=1e-9)
    # Distance to the circle that the ellipse is a squeezed image of is no less than to the ellipse.
    for x, y in middles:
        assert radius - math.hypot(x, y / ratio) <= CHORD * 1.5 + 1e-9


def test_a_dimension_that_has_no_room_for_its_words_sets_them_beside() -> None:
    [words] = [m for m in plain(Dimension((0, 0), (3, 0), 5, "1234 mm")) if isinstance(m, Text)]
    assert min(x for x, _ in text_box(words)) > 3.0
    [words] = [m for m in plain(Dimension((0, 0), (90, 0), 5, "1234 mm")) if isinstance(m, Text)]
    assert words.at == pytest.approx((45.0, 5.8))


def test_text_is_cut_and_wrapped_to_its_room() -> None:
    says = "a rail of the washroom mirror with a long name"
    assert fitted(says, 500.0, 2.5) == says
    cut = fitted(says, 40.0, 2.5)
    assert cut.endswith("...") and width_of(cut, 2.5) <= 40.0
    lines = wrapped(says, 40.0, 2.5)
    assert " ".join(lines) == says and all(width_of(line, 2.5) <= 40.0 for line in lines)
