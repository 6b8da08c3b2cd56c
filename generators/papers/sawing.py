"""Cutting plans to scale: where every part lies, the cuts in their order, what is left over."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from string import ascii_uppercase

from ...models.words.lengths import Unit, nearest_length
from ..cutting.boards import BoardPlan, Lengths
from ..cutting.material import Material, Strip, materials
from ..cutting.sheets import Rect, SheetPlan
from ..drawing.fonts import fitted, width_of, wrapped, wrapped_rows
from ..drawing.marks import Dimension, Drawing, Hatch, Mark, Placed, Polyline, Sheet, Table, Text
from ..drawing.plain import extent
from ..solids.product import Product
from ..telling.steps import called
from . import Pages
from .flow import Block, Drawn, Flow, beside
from .frame import fitting, lines, room_of, said_scale
from .paper import Paper

_LABEL = 2.0
_STRIP = 9.0  # mm of paper that a board is drawn high: only its length is to scale
_OFFCUT = 0.93  # how light an offcut is tinted
_KEPT = 100.0  # mm: an offcut narrower than that is not worth a name
_LEAST = 84.0  # mm of paper that a sheet is drawn high at least
_TEXT = 2.1

Names = Mapping[str, str]
"""What boards are called, by their names in the project."""


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """Boards first, one under the other, then sheets, two side by side where there is room."""
    project, flow = product.project, Flow(paper, "Cutting plans")
    unit, found = project.unit, list(materials(project))
    names = {board.name: called(project, board.name) for board in project.boards}
    number = 0
    for one in found:
        rows = [(strip, board) for strip in one.strips for board in strip.plan.boards]
        blocks = [
            _board(one, number + i, strip, board, names, unit, paper)
            for i, (strip, board) in enumerate(rows, start=1)
        ]
        number += len(rows)
        if blocks:
            flow.add([_heading(one, rows, unit, paper), blocks[0]])
        for block in blocks[1:]:
            flow.add([block])
    columns = [
        _sheet(one, plan, i, names, unit, paper)
        for one in found if one.sheets
        for i, plan in enumerate(one.sheets.sheets, start=1)
    ]  # fmt: skip
    for block in beside(columns, paper.wide):
        flow.add([block])
    yield from flow.done()


# --- boards --------------------------------------------------------------------------------------


def _heading(
    one: Material, rows: Sequence[tuple[Strip, BoardPlan]], unit: Unit, paper: Paper
) -> Block:
    """What stock, and how much of it is left over."""
    used = sum(length for _, board in rows for _, length in board.parts)
    bought = sum(board.length for _, board in rows)
    bound = sum(strip.plan.bound for strip in one.strips)
    lengths = one.strips[0].lengths
    says = (
        f"{nearest_length(bought, unit)} to buy, at the least {nearest_length(bound, unit)}; "
        f"{100 * (1 - used / bought):.0f} % of the length is left over; "
        f"kerf {nearest_length(lengths.kerf, unit)}, hatched: "
        f"{nearest_length(lengths.trim, unit)} off each end; sawn from the left as drawn"
    )
    head = f"{one.stock.title}, {nearest_length(one.stock.thickness, unit)} thick"
    told = wrapped(says, paper.wide, _TEXT)

    def draw(x: float, y: float) -> Drawn:
        name = Text((x, y - 4.0), head, 2.6, bold=True)
        return (name, *lines((x, y - 6.0), told, _TEXT)), ()

    return Block(8.0 + 3.6 * len(told), draw)


def _board(
    one: Material, number: int, strip: Strip, board: BoardPlan, names: Names, unit: Unit,
    paper: Paper,
) -> Block:  # fmt: skip
    """A board with its parts; what has no room for its name has a number, told under it."""
    longest = max(b.length for strip in one.strips for b in strip.plan.boards)
    scale = paper.wide / longest
    size = " x ".join(nearest_length(mm, unit) for mm in (strip.width, board.length))
    short = {
        name: names[name] if width_of(names[name], _LABEL) <= length * scale - 1.5 else str(i)
        for i, (name, length) in enumerate(board.parts, start=1)
    }
    apart = [f"{says} {names[name]}" for name, says in short.items() if says != names[name]]
    told = wrapped(", ".join(apart), paper.wide, _LABEL) if apart else []
    drawing = _sawn(one, number, strip.lengths, board, short, unit, scale)
    below = 4.5 + _STRIP

    def draw(x: float, y: float) -> Drawn:
        words = [
            Text((x, y - 3.0), f"board {number}: {size}", _LABEL),
            *lines((x, y - below - 1.0), told, _LABEL),
        ]
        return words, (Placed(drawing, (x, y - below)),)

    return Block(_STRIP + 6.5 + 3.4 * len(told), draw)


def _sawn(
    one: Material, number: int, lengths: Lengths, board: BoardPlan, short: Names, unit: Unit,
    scale: float,
) -> Drawing:  # fmt: skip
    high = _STRIP / scale
    marks: list[Mark] = [_strip(0.0, board.length, high, None)]
    if lengths.trim > 0:
        for start in (0.0, board.length - lengths.trim):
            marks.append(Hatch(_strip(start, lengths.trim, high, None).points))
    end = board.length - lengths.trim
    at = lengths.trim
    for start, (name, length) in zip(board.starts(lengths), board.parts, strict=True):
        marks.append(_strip(start, length, high, None))
        marks += _named(start, length, (nearest_length(length, unit), short[name]), scale)
        at = start + length + lengths.kerf
    if end - at > 1.0:
        marks.append(_strip(at, end - at, high, _OFFCUT))
        if end - at > _KEPT:
            marks += _named(at, end - at, (nearest_length(end - at, unit), "offcut"), scale)
    return Drawing(f"{one.stock.label} board {number}", tuple(marks), scale)


def _named(start: float, length: float, words: Sequence[str], scale: float) -> Iterator[Text]:
    """Words in a part of a board, as much of them as there is room for."""
    room = length * scale - 1.5
    for line, says in enumerate(words):
        said = says if width_of(says, _LABEL) <= room else fitted(says, room, _LABEL)
        if width_of(said, _LABEL) <= room:
            at = (start + length / 2, _STRIP / scale * (0.12 + 0.45 * line))
            yield Text(at, said, _LABEL, "middle")


def _strip(start: float, length: float, high: float, fill: float | None) -> Polyline:
    points = ((start, 0.0), (start + length, 0.0), (start + length, high), (start, high))
    return Polyline(points, "faint" if fill is not None else "outline", True, fill)


# --- sheets --------------------------------------------------------------------------------------


def _sheet(
    one: Material, plan: SheetPlan, number: int, names: Names, unit: Unit, paper: Paper
) -> Block:
    """A sheet with its parts, cuts and offcuts: half as wide as the paper, where they fit."""
    assert one.sheets is not None
    labels = _labels(plan)
    pitch, high = 2 * _TEXT, room_of(paper).high
    half = (paper.wide - 6.0) / 2
    columns = (7.0, half - 46.0, 39.0)
    parts = tuple(wrapped_rows(_parts(plan, labels, names, unit), columns, _TEXT))
    cuts = list(cut_rows(plan, labels, unit))
    trim = nearest_length(plan.size.trim, unit)
    says = (
        f"{one.stock.title}: sheet {number} of {len(one.sheets.sheets)}, at the least "
        f"{one.sheets.bound}; {100 * one.sheets.waste:.0f} % left over; kerf "
        f"{nearest_length(plan.size.kerf, unit)}, {trim} off all round"
    )
    told = wrapped(says, half, _TEXT)
    head = 4.0 + 3.6 * len(told)
    narrow = high - head - pitch * (len(parts) + len(cuts) + 2) - 12.0 >= _LEAST
    rows = len(parts) + len(cuts) + 2 if narrow else max(len(parts), len(cuts)) + 1
    wide = half if narrow else paper.wide
    bare = _laid_out(one, plan, number, labels, unit)
    drawing = fitting(bare, wide, high - head - pitch * rows - 12.0)
    drawing = _laid_out(one, plan, number, labels, unit, drawing.scale)
    (x0, y0), (x1, y1) = extent(drawing)

    def draw(x: float, y: float) -> Drawn:
        words: list[Mark] = [*lines((x, y - 1.0), told, _TEXT)]
        words.append(Text((x, y - head), said_scale(drawing.scale), _TEXT))
        origin = (x + (wide - x0 - x1) / 2, y - head - 3.0 - y1)
        top = y - head - 6.0 - (y1 - y0)
        words.append(Table((x, top), columns, ("", "part", "size"), parts, _TEXT))
        beyond = (x, top - pitch * (len(parts) + 1) - 3.0) if narrow else (x + half + 6.0, top)
        saw = (7.0, 29.0, half - 48.0, 12.0), ("cut", "fence", "of the piece", "frees")
        words.append(Table(beyond, *saw, tuple(cuts), _TEXT))
        return words, (Placed(drawing, origin),)

    return Block(head + 12.0 + (y1 - y0) + pitch * rows, draw, wide)


def _labels(plan: SheetPlan) -> dict[Rect, str]:
    """What stands on the parts and offcuts of a sheet: numbers, letters."""
    labels = {laid.rect: str(number) for number, laid in enumerate(plan.laid, start=1)}
    kept = [r for r in plan.offcuts if min(r.length, r.width) >= _KEPT]
    return labels | dict(zip(kept, ascii_uppercase, strict=False))


def _parts(
    plan: SheetPlan, labels: Mapping[Rect, str], names: Names, unit: Unit
) -> Iterator[tuple[str, str, str]]:
    """Rows that say what is what."""
    parts = {laid.rect: laid.part.name for laid in plan.laid}
    for rect, label in labels.items():
        yield label, names[parts[rect]] if rect in parts else "offcut", _size(rect, unit)


def cut_rows(
    plan: SheetPlan, labels: Mapping[Rect, str], unit: Unit
) -> Iterator[tuple[str, str, str, str]]:
    """The cuts in their order: how the fence is set, what lies on the saw, what is then done.

    What is trimmed off is too narrow to run between blade and fence: there the fence is set to what
    stays.
    """
    for number, cut in enumerate(plan.cuts, start=1):
        near, far = cut.parted(plan.size.kerf)
        held = far if (near.width if cut.along else near.length) < plan.size.trim else near
        fence = nearest_length(held.width if cut.along else held.length, unit)
        way = "rip" if cut.along else "cross"
        freed = [says for rect, says in labels.items() if rect.near(near) or rect.near(far)]
        yield str(number), f"{way} {fence}", _size(cut.piece, unit), ", ".join(freed)


def _size(rect: Rect, unit: Unit) -> str:
    return f"{nearest_length(rect.length, unit)} x {nearest_length(rect.width, unit)}"


def _laid_out(
    one: Material, plan: SheetPlan, number: int, labels: dict[Rect, str], unit: Unit,
    scale: float | None = None,
) -> Drawing:  # fmt: skip
    """The sheet upright, its grain up the paper; labels only where the scale is known."""
    wide, long = plan.size.width, plan.size.length

    def box(r: Rect) -> tuple[tuple[float, float], ...]:
        right, top = r.y + r.width, r.x + r.length
        return ((r.y, r.x), (right, r.x), (right, top), (r.y, top))

    marks: list[Mark] = [Polyline(box(Rect(0.0, 0.0, long, wide)), "outline", True)]
    marks += [Polyline(box(rect), "faint", True, _OFFCUT) for rect in plan.offcuts]
    marks += [Polyline(box(laid.rect), "outline", True) for laid in plan.laid]
    for rect, says in labels.items() if scale else ():
        middle = (rect.y + rect.width / 2, rect.x + rect.length / 2)
        need = width_of(says, _LABEL) + 1.2
        turn = 0.0 if need <= rect.width * (scale or 1.0) else 90.0
        marks.append(Text(middle, says, _LABEL, "middle", "middle", turn))
    marks.append(Dimension((0.0, 0.0), (wide, 0.0), -5.0, nearest_length(wide, unit)))
    marks.append(Dimension((0.0, 0.0), (0.0, long), 5.0, nearest_length(long, unit)))
    return Drawing(f"{one.stock.label} sheet {number}", tuple(marks), scale or 0.05)


PAGES = Pages("Cutting plans", 20, make)
