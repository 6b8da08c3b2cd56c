"""A set-up sheet for every program: zero, stock, cutters, time, what is left, cautions."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from ...models.machine.router import Cutter, Machine
from ...models.words.lengths import Unit, nearest_length
from ..drawing.fonts import wrapped
from ..drawing.marks import Dimension, Drawing, Leader, Line, Mark, Polyline, Sheet, Table, Text
from ..papers.frame import Room, centred, fitting, framed, lines, room_of, said_scale
from ..papers.labels import covered, put
from ..papers.paper import PAPERS, Paper
from ..telling.report import counted
from .moves import CAUTIONS
from .routing import Routing, Run
from .setup import REGISTRATION

if TYPE_CHECKING:
    from ..solids.product import Product

_NUMBER = 2.2  # mm, height of a board's number
_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)  # of a board, where its number may stand
_TITLE, _LINE = 8.0, 3.6  # mm that a title and a line below it take


def setup_sheets(product: Product, routing: Routing, machine: Machine) -> Iterator[Sheet]:
    """One sheet a program."""
    paper = PAPERS[product.project.cutting.paper]
    made = [_sheet(run, product.project.unit, machine, paper) for run in routing.runs]
    for number, sheet in enumerate(made, start=1):
        frame = tuple(framed(product, paper, sheet, number, len(made)))
        yield replace(sheet, marks=(*frame, *sheet.marks))


def _sheet(run: Run, unit: Unit, machine: Machine, paper: Paper) -> Sheet:
    program, room = run.program, room_of(paper)

    def own(mm: float) -> str:
        return nearest_length(mm, unit)

    upper = Room(room.x, room.y + 0.5 * room.high, room.wide, 0.5 * room.high - 6.0)
    drawing = fitting(_picture(run, unit), upper.wide, upper.high)
    drawing = replace(drawing, marks=(*drawing.marks, *_numbers(run, drawing)))
    size = " x ".join(own(side) for side in program.size)
    minutes = counted(math.ceil(program.minutes(machine)), "minute")
    head = (
        f"stock {size}; {said_scale(drawing.scale)}; about {minutes} of cutting; zero: "
        f"front left corner, {machine.zero}; grain from left to right"
    )
    if len(run.laid) == 1:
        [(_, (x, y))] = run.laid
        head += f"; the part lies {own(x)} to the right of zero and {own(y)} behind it"
    marks: list[Mark] = list(
        lines((room.x, room.y + room.high), wrapped(head, room.wide, 2.4), 2.4)
    )
    rows = tuple(
        (str(i), f"{c.number}", c.title, f"{c.speed:g}", _rates(c, unit))
        for i, c in enumerate(program.cutters, start=1)
    )
    top = upper.y - 3.0
    heading = ("", "no.", "cutter", "rpm", f"feed / plunge, {unit} a minute")
    table = Table((room.x, top), (8.0, 12.0, 72.0, 22.0, 60.0), heading, rows, 2.2)
    marks.append(table)
    y = top - table.depth - 6.0
    turns = (setup.turning for setup, _ in run.laid if setup.turning)
    for title, words in (
        ("Parts", _parts(run)),
        ("Before you start", CAUTIONS),
        ("Both faces", turns),
        ("Left for the hand", _left(run)),
    ):
        some = [line for one in words for line in wrapped(one, room.wide, 2.1)]
        most = int((y - room.y - _TITLE) / _LINE)
        if len(some) > most:
            more = len(some) - most + 1
            some = [*some[: most - 1], f"and {counted(more, 'line')} more, in operations.csv"]
        if some:
            marks.append(Text((room.x, y), title, 2.8, bold=True))
            marks += lines((room.x, y - 2.0), some, 2.1)
            y -= _TITLE + _LINE * len(some)
    return Sheet(program.name, paper.width, paper.height, tuple(marks), (centred(drawing, upper),))


def _rates(cutter: Cutter, unit: Unit) -> str:
    per = 25.4 if unit == "inch" else 1.0
    return " / ".join(f"{round(rate / per, 1):g}" for rate in (cutter.feed, cutter.plunge))


def _left(run: Run) -> Iterator[str]:
    """What is left for the hand, the same for several pieces of work said once."""
    alike: dict[tuple[str, str], list[str]] = {}
    for setup, _ in run.laid:
        for one in setup.operations:
            if one.left and one.kind != REGISTRATION:
                alike.setdefault((one.kind, one.left), []).append(one.name)
    for (kind, left), names in alike.items():
        many = f"{kind}es" if kind.endswith("ch") else ""
        yield f"{names[0] if len(names) == 1 else counted(len(names), kind, many)}: {left}"


def _numbers(run: Run, drawing: Drawing) -> Iterator[Text]:
    """The number of each of several boards, in its middle where that is free."""
    taken = [shape for mark in drawing.marks for shape in covered(mark, drawing.scale)]
    for number, (setup, (x, y)) in enumerate(run.laid if len(run.laid) > 1 else (), start=1):
        wide, deep, _ = setup.lying.size
        places = [(x + a * wide, y + b * deep) for a in _SHARES for b in _SHARES]
        yield put(str(number), _NUMBER, places, taken, drawing.scale)


def _parts(run: Run) -> Iterator[str]:
    """Which board each number is."""
    names = (
        f"{number} {setup.lying.board.name}, {setup.face} up"
        for number, (setup, _) in enumerate(run.laid, start=1)
    )
    if len(run.laid) > 1:
        yield "; ".join(names)


def _picture(run: Run, unit: Unit) -> Drawing:
    wide, deep, _ = run.program.size
    marks: list[Mark] = [
        Polyline(((0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep)), "hidden", True),
        Leader(((0.0, 0.0), (-0.04 * wide, -0.04 * wide)), "zero"),
        Dimension((0.0, deep), (wide, deep), 5.0, nearest_length(wide, unit)),
        Dimension((wide, 0.0), (wide, deep), -5.0, nearest_length(deep, unit)),
    ]
    for setup, (x, y) in run.laid:
        edge = tuple((a + x, b + y) for a, b in setup.lying.outline)
        marks.append(Polyline(edge, "faint", True))
        for one in setup.operations:
            points = tuple((a + x, b + y) for a, b in list(one.shape.exterior.coords)[:-1])
            pen = "outline" if one.kind == "outline" else "thin" if one.cutter else "faint"
            marks.append(Polyline(points, pen, True))  # type: ignore[arg-type]
    marks.append(Line((0.0, 0.0), (0.06 * wide, 0.0), "outline"))
    marks.append(Line((0.0, 0.0), (0.0, 0.06 * wide), "outline"))
    return Drawing(run.program.name, tuple(marks))
