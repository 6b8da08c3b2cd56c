"""Cutting plans to scale: where every part lies, and the cuts in their order."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ...models.words.lengths import Unit, nearest_length
from ..cutting.boards import BoardPlan, Lengths
from ..cutting.material import Material, Strip, materials
from ..cutting.sheets import SawCut, SheetPlan
from ..drawing.fonts import fitted, width_of
from ..drawing.marks import Dimension, Drawing, Hatch, Mark, Placed, Polyline, Sheet, Table, Text
from ..solids.product import Product
from . import Pages
from .frame import Room, centred, fitting, pages_of, room_of, said_scale
from .paper import Paper

_LABEL = 2.0
_BOARDS = 14  # boards to a sheet of paper
_OFFCUT = 0.93  # how light an offcut is tinted


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """A sheet of paper for each sheet of a stock; boards of a stock together."""
    unit = product.project.unit
    for one in materials(product.project):
        for number, plan in enumerate(one.sheets.sheets if one.sheets else (), start=1):
            yield _sheet(one, plan, number, unit, paper)
        rows = [(strip, board) for strip in one.strips for board in strip.plan.boards]
        for page in pages_of(rows, _BOARDS):
            yield _boards(one, page, unit, paper)


# --- sheets --------------------------------------------------------------------------------------


def _sheet(one: Material, plan: SheetPlan, number: int, unit: Unit, paper: Paper) -> Sheet:
    assert one.sheets is not None
    room, count = room_of(paper), len(one.sheets.sheets)
    upper = Room(room.x, room.y + 0.42 * room.high, room.wide, 0.58 * room.high - 6.0)
    labels = {laid.part.name: str(i) for i, laid in enumerate(plan.laid, start=1)}
    drawing = fitting(_laid_out(one, plan, number, labels, unit), upper.wide, upper.high)
    waste = (
        f"sheet {number} of {count}, {said_scale(drawing.scale)}; {100 * one.sheets.waste:.0f} % "
        f"of the sheets is left over; no plan takes fewer than {one.sheets.bound}"
    )
    marks: list[Mark] = [Text((room.x, room.y + room.high - 3.0), waste, 2.3)]
    names = tuple(
        (labels[laid.part.name], laid.part.name,
         f"{nearest_length(laid.part.length, unit)} x {nearest_length(laid.part.width, unit)}")
        for laid in plan.laid
    )  # fmt: skip
    half = room.wide / 2
    top = upper.y - 3.0
    height = min(2.1, 0.5 * (top - room.y) / (max(len(names), len(plan.cuts)) + 1))
    cells = tuple((a, fitted(b, half - 44.0, height), c) for a, b, c in names)
    marks.append(
        Table((room.x, top), (7.0, half - 42.0, 33.0), ("", "part", "size"), cells, height)
    )
    cuts = tuple((str(i), *_said(cut, unit)) for i, cut in enumerate(plan.cuts, start=1))
    at = (room.x + half + 4.0, top)
    marks.append(
        Table(at, (7.0, 26.0, half - 37.0), ("cut", "fence", "of the piece"), cuts, height)
    )
    title = f"Cutting plan: {one.stock.title}"
    return Sheet(title, paper.width, paper.height, tuple(marks), (centred(drawing, upper),))


def _laid_out(
    one: Material, plan: SheetPlan, number: int, labels: dict[str, str], unit: Unit
) -> Drawing:
    """The sheet upright, its grain up the paper."""
    marks: list[Mark] = []
    wide, long = plan.size.width, plan.size.length

    def box(x: float, y: float, length: float, width: float) -> tuple[tuple[float, float], ...]:
        return ((y, x), (y + width, x), (y + width, x + length), (y, x + length))

    marks.append(Polyline(box(0.0, 0.0, long, wide), "outline", True))
    for rect in plan.offcuts:
        points = box(rect.x, rect.y, rect.length, rect.width)
        marks.append(Polyline(points, "faint", True, _OFFCUT))
    for laid in plan.laid:
        r = laid.rect
        marks.append(Polyline(box(r.x, r.y, r.length, r.width), "outline", True))
        middle = (r.y + r.width / 2, r.x + r.length / 2)
        marks.append(Text(middle, labels[laid.part.name], _LABEL, "middle", "middle"))
    marks.append(Dimension((0.0, 0.0), (wide, 0.0), -5.0, nearest_length(wide, unit)))
    marks.append(Dimension((0.0, 0.0), (0.0, long), 5.0, nearest_length(long, unit)))
    return Drawing(f"{one.stock.label} sheet {number}", tuple(marks), 0.05)


def _said(cut: SawCut, unit: Unit) -> tuple[str, str]:
    """How a fence is set for a cut, and which piece lies on the saw."""
    piece = cut.piece
    fence = cut.at - (piece.y if cut.along else piece.x)
    how = "rip" if cut.along else "cross"
    size = f"{nearest_length(piece.length, unit)} x {nearest_length(piece.width, unit)}"
    return f"{how} {nearest_length(fence, unit)}", size


# --- boards --------------------------------------------------------------------------------------


def _boards(
    one: Material, rows: Sequence[tuple[Strip, BoardPlan]], unit: Unit, paper: Paper
) -> Sheet:
    room = room_of(paper)
    pitch = room.high / _BOARDS
    marks: list[Mark] = []
    placed: list[Placed] = []
    longest = max(board.length for _, board in rows)
    scale = room.wide / longest
    for number, (strip, board) in enumerate(rows):
        y = room.y + room.high - (number + 1) * pitch
        says = (
            f"board {number + 1}: {nearest_length(strip.width, unit)} wide, "
            f"{nearest_length(board.length, unit)} long, "
            f"{nearest_length(one.stock.thickness, unit)} thick"
        )
        marks.append(Text((room.x, y + pitch - 3.0), says, _LABEL))
        drawing = _board(one, number, strip.lengths, board, unit, scale)
        placed.append(Placed(drawing, (room.x, y + 2.0)))
    title = f"Cutting plan: {one.stock.title}"
    return Sheet(title, paper.width, paper.height, tuple(marks), tuple(placed))


def _board(
    one: Material, number: int, lengths: Lengths, board: BoardPlan, unit: Unit, scale: float
) -> Drawing:
    high = 9.0 / scale  # drawn as high as its words need; only the length is to scale
    marks: list[Mark] = [_strip(0.0, board.length, high, None)]
    marks.append(Hatch(((0.0, 0.0), (lengths.trim, 0.0), (lengths.trim, high), (0.0, high))))
    end = board.length - lengths.trim
    marks.append(Hatch(((end, 0.0), (board.length, 0.0), (board.length, high), (end, high))))
    at = lengths.trim
    for start, (name, length) in zip(board.starts(lengths), board.parts, strict=True):
        marks.append(_strip(start, length, high, None))
        for line, words in enumerate((nearest_length(length, unit), name)):
            room = length * scale - 1.5
            said = words if width_of(words, _LABEL) <= room else fitted(words, room, _LABEL)
            place = (start + length / 2, high * (0.12 + 0.45 * line))
            marks.append(Text(place, said, _LABEL, "middle"))
        at = start + length + lengths.kerf
    if end - at > 1.0:
        marks.append(_strip(at, end - at, high, _OFFCUT))
    return Drawing(f"{one.stock.label} board {number + 1}", tuple(marks), scale)


def _strip(start: float, length: float, high: float, fill: float | None) -> Polyline:
    points = ((start, 0.0), (start + length, 0.0), (start + length, high), (start, high))
    return Polyline(points, "faint" if fill is not None else "outline", True, fill)


PAGES = Pages("Cutting plans", 20, make)
