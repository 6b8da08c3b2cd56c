"""A face of a board to scale: what is worked on it, where other boards lie, all in numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from string import ascii_lowercase

from shapely import Geometry
from shapely.geometry import Point, Polygon

from ...models.piece.board import SIDES, Hole
from ...models.piece.bored import bores_in
from ...models.piece.lie import Lying, Region
from ...models.piece.lie import Point as Place
from ...models.piece.markout import fraction, mark_out
from ...models.piece.pairs import Lines
from ...models.piece.project import Bore, Joint, Project
from ...models.words.lengths import nearest_length
from ..drawing.fonts import fitted
from ..drawing.marks import Arc, Drawing, Line, Mark, Polyline, Text
from ..telling.mating import footprint
from .labels import Align, covered, put
from .ordinates import HEIGHT, ROOM, row

_CHORD, _EXACT = 0.02, 1e-4  # mm that a curve's outline may lie off it: drawn, measured
_WHOLE = 0.98  # share of a face that a board covers which leaves no line to mark
_CROSS = 1.2  # mm of paper, half of the cross at the pencil's mark


@dataclass(frozen=True)
class Worked:
    """What is seen and measured on one face of a board.

    Attributes:
        project: that the board belongs to.
        lying: the board with the face up.
        labels: numbers of its pockets, by name.
        alike: how many boards are made like it.
    """

    project: Project
    lying: Lying
    labels: Mapping[str, str]
    alike: int = 1

    @cached_property
    def bores(self) -> list[Bore]:
        """The pockets that are drilled from this face."""
        return [
            bore
            for bore in bores_in(self.project, self.lying.board)
            if bore.pocket_face == self.lying.side
        ]

    @cached_property
    def parts(self) -> list[Region | Hole]:
        """What work takes out from this face, or, through the board, from the top face."""
        return [part for part, work in self.lying.regions() if work.done_from == self.lying.side]

    @cached_property
    def others(self) -> list[Region]:
        """What of work that is done from other faces is seen on this one."""
        return [
            part
            for part, work in self.lying.regions()
            if work.done_from != self.lying.side and isinstance(part, Region)
        ]

    @cached_property
    def mates(self) -> Mapping[str, tuple[Joint, list[Place]]]:
        """Where other boards meet this face and leave some of it free: outlines, by letter."""
        found = mates_on(self.project, self.lying)
        return {letters(number): one for number, one in enumerate(found)}

    @property
    def has_work(self) -> bool:
        """Whether there is anything to mark or to do."""
        return bool(self.bores or self.parts or self.mates)

    @property
    def dashed(self) -> str:
        """Which boards the dashed outlines are; each of several alike boards has its own there."""
        many = len(self.mates) > 1
        found = [
            f"{letter} {role}" if many else role
            for letter, (joint, _) in self.mates.items()
            for role in [self.project.board_named[joint.first].role]
        ]
        whose = f" on the {self.lying.board.role}" if self.alike > 1 else ""
        return f"dashed{whose}: {', '.join(found)}" if found else ""

    def drawing(self, name: str, scale: float) -> Drawing:
        """The face at a scale."""
        shown = list(self._drawn(scale))
        taken = [shape for mark in shown for shape in covered(mark, scale)]
        shown += self._sides(taken, scale)
        for says, places in (*self._pockets(scale), *self._letters(scale)):
            shown.append(put(says, HEIGHT, list(places), taken, scale))
        return Drawing(name, tuple(shown), scale)

    def _drawn(self, scale: float) -> Iterator[Mark]:
        lying, unit = self.lying, self.project.unit
        wide, deep, _ = lying.size
        xs: dict[float, int] = dict.fromkeys((0.0, wide), 32)
        ys: dict[float, int] = dict.fromkeys((0.0, deep), 32)
        yield from (Polyline(curved(lying, part), "faint", True) for part in self.others)
        yield Polyline(lying.outline, "outline", True)
        holes = []
        for part in self.parts:
            if isinstance(part, Hole):
                x, y, _ = lying.at(part.mouth)
                holes.append((x, y))
                yield Arc((x, y), part.radius, pen="thin")
                continue
            yield Polyline(curved(lying, part), "thin", True)
            # Of a curve, where it begins and ends; of straight lines every corner.
            corners = curved(lying, part, _EXACT)
            for places, axis in ((xs, 0), (ys, 1)):
                values = [p[axis] for p in corners]
                if part.curve:
                    values = [min(values), max(values)]
                places |= dict.fromkeys(values, 32)
        if holes:
            xs |= dict.fromkeys((min(holes)[0], max(holes)[0]), 32)
            ys |= dict.fromkeys((y for _, y in holes), 32)
        for _, mate in self.mates.values():
            yield Polyline(tuple(mate), "hidden", True)
            xs |= dict.fromkeys((p[0] for p in mate), 32)
            ys |= dict.fromkeys((p[1] for p in mate), 32)
        for bore in self.bores:
            mark = mark_out(lying.board, bore)
            x, y, _ = lying.at(mark.mouth)
            yield from pocket(lying, bore, scale)
            fine = fraction(lying.board, bore, mark, unit)
            xs[x], ys[y] = fine, fine
        yield from self._numbers(xs, ys, scale)

    def _numbers(
        self, xs: Mapping[float, int], ys: Mapping[float, int], scale: float
    ) -> Iterator[Mark]:
        """Each place from the end and edge that it is nearer to; finest fractions of an inch."""
        wide, deep, _ = self.lying.size
        unit = self.project.unit
        for places, size, upright, across in ((xs, wide, False, deep), (ys, deep, True, wide)):
            half = size / 2 + 1e-6
            near = [(p, nearest_length(p, unit, n)) for p, n in places.items() if p <= half]
            yield from row(near, 0.0, -1, upright, scale)
            far = [(p, nearest_length(size - p, unit, n)) for p, n in places.items() if p > half]
            yield from row(far, across, 1, upright, scale, size)

    def _sides(self, taken: list[Geometry], scale: float) -> Iterator[Text]:
        """What the ends and edges are called that are measured from, each beside its own."""
        lying, board = self.lying, self.lying.board
        wide, deep, _ = lying.size
        edges = [
            [p[0] for p in lying.outline if abs(p[1] - y) < 1e-6] or [0.0, wide]
            for y in (0.0, deep)
        ]
        (near0, near1), (away0, away1) = ((min(xs), max(xs)) for xs in edges)
        steps = [mm / scale for mm in range(0, 40, 2)]
        close = 1.6 / scale
        right, away, left, near = (board.face(side).name for side in lying.beside)
        rows: tuple[tuple[str, Align, list[Place]], ...] = (
            (left, "right", [(-close, deep + close + step) for step in steps]),
            (right, "left", [(wide + close, -close - step) for step in steps]),
            (away, "left", [(away0 + close + step, deep + 1.2 * close) for step in steps]),
            (near, "right", [(near1 - close - step, -1.2 * close) for step in steps]),
        )
        for says, along, places in rows:
            yield put(fitted(says, ROOM - 2.0, HEIGHT), HEIGHT, places, taken, scale, along)

    def _pockets(self, scale: float) -> Iterator[tuple[str, Iterator[Place]]]:
        """The pockets' numbers, each with places beyond its far end, beside it, before it."""
        for bore in self.bores:
            yield self.labels[bore.name], self._places(bore, scale)

    def _letters(self, scale: float) -> Iterator[tuple[str, Iterator[Place]]]:
        """A letter for each board that comes here; none where there is only one."""
        for letter, (_, outline) in self.mates.items() if len(self.mates) > 1 else ():
            yield letter, _beside(outline, scale)

    def _places(self, bore: Bore, scale: float) -> Iterator[Place]:
        """About a pocket; nearer ones first."""
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


