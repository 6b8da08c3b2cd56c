"""A sheet for every different board: what is worked on each face, where, and with which setting."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from shapely.geometry import LineString, Polygon, box

from ...models.maths.geometry import dot
from ...models.piece.board import BACK, BOTTOM, FRONT, TOP, Board, Hole, Side
from ...models.piece.bored import bores_in
from ...models.piece.lie import Lying, Point, Region
from ...models.piece.markout import MarkOut, mark_out
from ...models.piece.pairs import hands, like_boards
from ...models.piece.project import Bore, Joint, Project
from ...models.words.lengths import Unit, nearest_length
from ..drawing.fonts import width_of, wrapped
from ..drawing.marks import Drawing, Line, Mark, Placed, Polyline, Sheet, Table, Text
from ..drawing.plain import extent
from ..solids.product import Product
from . import Pages
from .frame import SCALES, Room, fitting, lines, room_of, said_scale
from .joints import drawn, legend, section
from .ordinates import HEIGHT, ROOM, row
from .paper import Paper

_FACES: tuple[Side, ...] = (TOP, BOTTOM, FRONT, BACK)
_TALLEST = 56.0  # mm of paper that a face may take up and down
_GAP = 4.0
_SECTION = 34.0  # mm of paper for the cut through a pocket


@dataclass(frozen=True)
class Block:
    """Part of a sheet: how high it is, and what is on it from a top left corner downward."""

    high: float
    draw: Callable[[float, float], tuple[Sequence[Mark], Sequence[Placed]]]


@dataclass
class _Flow:
    """Blocks set one under the other, sheet after sheet."""

    paper: Paper
    title: str
    sheets: list[Sheet] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    placed: list[Placed] = field(default_factory=list)
    y: float = 0.0

    @property
    def room(self) -> Room:
        return room_of(self.paper)

    def add(self, blocks: Sequence[Block], *, together: float) -> None:
        """Set blocks; begin a new sheet where the first ones, so high, do not fit."""
        if self.y and self.y - together < self.room.y:
            self.turn()
        for block in blocks:
            if self.y and self.y - block.high < self.room.y:
                self.turn()
            if not self.y:
                self.y = self.room.y + self.room.high
            marks, placed = block.draw(self.room.x, self.y)
            self.marks += marks
            self.placed += placed
            self.y -= block.high

    def turn(self) -> None:
        """Begin a new sheet."""
        if self.marks or self.placed:
            paper = self.paper
            made = tuple(self.marks), tuple(self.placed)
            self.sheets.append(Sheet(self.title, paper.width, paper.height, *made))
        self.marks, self.placed, self.y = [], [], 0.0


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """Boards alike are told once; small ones share a sheet."""
    project = product.project
    hand = hands(project)
    flow = _Flow(paper, "Boards")
    told: set[tuple[object, ...]] = set()
    for number, boards in enumerate(like_boards(project), start=1):
        said = {hand[board.name] for board in boards}
        one = said.pop() if len(said) == 1 else ""
        blocks = list(_blocks(project, boards, one, number, paper, told))
        flow.add(blocks, together=sum(block.high for block in blocks[:3]))
    flow.turn()
    yield from flow.sheets


def _blocks(
    project: Project, boards: Sequence[Board], hand: str, number: int, paper: Paper,
    told: set[tuple[object, ...]],
) -> Iterator[Block]:  # fmt: skip
    """The blocks of one board; a cut through a pocket only where none like it was told before."""
    board, unit = boards[0], project.unit
    yield _heading(boards, hand, number, unit, paper)
    bores = bores_in(project, board)
    labels = {bore.name: str(i) for i, bore in enumerate(bores, start=1)}
    for side in _FACES:
        lying = Lying(board, side)
        face = _Face(project, lying, labels)
        if face.has_work:
            yield face.block(paper, f"board {number} {side}")
    if bores:
        yield _table(board, bores, labels, unit, paper)
        setting = _setting(board, bores[0])
        if setting not in told:
            told.add(setting)
            yield _cut(project, bores[0], number, paper)


def _heading(boards: Sequence[Board], hand: str, number: int, unit: Unit, paper: Paper) -> Block:
    board = boards[0]

    def own(mm: float) -> str:
        return nearest_length(mm, unit)

    roles = ", ".join(dict.fromkeys(board.role for board in boards))
    size = " x ".join(own(mm) for mm in (board.length, board.width, board.thickness))
    head = f"{number}. {len(boards)} x {roles}{f' ({hand} hand)' if hand else ''}"
    says = [
        f"{size}, {board.stock.title}; pieces: {', '.join(dict.fromkeys(b.piece for b in boards))}"
    ]
    says += [work.told(board, own) for work in board.work]
    told = [line for one in says for line in wrapped(one, paper.wide, 2.2)]

    def draw(x: float, y: float) -> tuple[Sequence[Mark], Sequence[Placed]]:
        marks: list[Mark] = [
            Line((x, y - 1.0), (x + paper.wide, y - 1.0), "faint"),
            *(
                Text((x, y - 5.5 - 5.0 * i), line, 3.0, bold=True)
                for i, line in enumerate(wrapped(head, paper.wide, 3.0, bold=True))
            ),
        ]
        marks += lines((x, y - 3.0 - 5.0 * rows), told, 2.2)
        return marks, ()

    rows = len(wrapped(head, paper.wide, 3.0, bold=True))
    return Block(4.0 + 5.0 * rows + 3.75 * len(told) + _GAP, draw)


# --- a face --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Face:
    """What is seen and measured on one face of a board."""

    project: Project
    lying: Lying
    labels: Mapping[str, str]

    @property
    def bores(self) -> list[Bore]:
        return [
            bore
            for bore in bores_in(self.project, self.lying.board)
            if bore.pocket_face == self.lying.side
        ]

    @property
    def parts(self) -> list[Region | Hole]:
        """What work takes out from this face, or, through the board, from the top face."""
        return [part for part, work in self.lying.regions() if work.done_from == self.lying.side]

    @property
    def mates(self) -> list[tuple[Joint, list[Point]]]:
        """Where other boards meet this face: their outlines."""
        found = []
        for joint in self.project.joints:
            if (joint.second, joint.second_face) == (self.lying.board.name, self.lying.side):
                found.append((joint, self._footprint(joint.first, joint.first_face)))
        return [(joint, outline) for joint, outline in found if len(outline) > 2]

    @property
    def has_work(self) -> bool:
        return bool(self.bores or self.parts or self.mates)

    def _footprint(self, name: str, side: Side) -> list[Point]:
        other = self.project.board_named[name]
        fences = []
        for face in other.faces:
            if face.side == side:
                continue
            world = other.pose.plane(face.plane)
            own = self.lying.board.pose
            normal = own.local_direction(world.normal)
            local = type(world)(normal, world.offset - dot(world.normal, own.origin))
            fences.append(self.lying.plane(local))
        return self.lying.section(fences)

    def block(self, paper: Paper, name: str) -> Block:
        """The face drawn to scale, as wide as the paper lets it."""
        wide, deep, _ = self.lying.size
        room = paper.wide - 2 * ROOM
        scale = next(
            s for s in SCALES if (wide * s <= room and deep * s <= _TALLEST) or s == SCALES[-1]
        )
        drawing = Drawing(name, tuple(self._marks(scale)), scale)
        (x0, y0), (x1, y1) = extent(drawing)
        face = self.lying.board.face(self.lying.side).name
        right = "" if self.lying.side == TOP else ", turned over about its length"
        says = f"{face} up, {said_scale(scale)}{right if self.lying.side == BOTTOM else ''}"

        def draw(x: float, y: float) -> tuple[Sequence[Mark], Sequence[Placed]]:
            middle = x + (paper.wide - x0 - x1) / 2
            words = Text((x, y - 2.5), says, 2.2)
            return (words,), (Placed(drawing, (middle, y - 5.0 - y1)),)

        return Block(y1 - y0 + 5.0 + _GAP, draw)

    def _marks(self, scale: float) -> list[Mark]:
        shown = list(self._drawn(scale))
        return [*shown, *self._labels(shown, scale)]

    def _drawn(self, scale: float) -> Iterator[Mark]:
        lying = self.lying
        wide, deep, _ = lying.size
        yield Polyline(lying.outline, "outline", True)
        xs: list[float] = [0.0, wide]
        ys: list[float] = [0.0, deep]
        for part in self.parts:
            if isinstance(part, Hole):
                x, y, _ = lying.at(part.mouth)
                points = [(x + a * part.radius, y + b * part.radius) for a, b in _CIRCLE]
                yield Polyline(tuple(points), "thin", True)
                continue
            yield Polyline(part.outline, "thin", True)
            xs += [p[0] for p in part.outline]
            ys += [p[1] for p in part.outline]
        holes = [lying.at(part.mouth) for part in self.parts if isinstance(part, Hole)]
        if holes:
            xs += [min(p[0] for p in holes), max(p[0] for p in holes)]
            ys += [p[1] for p in holes]
        for _, outline in self.mates:
            yield Polyline(tuple(outline), "hidden", True)
            xs += [p[0] for p in outline]
            ys += [p[1] for p in outline]
        for bore in self.bores:
            mark = mark_out(lying.board, bore)
            x, y, _ = lying.at(mark.mouth)
            yield Polyline(tuple(lying.mouth(bore)), "outline", True)
            start, back = lying.at(bore.exit), lying.way(bore.back)
            reach = bore.run_out(lying.board)
            yield Line(
                start[:2], (start[0] + reach * back[0], start[1] + reach * back[1]), "centre"
            )
            xs.append(x)
            ys.append(y)
        yield from self._numbers(xs, ys, scale)

    def _labels(self, drawn_: Sequence[Mark], scale: float) -> Iterator[Text]:
        """The pockets' numbers, each at the first place about its pocket where nothing else is."""
        taken = [LineString(m.points) for m in drawn_ if isinstance(m, Polyline)]
        taken += [LineString((m.start, m.end)) for m in drawn_ if isinstance(m, Line)]
        taken += [
            LineString((*m.points, m.points[0]))
            for m in drawn_
            if isinstance(m, Polyline) and m.closed
        ]
        for bore in self.bores:
            places = list(self._places(bore, scale))
            texts = [Text(p, self.labels[bore.name], HEIGHT, "middle", "middle") for p in places]
            boxes = [_box(text, scale) for text in texts]
            free = [i for i, box in enumerate(boxes) if not any(box.intersects(t) for t in taken)]
            best = free[0] if free else 0
            taken.append(boxes[best].exterior)
            yield texts[best]

    def _places(self, bore: Bore, scale: float) -> Iterator[Point]:
        """Beyond the pocket's far end, beside it, before it; nearer ones first."""
        start, back = self.lying.at(bore.exit), self.lying.way(bore.back)
        reach = bore.run_out(self.lying.board)
        for far in (2.4, 4.0, 6.0, 8.0, 11.0):
            for along_, across in (
                (reach + far / scale, 0.0),
                (0.6 * reach, far / scale + bore.drill.counterbore_radius),
                (0.6 * reach, -far / scale - bore.drill.counterbore_radius),
                (reach + far / scale, far / scale),
                (reach + far / scale, -far / scale),
            ):
                yield (
                    start[0] + along_ * back[0] - across * back[1],
                    start[1] + along_ * back[1] + across * back[0],
                )

    def _numbers(self, xs: Sequence[float], ys: Sequence[float], scale: float) -> Iterator[Mark]:
        """Each place from the end and edge that it is nearer to."""
        wide, deep, _ = self.lying.size
        unit = self.project.unit
        for places, size, upright, across in ((xs, wide, False, deep), (ys, deep, True, wide)):
            near = [p for p in places if p <= size / 2 + 1e-6]
            far = [p for p in places if p > size / 2 + 1e-6]
            told = [(p, nearest_length(p, unit)) for p in near]
            yield from row(told, 0.0, -1, upright, scale)
            told = [(p, nearest_length(size - p, unit)) for p in far]
            yield from row(told, across, 1, upright, scale)


