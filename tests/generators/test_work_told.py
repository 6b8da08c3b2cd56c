"""What the cut list says of a board is enough to make it: every board is rebuilt from the words.

The reader below knows the frame of a board and what its faces are called, as a maker does who has
it on the bench, and cuts boxes and cylinders with the kernel's own tools. Angles, sizes and places
come from the words alone.
"""

from __future__ import annotations

import math
import re
from pathlib import Path

import cadquery as cq
import pytest

from slantbore.generators.solids.solids import unbored_solid
from slantbore.models.designs import designs, piece_models
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, SIDES, TOP, Board, Side
from slantbore.models.piece.bored import told
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.work.end_cut import end_cuts

RECIPES = {p.stem: p.read_text() for p in sorted(Path("recipes").resolve().glob("*.yaml"))} | {
    f"{key} starter": design.starter for key, design in designs().items()
}
# Work that no shipped piece has: stopped, across the grain, measured from the far sides, curved.
EVERYTHING = """\
name: everything
units: mm
stock:
  ash: {wood: white-ash, thickness: 22}
build:
  - design: free-form
    name: trial
    parts:
      one:
        stock: ash
        length: 600
        width: 200
        faces: {top face: front, bottom face: back, left end: foot}
        rebates:
          - {edge: back edge, face: bottom face, width: 9, depth: 6, starts: 40, stops: 55}
          - {edge: right end, face: top face, width: 12, depth: 7, name: lap}
        grooves:
          - {edge: left end, face: top face, width: 18, depth: 8, distance: 120, stops: 30}
          - {edge: front edge, face: bottom face, width: 5, depth: 5, distance: 60, starts: 200}
        notches:
          - {edge: front edge, end: right end, length: 30, depth: 25, distance: 90}
          - {edge: back edge, end: left end, length: 20, depth: 15}
        openings:
          - {length: 60, width: 40, from_end: 150, from_edge: 70, end: right end, edge: back edge}
        holes:
          - {face: bottom face, rows: [{edge: back edge, distance: 30}], first: 300, diameter: 8}
          - {face: top face, end: right end, first: 300, count: 3, pitch: 25, without: [2],
             rows: [{edge: front edge, distance: 90}, {edge: back edge, distance: 90}],
             diameter: 6, depth: 9}
      two:
        stock: ash
        length: 500
        width: 120
        arches:
          - {edge: front edge, rise: 30, starts: 80, stops: 120}
          - {edge: back edge, rise: 8, name: crown}
        rounded: [{end: left end, edge: front edge, radius: 25}]
        tapers: [{side: top face, end: right end, amount: 6, length: 90}]
    joints:
      - kind: loose
        board: one / foot
        meets: two / right end
        flush: [{face: front, to: top face}, {face: front edge, to: front edge}]
"""
RECIPES["everything"] = EVERYTHING
FAR = 1000.0  # mm past the wood
L = r"(-?[\d.]+) mm"
CHANNEL = re.compile(rf"(.*), ?stopped {L} from the (.+?)(?: and {L} from the (.+))?")
REBATE = re.compile(rf".*rebate\)?(?: \d+)?,? {L} x {L} along the (.+), from the (.+)")
GROOVE = re.compile(rf".*(?:groove|dado)\)?(?: \d+)?,? {L} x {L} in the (.+), {L} from the (.+)")
NOTCH = re.compile(rf".*notch\)?(?: \d+)?,? {L} x {L} in the (.+), (?:{L} from|at) the (.+)")
OPENING = re.compile(rf".*opening.*?,? {L} x {L}, {L} from the (.+), {L} from the (.+)")
TAPER = re.compile(rf".*taper\)?,? of the (.+), {L} off at the (.+), running out {L} from it")
ARCH = re.compile(
    rf".*arch\)?(?: \d+)?,? {L} high along the (.+), (?:from end to end|{L} from the (.+?)"
    rf"(?: and {L} from the (.+))?), radius {L}"
)
ROUNDED = re.compile(rf".*rounded corner.*?,? {L} at the (.+) and the (.+)")
HOLES = re.compile(
    rf"(?:(\d+ rows|row) of )?(?:(\d+) )?[^,]*?holes?\)?(?: at {L})?(?: without ([\d, to]+))?, "
    rf"(.+), (?:first )?{L} from the ([^,]+), {L} drill, (?:{L} deep|through) from the (.+)"
)
ROW = re.compile(rf"{L} from (?:the edges|the ([^,]+?))(?: and |$)")
BORED = re.compile(r"\d+ (?:pocket bore|slotted pilot|pilot hole)s? in the ")
ENDS = re.compile(r"(?:mitre ([\d.]+))?(?:, )?(?:bevel ([\d.]+))? degrees[^,]*, (.+) long")


