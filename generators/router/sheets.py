"""A set-up sheet for every program: zero, stock, cutters, time, what is left, cautions."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...models.machine.router import Machine
from ...models.words.lengths import Unit, nearest_length
from ..drawing.fonts import wrapped
from ..drawing.marks import Dimension, Drawing, Leader, Line, Mark, Polyline, Sheet, Table, Text
from ..papers.frame import Room, centred, fitting, framed, lines, room_of, said_scale
from ..papers.paper import PAPERS, Paper
from .moves import CAUTIONS
from .routing import Routing, Run

if TYPE_CHECKING:
    from ..solids.product import Product

_LEFT = 14  # lines of what is left that a sheet has room for


def setup_sheets(product: Product, routing: Routing, machine: Machine) -> Iterator[Sheet]:
    """One sheet a program."""
    from dataclasses import replace

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
    size = " x ".join(own(side) for side in program.size)
    minutes = program.minutes(machine)
    head = (
        f"stock {size}; {said_scale(drawing.scale)}; about {minutes:.0f} minutes of cutting; zero: "
        f"front left corner, {machine.zero}"
    )
    marks: list[Mark] = list(
        lines((room.x, room.y + room.high), wrapped(head, room.wide, 2.4), 2.4)
    )
    rows = tuple(
        (str(i), f"{c.number}", c.title, f"{c.speed:g}", f"{c.feed:g} / {c.plunge:g}")
        for i, c in enumerate(program.cutters, start=1)
    )
    top = upper.y - 3.0
    heading = ("", "no.", "cutter", "rpm", "feed / plunge, mm a minute")
    table = Table((room.x, top), (8.0, 12.0, 72.0, 22.0, 60.0), heading, rows, 2.2)
    marks.append(table)
    y = top - table.depth - 6.0
    left = [f"{o.name}: {o.left}" for setup, _ in run.laid for o in setup.operations if o.left]
    told = [line for one in dict.fromkeys(left) for line in wrapped(one, room.wide, 2.1)]
    if len(told) > _LEFT:
        told = [*told[: _LEFT - 1], f"and {len(told) - _LEFT + 1} lines more, in operations.csv"]
    turning = [line for setup, _ in run.laid for line in wrapped(setup.turning, room.wide, 2.1)]
    for title, some in (
        ("Both faces", turning),
        ("Left for the hand", told),
        ("Before you start", list(CAUTIONS)),
    ):
        if some:
            marks.append(Text((room.x, y), title, 2.8, bold=True))
            marks += lines((room.x, y - 2.0), some, 2.1)
            y -= 8.0 + 3.6 * len(some)
    return Sheet(program.name, paper.width, paper.height, tuple(marks), (centred(drawing, upper),))


def _picture(run: Run, unit: Unit) -> Drawing:
    wide, deep, _ = run.program.size
    marks: list[Mark] = [
        Polyline(((0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep)), "hidden", True),
        Leader(((0.0, 0.0), (-0.04 * wide, -0.04 * wide)), "zero"),
        Dimension((0.0, deep), (wide, deep), 5.0, nearest_length(wide, unit)),
        Dimension((wide, 0.0), (wide, deep), -5.0, nearest_length(deep, unit)),
    ]
    for setup, (x, y) in run.laid:
        for one in setup.operations:
            points = tuple((a + x, b + y) for a, b in list(one.shape.exterior.coords)[:-1])
            pen = "outline" if one.kind == "outline" else "thin" if one.cutter else "faint"
            marks.append(Polyline(points, pen, True))  # type: ignore[arg-type]
    marks.append(Line((0.0, 0.0), (0.06 * wide, 0.0), "outline"))
    marks.append(Line((0.0, 0.0), (0.0, 0.06 * wide), "outline"))
    return Drawing(run.program.name, tuple(marks))
