"""A face of a board to scale: what is worked on it, where other boards lie, all in numbers."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from shapely import Geometry
from shapely.geometry import LineString, Point, Polygon, box

from ...models.piece.board import Hole
from ...models.piece.bored import bores_in
from ...models.piece.lie import Lying, Region
from ...models.piece.lie import Point as Place
from ...models.piece.markout import fraction, mark_out
from ...models.piece.project import Bore, Joint, Project
from ...models.words.lengths import nearest_length
from ..drawing.fonts import width_of
from ..drawing.marks import Arc, Drawing, Line, Mark, Polyline, Text
from ..telling.mating import footprint
from .ordinates import HEIGHT, row

_CHORD = 0.02  # mm that a curve's outline may lie off it
_WHOLE = 0.98  # share of a face that a board covers which leaves no line to mark


@dataclass(frozen=True)
class Worked:
    """What is seen and measured on one face of a board.

    Attributes:
        project: that the board belongs to.
        lying: the board with the face up.
        labels: numbers of its pockets, by name.
    """

    project: Project
    lying: Lying
    labels: Mapping[str, str]

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
    def mates(self) -> list[tuple[Joint, list[Place]]]:
        """Where other boards meet this face and leave some of it free: their outlines."""
        found = []
        whole = Polygon(self.lying.outline).area
        for joint in self.project.joints:
            if (joint.second, joint.second_face) == (self.lying.board.name, self.lying.side):
                outline = footprint(self.project, joint)
                if len(outline) > 2 and Polygon(outline).area < _WHOLE * whole:
                    found.append((joint, outline))
        return found

    @property
    def has_work(self) -> bool:
        """Whether there is anything to mark or to do."""
        return bool(self.bores or self.parts or self.mates)

    def drawing(self, name: str, scale: float) -> Drawing:
        """The face at a scale."""
        shown = list(self._drawn(scale))
        return Drawing(name, (*shown, *self._labels(shown, scale)), scale)

    def _drawn(self, scale: float) -> Iterator[Mark]:
        lying, unit = self.lying, self.project.unit
        wide, deep, _ = lying.size
        xs: dict[float, int] = dict.fromkeys((0.0, wide), 32)
        ys: dict[float, int] = dict.fromkeys((0.0, deep), 32)
        yield Polyline(lying.outline, "outline", True)
        holes = []
        for part in self.parts:
            if isinstance(part, Hole):
                x, y, _ = lying.at(part.mouth)
                holes.append((x, y))
                yield Arc((x, y), part.radius, pen="thin")
                continue
            yield Polyline(curved(lying, part), "thin", True)
            xs |= dict.fromkeys((p[0] for p in part.outline), 32)
            ys |= dict.fromkeys((p[1] for p in part.outline), 32)
        if holes:
            xs |= dict.fromkeys((min(holes)[0], max(holes)[0]), 32)
            ys |= dict.fromkeys((y for _, y in holes), 32)
        for _, outline in self.mates:
            yield Polyline(tuple(outline), "hidden", True)
            xs |= dict.fromkeys((p[0] for p in outline), 32)
            ys |= dict.fromkeys((p[1] for p in outline), 32)
        for bore in self.bores:
            mark = mark_out(lying.board, bore)
            x, y, _ = lying.at(mark.mouth)
            yield Polyline(tuple(lying.mouth(bore)), "outline", True)
            start, back = lying.at(bore.exit), lying.way(bore.back)
            reach = bore.run_out(lying.board)
            end = (start[0] + reach * back[0], start[1] + reach * back[1])
            yield Line(start[:2], end, "centre")
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
            yield from row(far, across, 1, upright, scale)

    def _labels(self, drawn: Sequence[Mark], scale: float) -> Iterator[Text]:
        """The pockets' numbers, each at the first place about its pocket where nothing else is."""
        taken = [shape for mark in drawn for shape in _covered(mark)]
        for bore in self.bores:
            places = list(self._places(bore, scale))
            texts = [Text(p, self.labels[bore.name], HEIGHT, "middle", "middle") for p in places]
            boxes = [_box(text, scale) for text in texts]
            free = [i for i, box in enumerate(boxes) if not any(box.intersects(t) for t in taken)]
            best = free[0] if free else 0
            taken.append(boxes[best].exterior)
            yield texts[best]

    def _places(self, bore: Bore, scale: float) -> Iterator[Place]:
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


def curved(lying: Lying, region: Region) -> tuple[Place, ...]:
    """The outline of what is taken out of a face, round where it is round (mm)."""
    cut = next(cut for cut in lying.board.cuts if cut.name == region.name)
    curve = cut.round
    if curve is None:
        return region.outline
    x, y, _ = lying.at(curve.point)
    steps = math.ceil(math.pi / 4 / math.acos(1 - min(1.0, _CHORD / curve.radius)))
    disc = Point(x, y).buffer(curve.radius, quad_segs=max(8, steps))
    flat = Polygon(region.outline)
    taken = flat.intersection(disc) if curve.hollow else flat.difference(disc)
    one = max(getattr(taken, "geoms", [taken]), key=lambda part: part.area)
    return tuple((float(a), float(b)) for a, b in one.exterior.coords[:-1])


def _covered(mark: Mark) -> Iterator[Geometry]:
    """What a label must keep clear of."""
    match mark:
        case Polyline():
            yield LineString((*mark.points, mark.points[0]) if mark.closed else mark.points)
        case Line():
            yield LineString((mark.start, mark.end))
        case Arc():
            yield Point(mark.centre).buffer(mark.radius)


def _box(text: Text, scale: float) -> Polygon:
    """What a text covers on a drawing of that scale, with some air (real mm)."""
    half = (width_of(text.says, text.height) / 2 + 0.5) / scale
    high = (text.height / 2 + 0.5) / scale
    x, y = text.at
    return box(x - half, y - high, x + half, y + high)
