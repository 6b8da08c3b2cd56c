"""Blocks set one under the other, sheet after sheet; what belongs together stays on one sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from ..drawing.marks import Mark, Placed, Sheet
from .frame import room_of
from .paper import Paper

_AHEAD = 8  # groups that may be drawn forward to fill a sheet
_BESIDE = 6.0  # mm between two blocks side by side

Drawn = tuple[Sequence[Mark], Sequence[Placed]]


@dataclass(frozen=True)
class Block:
    """Part of a sheet: what is on it from a top left corner downward.

    Attributes:
        high: mm.
        draw: its marks and drawings, given the corner.
        wide: mm; as wide as the paper where it is not said.
    """

    high: float
    draw: Callable[[float, float], Drawn]
    wide: float = float("inf")


def beside(blocks: Sequence[Block], wide: float) -> Iterator[Block]:
    """The same blocks, neighbours side by side where the paper is wide enough for both."""
    waiting = list(blocks)
    while waiting:
        row = [waiting.pop(0)]
        while waiting and _width([*row, waiting[0]]) <= wide:
            row.append(waiting.pop(0))
        yield row[0] if len(row) == 1 else _row(row)


def _width(row: Sequence[Block]) -> float:
    return sum(block.wide for block in row) + _BESIDE * (len(row) - 1)


def _row(row: Sequence[Block]) -> Block:
    def draw(x: float, y: float) -> Drawn:
        marks: list[Mark] = []
        placed: list[Placed] = []
        for block in row:
            some, more = block.draw(x, y)
            marks += some
            placed += more
            x += block.wide + _BESIDE
        return marks, placed

    return Block(max(block.high for block in row), draw, _width(row))


def order(groups: Sequence[Sequence[Block]], paper: Paper, taken: float = 0.0) -> list[int]:
    """In which order groups fill the sheets best: as they are, but for some that are drawn forward.

    A group that does not fit what is left of a sheet waits; the next one that fits goes before it.
    `taken` is what stands on the first sheet already (mm).
    """
    highs = [sum(block.high for block in group) for group in groups]
    room = room_of(paper).high
    waiting, found, left = list(range(len(groups))), [], room - taken
    while waiting:
        fits = [i for i in waiting[:_AHEAD] if highs[i] <= left]
        if not fits and left < room:
            left = room
            continue
        chosen = fits[0] if fits else waiting[0]
        waiting.remove(chosen)
        found.append(chosen)
        left = max(0.0, left - highs[chosen])
    return found


@dataclass
class _Page:
    """A sheet that is being filled, and how far down it is free (mm)."""

    y: float
    marks: list[Mark] = field(default_factory=list)
    placed: list[Placed] = field(default_factory=list)

    def set(self, block: Block, x: float) -> None:
        marks, placed = block.draw(x, self.y)
        self.marks += marks
        self.placed += placed
        self.y -= block.high


@dataclass
class Flow:
    """Sheets that are being filled.

    Attributes:
        paper: printed on.
        title: of every sheet.
    """

    paper: Paper
    title: str
    _pages: list[_Page] = field(default_factory=list)

    def add(self, blocks: Sequence[Block]) -> None:
        """Set a group; it begins a new sheet where it does not fit what is left of this one."""
        room = room_of(self.paper)
        high = sum(block.high for block in blocks)
        if not self._pages or self._pages[-1].y - min(high, room.high) < room.y:
            self._turn()
        for block in blocks:
            page = self._pages[-1]
            if (page.marks or page.placed) and page.y - block.high < room.y:
                self._turn()
            self._pages[-1].set(block, room.x)

    def fill(self, block: Block) -> None:
        """Set a block on the first sheet with room for it, for it may stand anywhere."""
        room = room_of(self.paper)
        page = next((page for page in self._pages if page.y - block.high >= room.y), None)
        if page is None:
            self.add([block])
        else:
            page.set(block, room.x)

    def done(self) -> Iterator[Sheet]:
        """All sheets."""
        for page in self._pages:
            made = tuple(page.marks), tuple(page.placed)
            yield Sheet(self.title, self.paper.width, self.paper.height, *made)

    def _turn(self) -> None:
        room = room_of(self.paper)
        self._pages.append(_Page(room.y + room.high))
