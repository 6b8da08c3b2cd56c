"""The search that takes an assembly apart: what may leave next, again and again.

What may leave at once are *units*: a board, all the boards that screws hold together, or a frame
that a maker would close by itself (subassemblies.py). Of those that may leave, what practice puts
on last goes first: a top, what is only glued on, what closes the piece squarely. A unit
that may not leave watches the nearest board that stops it: as long as that one is there nothing
else has to be asked. When some boards leave, only the units are asked again that watched them or
were joined to them, and of the two parts that come of it only the smaller one is asked from the
beginning. So boards side by side cost little more than one question each.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from heapq import heappop, heappush

import numpy as np

from ..maths.geometry import dot
from .obstacles import Assembly, Those
from .subassemblies import GLUED_UP, frames, glued_up

_CLEAR = -1
_SQUARELY = 0.999  # least cosine

Leaving = tuple[set[int], int]
"""Boards, and the way by which they leave."""


@dataclass(eq=False)
class Part:
    """Boards that are still together.

    Attributes:
        boards: numbers.
        there: the same as a mask over all boards.
        free: heap of the units that may leave, the easiest first.
    """

    boards: set[int]
    there: Those
    free: list[tuple[float, ...]] = field(default_factory=list)


@dataclass(eq=False)
class _Unit:
    """What may leave as one.

    Attributes:
        boards: numbers.
        stopped: per way the board that it would run into; _CLEAR where there is none.
        asked: how often it was asked; what was found earlier no longer counts.
    """

    number: int
    boards: set[int]
    stopped: dict[int, int] = field(default_factory=dict)
    asked: int = 0


class Parting:
    """An assembly that is being taken apart; what hinders is asked once, what is found is kept."""

    def __init__(self, assembly: Assembly) -> None:
        self._assembly = assembly
        count = len(assembly.boards)
        self._joints: list[list[int]] = [[] for _ in range(count)]
        self._linked: list[set[int]] = [set() for _ in range(count)]
        self._screwed: list[set[int]] = [set() for _ in range(count)]
        for number, ((a, b), joint) in enumerate(zip(assembly.ends, assembly.joints, strict=True)):
            for one, other in ((a, b), (b, a)):
                self._joints[one].append(number)
                if joint.kind != "loose":
                    self._linked[one].add(other)
                if joint.bores or joint.kind in GLUED_UP:
                    self._screwed[one].add(other)
        self.whole = Part(set(range(count)), np.ones(count, dtype=np.bool_))
        self._part = [self.whole] * count
        self._units = [_Unit(i, {i}) for i in range(count)]
        self._group = list(self._units)
        self._frames: list[list[int]] = [[] for _ in range(count)]
        for frame in frames(assembly):
            unit = _Unit(len(self._units), frame)
            self._units.append(unit)
            for board in frame:
                self._frames[board].append(unit.number)
        self._glued_up = glued_up(assembly)
        self._watching: defaultdict[int, set[int]] = defaultdict(set)
        self._ask(self._grouped(self.whole.boards) | set(range(len(self._units))))

    # --- what holds and what hinders ------------------------------------------------------------

    def between(self, some: Iterable[int], part: Part) -> list[int]:
        """The joints that hold some boards of a part to the rest of it, in order."""
        inside = set(some)
        found = set()
        for board in inside:
            for joint in self._joints[board]:
                a, b = self._assembly.ends[joint]
                other = b if a == board else a
                if other not in inside and self._part[other] is part:
                    found.add(joint)
        return sorted(found)

    def beside(self, some: Iterable[int], part: Part) -> set[int]:
        """The boards of a part that joints hold to boards that have left it."""
        return {b for one in some for b in self._linked[one] if self._part[b] is part}

    def pieces(self, part: Part, seeds: Iterable[int]) -> list[set[int]]:
        """A part's boards as they hang together, one set each, in order; every one holds a seed."""
        return joined(self._linked, part.boards, seeds)

    def _lock(self, joints: Iterable[int], part: Part) -> int | None:
        """A board of the part that is in the way of a driver for the joints."""
        locks = (board for joint in joints for board in self._assembly.locks[joint])
        return next((board for board in locks if self._part[board] is part), None)

    def _opens(self, some: set[int], joints: Iterable[int], way: int) -> float:
        """How squarely a way opens the joints: the least cosine to their faces' normals."""
        there, ends, out = self._assembly.ways[way], self._assembly.ends, self._assembly.out
        return round(
            min(-dot(out[j][0] if ends[j][0] in some else out[j][1], there) for j in joints), 6
        )

    # --- units that may leave -------------------------------------------------------------------

    def _grouped(self, boards: set[int]) -> set[int]:
        """Make the units of boards that screws hold together; their numbers."""
        made = set()
        for group in joined(self._screwed, boards, boards):
            if len(group) == 1:
                unit = self._units[min(group)]
            else:
                unit = _Unit(len(self._units), set(group))
                self._units.append(unit)
            made.add(unit.number)
            for board in group:
                self._group[board] = unit
        return made

    def _ask(self, units: Iterable[int]) -> None:
        """Find out whether units may leave, and by which ways; or what to watch."""
        for number in sorted(units):
            unit = self._units[number]
            unit.asked += 1
            if not unit.boards:
                continue
            first = min(unit.boards)
            part = self._part[first]
            whole = len(unit.boards) == len(part.boards)
            held = [] if whole else self.between(unit.boards, part)
            if not held:
                continue
            lock = self._lock(held, part)
            if lock is not None:
                self._watching[lock].add(number)
                continue
            for way in range(len(self._assembly.ways)):
                stop = self._stop(unit, way, part)
                if stop != _CLEAR:
                    self._watching[stop].add(number)
                    continue
                cost = self._cost(unit, held, way)
                heappush(part.free, (*cost, -first, way, number, unit.asked))

    def _cost(self, unit: _Unit, held: list[int], way: int) -> tuple[float, ...]:
        """The least for what a maker brings in last: common practice, no source."""
        opens = self._opens(unit.boards, held, way)
        breaks = any(self._assembly.joints[joint].kind in GLUED_UP for joint in held)
        top = opens > _SQUARELY and self._assembly.ways[way][2] > _SQUARELY
        # What screws hold together leaves whole, where it can, before a part of it does.
        torn = unit is not self._group[min(unit.boards)]
        # Of two frames the smaller one; what was glued up is a board like any other.
        frame = len({self._glued_up[board] for board in unit.boards}) > 1
        size = self._assembly.size(unit.boards) if frame else 0.0
        return (breaks, not top, torn, -opens, len(held), size)

    def _stop(self, unit: _Unit, way: int, part: Part) -> int:
        """The first board found that a unit would run into, or _CLEAR."""
        stop = unit.stopped.get(way)
        if stop is not None and (stop == _CLEAR or self._part[stop] is part):
            return stop
        there = part.there
        if len(unit.boards) > 1:
            there = there.copy()
            there[list(unit.boards)] = False
        ahead = (b for one in sorted(unit.boards) for b in self._assembly.before(one, way, there))
        unit.stopped[way] = next(ahead, _CLEAR)
        return unit.stopped[way]

    def split(self, part: Part, some: Iterable[int]) -> tuple[Part, Part]:
        """Take some boards out of a part: the two parts that come of it."""
        small = set(some)
        smaller = 2 * len(small) <= len(part.boards)
        if not smaller:
            small = part.boards - small
        new = Part(set(small), np.zeros_like(part.there))
        new.there[list(small)] = True
        part.there[list(small)] = False
        part.boards -= small
        again: set[int] = set()
        torn: dict[int, _Unit] = {}
        for board in sorted(small):
            self._part[board] = new
            again |= self._watching.pop(board, set())
            unit = self._group[board]
            if len(unit.boards) > 1:
                torn[unit.number] = unit
        again |= small | self._grouped(small)
        broken = {number for board in small for number in self._frames[board]}
        for number in broken:
            if not self._units[number].boards <= small:
                self._units[number].boards.clear()
        again |= broken
        for unit in torn.values():
            again |= self._torn(unit, small)
        for board in self._neighbours(small, part):
            again |= {board, self._group[board].number, *self._frames[board]}
        self._ask(again)
        return (new, part) if smaller else (part, new)

    def _torn(self, unit: _Unit, left: set[int]) -> set[int]:
        """What is left of a unit when some of its boards have left; numbers of units."""
        beside = {b for one in unit.boards & left for b in self._screwed[one]} - left
        unit.boards -= left
        unit.stopped.clear()
        parts = joined(self._screwed, unit.boards, beside & unit.boards)
        if len(parts) == 1 and len(unit.boards) > 1:
            return {unit.number}
        rest = set(unit.boards)
        unit.boards.clear()
        return self._grouped(rest) | {unit.number}

    def _neighbours(self, some: set[int], part: Part) -> list[int]:
        ends = (self._assembly.ends[joint] for one in some for joint in self._joints[one])
        return sorted({b for pair in ends for b in pair if self._part[b] is part})

    # --- what leaves next -----------------------------------------------------------------------

    def leaving(self, part: Part) -> Leaving | None:
        """What leaves next: of what may leave, what practice brings in last.

        Where no board may leave alone it pushes others along; and where none can, those leave
        together whose screws cannot be reached as yet: a top that was joined before it came to its
        frame.
        """
        while part.free:
            *_, way, number, asked = heappop(part.free)
            unit = self._units[int(number)]
            if unit.asked == asked:
                return set(unit.boards), int(way)
        single = [{board} for board in sorted(part.boards)]
        return self._pushing(single, part) or self._pushing(self._locked(part), part)

    def _pushing(self, some: list[set[int]], part: Part) -> Leaving | None:
        """Of these groups, with all that they push along, the one that leaves most easily."""
        best: tuple[tuple[float, ...], set[int], int] | None = None
        for start in reversed(some):
            for way in range(len(self._assembly.ways)):
                most = len(part.boards) - 1 if best is None else int(best[0][0])
                moved = self._pushed(start, way, part, most)
                held = self.between(moved, part) if moved else []
                if not held or self._lock(held, part) is not None:
                    continue
                cost = (len(moved), len(held), -self._opens(moved, held, way))
                if best is None or cost < best[0]:
                    best = (cost, moved, way)
        return None if best is None else (best[1], best[2])

    def _pushed(self, some: set[int], way: int, part: Part, most: int) -> set[int]:
        """Some boards with all that they would push along; empty where those are too many."""
        moved, fresh = set(some), sorted(some)
        there = part.there.copy()
        there[fresh] = False
        while fresh and len(moved) <= most:
            pushed = list(self._assembly.before(fresh.pop(), way, there))
            there[pushed] = False
            moved |= set(pushed)
            fresh += pushed
        return moved if len(moved) <= most else set()

    def _locked(self, part: Part) -> list[set[int]]:
        """The part's boards by joints that cannot be parted with all of them there."""
        held: Mapping[int, set[int]] = {board: set() for board in part.boards}
        for board in part.boards:
            for joint in self._joints[board]:
                a, b = self._assembly.ends[joint]
                inside = self._part[a] is part and self._part[b] is part
                if inside and self._lock([joint], part) is not None:
                    held[board].add(b if a == board else a)
        return joined(held, part.boards, part.boards)


def joined(
    links: Mapping[int, set[int]] | list[set[int]], boards: set[int], seeds: Iterable[int]
) -> list[set[int]]:
    """Boards as they hang together by links, one set each, in order; every one holds a seed."""
    waiting = set(seeds)
    found: list[set[int]] = []
    if len(waiting) < 2:
        return [boards] if boards else []
    while waiting:
        start = min(waiting)
        group, fresh = {start}, [start]
        waiting.discard(start)
        while fresh:
            if not waiting and not found:
                return [boards]  # all seeds in one: so is everything else
            more = (links[fresh.pop()] & boards) - group
            group |= more
            waiting -= more
            fresh += sorted(more)
        found.append(group)
    return sorted(found, key=min)