class Bench:
    """A board on the bench: its faces by name, and boxes measured from them."""

    def __init__(self, board: Board) -> None:
        self.size = (board.length, board.width, board.thickness)
        self.sides: dict[str, Side] = {board.face(side).name: side for side in SIDES}

    @property
    def edges(self) -> list[str]:
        return [name for name, side in self.sides.items() if side in (FRONT, BACK)]

    def axis(self, name: str) -> tuple[int, bool]:
        """Which axis a face stands across, and whether it is at the far end of it."""
        side = self.sides[name]
        return (0 if side in (LEFT, RIGHT) else 1 if side in (FRONT, BACK) else 2), side in (
            RIGHT, BACK, TOP,
        )  # fmt: skip

    def box(self, *spans: tuple[str, float, float]) -> cq.Solid:
        """From so far to so far inside the faces named; elsewhere past the wood."""
        low, high = [-FAR] * 3, [FAR + size for size in self.size]
        for name, near, far in spans:
            axis, end = self.axis(name)
            a, b = (self.size[axis] - far, self.size[axis] - near) if end else (near, far)
            low[axis], high[axis] = max(low[axis], a), min(high[axis], b)
        x, y, z = (b - a for a, b in zip(low, high, strict=True))
        return cq.Solid.makeBox(x, y, z, cq.Vector(*low))

    def cylinder(self, middle: list[float], name: str, radius: float, depth: float) -> cq.Solid:
        axis, end = self.axis(name)
        middle[axis] = self.size[axis] if end else 0.0
        way = [0.0, 0.0, 0.0]
        way[axis] = -1.0 if end else 1.0
        start = cq.Vector(*middle) - cq.Vector(*way)
        return cq.Solid.makeCylinder(radius, depth + 1.0, start, cq.Vector(*way))

    def wedge(self, side: str, off: float, end: str, run: float) -> cq.Solid:
        """What a taper takes: a triangle, drawn on the plane through the two directions."""
        (across, far), (along, right) = self.axis(side), self.axis(end)

        def point(inward: float, on: float) -> cq.Vector:
            p = [-FAR, -FAR, -FAR]
            p[across] = self.size[across] - inward if far else inward
            p[along] = self.size[along] - on if right else on
            return cq.Vector(*p)

        wire = cq.Wire.makePolygon([point(0, run), point(off, 0), point(0, 0)], close=True)
        push = [2 * FAR + sum(self.size) if i not in (across, along) else 0.0 for i in range(3)]
        return cq.Solid.extrudeLinear(wire, [], cq.Vector(*push))

    def disc(
        self, rise: str, edge: str, first: str | None, end: str | None, last: str | None,
        other: str | None, radius: str,
    ) -> cq.Solid:  # fmt: skip
        """What an arch takes: a disc through the ends of its chord; its radius is told as well."""
        given = ((first, end), (last, other))
        away = {self.sides[name]: float(mm) for mm, name in given if mm and name}
        start, stop = away.get(LEFT, 0.0), self.size[0] - away.get(RIGHT, 0.0)
        high, half = float(rise), (stop - start) / 2
        size = (half**2 + high**2) / (2 * high)
        assert float(radius) == pytest.approx(size)
        y = high - size if self.sides[edge] == FRONT else self.size[1] - high + size
        middle = cq.Vector((start + stop) / 2, y, -FAR)
        return cq.Solid.makeCylinder(size, 2 * FAR, middle, cq.Vector(0, 0, 1))

    def spandrel(self, radius: float, end: str, edge: str) -> cq.Shape:
        """What rounding takes: a square in the corner less a disc."""
        middle = [0.0, 0.0, -FAR]
        for name in (end, edge):
            axis, far = self.axis(name)
            middle[axis] = self.size[axis] - radius if far else radius
        rod = cq.Solid.makeCylinder(radius, 2 * FAR, cq.Vector(*middle), cq.Vector(0, 0, 1))
        return self.box((end, 0.0, radius), (edge, 0.0, radius)).cut(rod)

    def read(self, text: str) -> list[cq.Shape]:
        """The solids to cut away for one piece of work."""
        stops: list[tuple[str, float, float]] = []
        if found := CHANNEL.fullmatch(text):
            text = found[1]
            stops = [
                (name, float(mm), FAR + sum(self.size))
                for mm, name in ((found[2], found[3]), (found[4], found[5]))
                if mm
            ]
        if found := REBATE.fullmatch(text):
            wide, deep = float(found[1]), float(found[2])
            return [self.box((found[3], -FAR, wide), (found[4], -FAR, deep), *stops)]
        if (found := GROOVE.fullmatch(text)) and self.sides[found[3]] in (TOP, BOTTOM):
            wide, deep, away = float(found[1]), float(found[2]), float(found[4])
            return [self.box((found[5], away, away + wide), (found[3], -FAR, deep), *stops)]
        if found := NOTCH.fullmatch(text):
            long, deep, away = float(found[1]), float(found[2]), float(found[4] or -FAR)
            stop = (float(found[4]) if found[4] else 0.0) + long
            return [self.box((found[5], away, stop), (found[3], -FAR, deep))]
        if found := OPENING.fullmatch(text):
            long, wide, x, y = (float(found[i]) for i in (1, 2, 3, 5))
            return [self.box((found[4], x, x + long), (found[6], y, y + wide))]
        if found := TAPER.fullmatch(text):
            return [self.wedge(found[1], float(found[2]), found[3], float(found[4]))]
        if found := ARCH.fullmatch(text):
            return [self.disc(*found.groups())]
        if found := ROUNDED.fullmatch(text):
            return [self.spandrel(float(found[1]), found[2], found[3])]
        found = HOLES.fullmatch(text)
        assert found, f"cannot be read: {text}"
        return self.holes(*found.groups())

    def holes(
        self, rows: str | None, count: str | None, pitch: str, without: str | None, places: str,
        first: str, end: str, drill: str, deep: str | None, face: str,
    ) -> list[cq.Shape]:  # fmt: skip
        across = [
            (name, float(mm))
            for mm, edge in ROW.findall(places)
            for name in ([edge] if edge else self.edges)
        ]
        assert len(across) == int((rows or "1").replace(" rows", "").replace("row", "1"))
        missing: set[int] = set()
        for span in (without or "").split(", ") if without else ():
            a, _, b = span.partition(" to ")
            missing |= set(range(int(a), int(b or a) + 1))
        found: list[cq.Shape] = []
        for name, away in across:
            for i in range(int(count or 1)):
                if i + 1 not in missing:
                    middle = [0.0, 0.0, 0.0]
                    for at, mm in ((name, away), (end, float(first) + i * float(pitch or 0))):
                        axis, far = self.axis(at)
                        middle[axis] = self.size[axis] - mm if far else mm
                    depth = float(deep) if deep else FAR
                    found.append(self.cylinder(middle, face, float(drill) / 2, depth))
        return found

    def blank(self, ends: str) -> cq.Shape:
        """The board sawn to length: what the ends say, measured from the long point."""
        length, width, _ = self.size
        solid: cq.Shape = self.box(
            *((name, 0.0, self.size[self.axis(name)[0]]) for name in self.sides)
        )
        if ends == "both ends square":
            return solid
        for name, side in self.sides.items():
            if side not in (LEFT, RIGHT):
                continue
            said = ends if "both ends" in ends else _part(ends, name)
            if "square" in said:
                continue
            found = ENDS.search(said)
            assert found and not found[2], said  # no shipped board has a bevelled end
            run = width * math.tan(math.radians(float(found[1])))
            front = self.sides[found[3]] == FRONT
            x, way = (0.0, 1.0) if side == LEFT else (length, -1.0)
            slope = run / width
            ys = (0.0, width) if front else (width, 0.0)
            step = 1.0 if front else -1.0
            outline = [
                (x - way * slope * FAR, ys[0] - step * FAR), (x + way * (run + slope * FAR),
                 ys[1] + step * FAR), (x - way * FAR, ys[1] + step * FAR),
                (x - way * FAR, ys[0] - step * FAR),
            ]  # fmt: skip
            wire = cq.Wire.makePolygon([cq.Vector(*p, -FAR) for p in outline], close=True)
            solid = solid.cut(cq.Solid.extrudeLinear(wire, [], cq.Vector(0, 0, 3 * FAR)))
        return solid


def _part(ends: str, name: str) -> str:
    return next(part for part in ends.split("; ") if part.startswith(name))


def exactly(mm: float) -> str:
    return f"{mm:.12f} mm"


@pytest.mark.parametrize("name", RECIPES)
def test_a_board_can_be_made_from_what_the_cut_list_says(name: str) -> None:
    project = plan(parse_recipe(RECIPES[name], name, piece_models()))
    seen = set()
    for board in project.boards:
        words = tuple(w for w in told(project, board, exactly) if not BORED.match(w))
        key = (words, end_cuts(board), board.length, board.width, board.thickness)
        if key in seen:
            continue
        seen.add(key)
        assert bool(words) == bool(board.cuts or board.holes)
        bench = Bench(board)
        made = bench.blank(end_cuts(board))
        for tool in (tool for text in words for tool in bench.read(text)):
            made = made.cut(tool)
        wanted = unbored_solid(board).Volume()
        assert made.Volume() == pytest.approx(wanted, rel=1e-9), (board.name, words)
