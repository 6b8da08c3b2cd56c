"""A sheet for every different board: what is worked on each face, where, and with which setting."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ...models.piece.board import BOTTOM, SIDES, Board
from ...models.piece.bored import bores_in
from ...models.piece.lie import Lying
from ...models.piece.markout import MarkOut, fraction, mark_out
from ...models.piece.pairs import hands, like_boards
from ...models.piece.project import Bore, Project
from ...models.words.lengths import nearest_length
from ...models.work.end_cut import EndCut, end_cuts
from ..drawing.fonts import wrapped, wrapped_rows
from ..drawing.marks import Line, Mark, Placed, Sheet, Table, Text
from ..drawing.plain import extent
from ..solids.product import Product
from . import Pages
from .faces import Worked, mating_outlines
from .flow import Block, Drawn, Flow, beside, order
from .frame import SCALES, UNMEASURED, fitting, lines, room_of, said_scale
from .joints import drawn, legend, section
from .ordinates import ROOM
from .paper import Paper

_TALLEST = (56.0, 40.0, 28.0)  # mm of paper that a face may take up and down; less to fit a sheet
_GAP = 4.0
_SECTION = 34.0  # mm of paper for the cut through a pocket
_BESIDE = 6.0  # mm between two faces side by side
_HOW = (
    "Sizes are counted from the end or edge with the 0, each from the nearer one. A cross: the "
    "middle of the drill meets the face here. Drill deep: from the cross along the drill to its "
    "shoulder; pilot: on from there. Dashed: another board comes here."
)
_MITRE = (
    "Beside a slanting end: go along the edge from its corner with the end, then in square to the "
    "edge."
)
_SWING = (
    "Swing: how far the drill's shank is turned from square, and to which side, as you look from "
    "the joint into the board."
)


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """Boards alike are told once; small ones share a sheet; then cuts through their pockets."""
    project = product.project
    lines = mating_outlines(project)
    alike, hand = like_boards(project, lines), hands(project, lines)
    measured = [_blocks(project, boards, hand, 0, paper) for boards in alike]
    flow = Flow(paper, "Boards")
    how = _words(_HOW, paper)
    flow.add([how])
    cuts: dict[tuple[object, ...], tuple[Bore, list[int]]] = {}
    for number, index in enumerate(order(measured, paper, how.high), start=1):
        board = alike[index][0]
        flow.add(_blocks(project, alike[index], hand, number, paper))
        for bore in bores_in(project, board):
            _, numbers = cuts.setdefault(_setting(board, bore), (bore, []))
            numbers += [number] * (number not in numbers)
    half = (paper.wide - _BESIDE) / 2 - 1e-6
    sections = [_cut(project, bore, numbers, half) for bore, numbers in cuts.values()]
    for block in beside(sections, paper.wide):
        flow.fill(block)
    yield from flow.done()


def _blocks(
    project: Project, boards: Sequence[Board], hand: Mapping[str, str], number: int, paper: Paper
) -> Sequence[Block]:
    """The blocks of one board: what it is, its faces, its pockets; on one sheet if that can be."""
    board = boards[0]
    bores = bores_in(project, board)
    labels = {bore.name: str(i) for i, bore in enumerate(bores, start=1)}
    sides = {hand[board.name] for board in boards}
    side = f" ({sides.pop()} hand)" if len(sides) == 1 and sides != {""} else ""
    table = [_table(project, board, bores, labels, paper)] if bores else []
    marks = [mark_out(board, bore) for bore in bores]
    notes = [_MITRE] * any(mark.mitre > 1e-6 for mark in marks)
    notes += [_SWING] * any(abs(mark.turn) > 1e-6 for mark in marks)
    notes += _slots(project, bores, labels)
    table += [_words(" ".join(notes), paper)] if notes else []
    faces = [Worked(project, Lying(board, side), labels, len(boards)) for side in SIDES]
    worked = [face for face in faces if face.has_work]
    count = f"{number}. {len(boards)} x"
    heading = _heading(project, boards, count, side, labels, paper, drawn=bool(worked))
    for tallest in _TALLEST:
        blocks = [heading, *_faces(worked, number, paper, tallest), *table]
        if sum(block.high for block in blocks) <= room_of(paper).high:
            break
    return blocks


def _words(says: str, paper: Paper) -> Block:
    told = wrapped(says, paper.wide, 2.2)

    def draw(x: float, y: float) -> Drawn:
        return tuple(lines((x, y), told, 2.2)), ()

    return Block(3.75 * len(told) + 1.0, draw)


def _heading(
    project: Project, boards: Sequence[Board], count: str, side: str,
    labels: Mapping[str, str], paper: Paper, *, drawn: bool,
) -> Block:  # fmt: skip
    """What the boards are; of some that no face is drawn of it says so, for nobody to look for."""
    board = boards[0]

    def own(mm: float) -> str:
        return nearest_length(mm, project.unit)

    roles = ", ".join(dict.fromkeys(board.role for board in boards))
    size = " x ".join(own(mm) for mm in (board.length, board.width, board.thickness))
    head = f"{count} {roles}{side}"
    pieces = ", ".join(dict.fromkeys(b.piece for b in boards))
    says = [f"{size}, {board.stock.title}; pieces: {pieces}"]
    says += [end_cuts(board)] if any(isinstance(work, EndCut) for work in board.work) else []
    says += [work.told(board, own) for work in board.work if not isinstance(work, EndCut)]
    says += _finer(project, board, labels)
    says += [] if drawn else ["cut to size; no face is drawn, for nothing is marked out on it"]
    told = [line for one in says for line in wrapped(one, paper.wide, 2.2)]
    heads = wrapped(head, paper.wide, 3.0, bold=True)

    def draw(x: float, y: float) -> Drawn:
        marks: list[Mark] = [Line((x, y - 1.0), (x + paper.wide, y - 1.0), "faint")]
        marks += [
            Text((x, y - 5.5 - 5.0 * i), line, 3.0, bold=True) for i, line in enumerate(heads)
        ]
        marks += lines((x, y - 3.0 - 5.0 * len(heads)), told, 2.2)
        return marks, ()

    return Block(4.0 + 5.0 * len(heads) + 3.75 * len(told) + 1.0, draw)


def _finer(project: Project, board: Board, labels: Mapping[str, str]) -> Iterator[str]:
    """Which pockets are marked to a finer fraction than the others, and why."""
    for bore in bores_in(project, board):
        parts = fraction(board, bore, mark_out(board, bore), project.unit)
        if parts > 32:
            yield (
                f'pocket {labels[bore.name]} is marked to 1/{parts}": rounded any more, it would '
                "leave the room that it has"
            )


def _slots(project: Project, bores: Sequence[Bore], labels: Mapping[str, str]) -> Iterator[str]:
    """Which pilots are drawn out to slots, and how far."""
    slots: dict[str, list[str]] = {}
    for bore in bores:
        if bore.slot > 0:
            slots.setdefault(nearest_length(bore.slot, project.unit), []).append(labels[bore.name])
    for long, numbers in slots.items():
        yield (
            f"Pilots of {', '.join(numbers)}: slots along the joint, {long} longer than they are "
            "wide, for the other board to move."
        )


# --- faces ---------------------------------------------------------------------------------------


def _faces(worked: Sequence[Worked], number: int, paper: Paper, tallest: float) -> Iterator[Block]:
    """A block for each face, two side by side where that takes no more than half their scale."""
    scales = [_scale(face, paper.wide, tallest) for face in worked]
    half = (paper.wide - _BESIDE) / 2
    halves = [_scale(face, half, tallest) for face in worked]
    if len(worked) > 1 and all(b >= a / 2 - 1e-9 for a, b in zip(scales, halves, strict=True)):
        blocks = [_face(f, s, half, number) for f, s in zip(worked, halves, strict=True)]
        yield from beside(blocks, paper.wide)
    else:
        for face, scale in zip(worked, scales, strict=True):
            yield _face(face, scale, paper.wide, number)


def _scale(face: Worked, room: float, tallest: float) -> float:
    wide, deep, _ = face.lying.size
    wide_ = room - 2 * ROOM
    return next((s for s in SCALES if wide * s <= wide_ and deep * s <= tallest), SCALES[-1])


def _face(face: Worked, scale: float, wide: float, number: int) -> Block:
    """The face drawn to scale, with what it is and how the board lies."""
    side, board = face.lying.side, face.lying.board
    drawing = face.drawing(f"board {number} {side}", scale)
    (x0, y0), (x1, y1) = extent(drawing)
    turned = ", turned over about its length" if side == BOTTOM else ""
    dashed = f"; {face.dashed}" if face.dashed else ""
    says = wrapped(
        f"{board.face(side).name} up, {said_scale(scale)}{turned}{dashed}", wide - 2.0, 2.2
    )
    head = 1.5 + 3.75 * len(says)

    def draw(x: float, y: float) -> Drawn:
        middle = x + (wide - x0 - x1) / 2
        return tuple(lines((x, y - 0.3), says, 2.2)), (Placed(drawing, (middle, y - head - y1)),)

    return Block(y1 - y0 + head + _GAP, draw, wide)


# --- the settings --------------------------------------------------------------------------------


def _table(
    project: Project, board: Board, bores: Sequence[Bore], labels: Mapping[str, str], paper: Paper
) -> Block:
    unit = project.unit
    rows = []
    for bore in bores:
        mark = mark_out(board, bore)
        fine = fraction(board, bore, mark, unit)
        rows.append(
            (
                labels[bore.name],
                f"{nearest_length(mark.run, unit, fine)} {mark.start.name}",
                f"{nearest_length(mark.square, unit, fine)} {mark.line.name}",
                _swing(mark),
                nearest_length(mark.depth, unit),
                nearest_length(bore.shoulder, unit),
                bore.screw.title,
            )
        )
    shares = (0.03, 0.2, 0.2, 0.11, 0.085, 0.09, 0.285)
    widths = tuple(share * paper.wide for share in shares)
    head = ("", "from the", "and from the", "swing", "drill deep", "pilot", "screw")
    table = Table((0.0, 0.0), widths, head, tuple(wrapped_rows(rows, widths, 2.0)), 2.0)

    def draw(x: float, y: float) -> Drawn:
        return (replace(table, at=(x, y)),), ()

    return Block(table.depth + 0.5 * _GAP, draw)


def _swing(mark: MarkOut) -> str:
    if abs(mark.turn) < 1e-6:
        return "square"
    return f"{abs(mark.turn):.4g} deg {'left' if mark.turn > 0 else 'right'}"


def _setting(board: Board, bore: Bore) -> tuple[object, ...]:
    """What makes two cuts through a pocket look alike."""
    depth = board.face(bore.pocket_face).plane.gap(bore.exit)
    thick = board.across(bore.pocket_face)
    return bore.drill, bore.screw, *(round(n, 3) for n in (bore.shoulder, depth, thick))


def _cut(project: Project, bore: Bore, numbers: Sequence[int], wide: float) -> Block:
    """The cut through one pocket, with what its letters stand for, and whose are like it."""
    cut = section(project, bore)
    name = f"cut through a pocket of board {numbers[0]}, {bore.name}"
    drawing = fitting(drawn(cut, name, project.unit), wide, _SECTION, UNMEASURED)
    (x0, y0), (_, y1) = extent(drawing)
    high = 4.0 + y1 - y0
    boards = f"board{'s' * (len(numbers) > 1)} {', '.join(map(str, numbers))}"
    says = wrapped(f"Cut through a pocket, {boards}: {legend(cut, project.unit)}.", wide, 2.2)

    def draw(x: float, y: float) -> Drawn:
        words = lines((x, y - high), says, 2.2)
        return tuple(words), (Placed(drawing, (x - x0, y - 3.0 - y1)),)

    return Block(high + 3.75 * len(says) + 2.0 + _GAP, draw, wide)


PAGES = Pages("Boards", 30, make)