def _box(text: Text, scale: float) -> Polygon:
    """What a text covers on a drawing of that scale, with some air (real mm)."""
    half = (width_of(text.says, text.height) / 2 + 0.5) / scale
    high = (text.height / 2 + 0.5) / scale
    x, y = text.at
    return box(x - half, y - high, x + half, y + high)


_CIRCLE = tuple(
    (c, s)
    for c, s in (
        (1.0, 0.0),
        (0.866, 0.5),
        (0.5, 0.866),
        (0.0, 1.0),
        (-0.5, 0.866),
        (-0.866, 0.5),
        (-1.0, 0.0),
        (-0.866, -0.5),
        (-0.5, -0.866),
        (0.0, -1.0),
        (0.5, -0.866),
        (0.866, -0.5),
    )  # fmt: skip
)


# --- the settings --------------------------------------------------------------------------------


def _table(
    board: Board, bores: Sequence[Bore], labels: Mapping[str, str], unit: Unit, paper: Paper
) -> Block:
    def own(mm: float) -> str:
        return nearest_length(mm, unit)

    rows = []
    for bore in bores:
        mark = mark_out(board, bore)
        rows.append(
            (
                labels[bore.name],
                f"{own(mark.run)} {mark.start.name}",
                f"{own(mark.square)} {mark.line.name}",
                _swing(mark),
                own(mark.depth),
                own(bore.shoulder),
                bore.screw.title,
            )
        )
    shares = (0.06, 0.19, 0.19, 0.13, 0.1, 0.1, 0.23)
    widths = tuple(share * paper.wide for share in shares)
    head = ("", "from the", "and from the", "swing", "drill deep", "pilot", "screw")
    table = Table((0.0, 0.0), widths, head, tuple(rows), 2.0)

    def draw(x: float, y: float) -> tuple[Sequence[Mark], Sequence[Placed]]:
        return (Table((x, y), widths, head, tuple(rows), 2.0),), ()

    return Block(table.depth + _GAP, draw)