def mates_on(project: Project, lying: Lying) -> Iterator[tuple[Joint, list[Place]]]:
    """The joints by which other boards meet a face and leave some of it free; their outlines."""
    whole = Polygon(lying.outline).area
    for joint in project.joints:
        if (joint.second, joint.second_face) == (lying.board.name, lying.side):
            outline = footprint(project, joint)
            if len(outline) > 2 and Polygon(outline).area < _WHOLE * whole:
                yield joint, outline


def mating_outlines(project: Project) -> Lines:
    """The outlines of all boards that come to a board, by its name, in its own frame (mm)."""
    lying = {board.name: [Lying(board, side) for side in SIDES] for board in project.boards}
    return {
        name: [
            [one.on_board((x, y, 0.0)) for x, y in outline]
            for one in some for _, outline in mates_on(project, one)
        ]
        for name, some in lying.items()
    }  # fmt: skip


def letters(number: int) -> str:
    """a, b, ... z, aa, ab, ..."""
    more, last = divmod(number, 26)
    return (letters(more - 1) if more else "") + ascii_lowercase[last]


def pocket(lying: Lying, bore: Bore, scale: float, parts: int = 24) -> Iterator[Mark]:
    """A pocket's outline on its face, its axis, and a cross where the pencil marks it."""
    x, y, _ = lying.at(mark_out(lying.board, bore).mouth)
    yield Polyline(tuple(lying.mouth(bore, parts)), "outline", True)
    start, back = lying.at(bore.exit), lying.way(bore.back)
    reach = bore.run_out(lying.board)
    yield Line(start[:2], (start[0] + reach * back[0], start[1] + reach * back[1]), "centre")
    arm = _CROSS / scale
    yield Line((x - arm, y), (x + arm, y), "mark")
    yield Line((x, y - arm), (x, y + arm), "mark")


def curved(lying: Lying, region: Region, chord: float = _CHORD) -> tuple[Place, ...]:
    """The outline of what is taken out of a face, round where it is round (mm).

    `chord` is how far it may lie off a curve.
    """
    cut = next(cut for cut in lying.board.cuts if cut.name == region.name)
    curve = cut.round
    if curve is None:
        return region.outline
    x, y, _ = lying.at(curve.point)
    steps = math.ceil(math.pi / 4 / math.acos(1 - min(1.0, chord / curve.radius)))
    disc = Point(x, y).buffer(curve.radius, quad_segs=max(8, steps))
    flat = Polygon(region.outline)
    taken = flat.intersection(disc) if curve.hollow else flat.difference(disc)
    one = max(getattr(taken, "geoms", [taken]), key=lambda part: part.area)
    return tuple((float(a), float(b)) for a, b in one.exterior.coords[:-1])


def _beside(outline: Sequence[Place], scale: float) -> Iterator[Place]:
    """In the middle of an outline, else along it, within it and then beside it; nearer ones first.

    Places in real mm.
    """
    xs, ys = [p[0] for p in outline], [p[1] for p in outline]
    (x0, x1), (y0, y1) = ((min(v), max(v)) for v in (xs, ys))
    shares = (0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9)
    along = [(x0 + share * (x1 - x0), y0 + share * (y1 - y0)) for share in shares]
    middle = along[0]
    yield from (place for x, y in along for place in ((x, y), (x, middle[1]), (middle[0], y)))
    for far in (mm / scale for mm in (2.0, 3.0, 4.5, 6.0, 8.0, 10.0)):
        for x, y in along:
            yield from ((x1 + far, y), (x0 - far, y), (x, y1 + far), (x, y0 - far))
        yield from ((a, b) for a in (x0 - far, x1 + far) for b in (y0 - far, y1 + far))