def _swing(mark: MarkOut) -> str:
    if abs(mark.turn) < 1e-6:
        return "square"
    return f"{abs(mark.turn):.4g} deg {'left' if mark.turn > 0 else 'right'}"


def _setting(board: Board, bore: Bore) -> tuple[object, ...]:
    """What makes two cuts through a pocket look alike."""
    depth = board.face(bore.pocket_face).plane.gap(bore.exit)
    thick = board.across(bore.pocket_face)
    return bore.drill, bore.screw, *(round(n, 3) for n in (bore.shoulder, depth, thick))


def _cut(project: Project, bore: Bore, number: int, paper: Paper) -> Block:
    """The cut through one pocket, with what its letters stand for."""
    cut = section(project, bore)
    drawing = fitting(drawn(cut, f"board {number} pocket", project.unit), paper.wide / 2, _SECTION)
    (x0, _), (x1, y1) = extent(drawing)
    says = wrapped(f"Cut through a pocket: {legend(cut, project.unit)}.", paper.wide / 2 - 8.0, 2.2)

    def draw(x: float, y: float) -> tuple[Sequence[Mark], Sequence[Placed]]:
        words = lines((x + paper.wide / 2 + 8.0, y - 4.0), says, 2.2)
        return tuple(words), (Placed(drawing, (x - x0, y - y1)),)

    return Block(_SECTION + _GAP, draw)


PAGES = Pages("Boards", 30, make)
