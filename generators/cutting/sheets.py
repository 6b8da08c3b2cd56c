"""Rectangles out of sheets by through cuts, as a table saw or a panel saw makes them.

Every part is set into a corner of a free rectangle, which two cuts from edge to edge then part:
what is laid out can be sawn, by construction. Many orders and ways to choose are tried, always
the same ones; a program with whole numbers (two stages: strips across the sheet, then parts off
the strips) is asked where the plan takes more sheets than a lower bound.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product

import numpy as np

_SAME = 1e-6  # mm
_ORDERS = 40  # shuffled orders of the parts that are tried besides the sorted ones
_NODES = 2000  # of the search with whole numbers
_MOST = 60  # parts for which it is asked


@dataclass(frozen=True)
class Part:
    """A rectangle to be cut.

    Attributes:
        name: of the board.
        length: mm along the grain.
        width: mm across the grain.
        turns: whether it may lie across the sheet's grain.
    """

    name: str
    length: float
    width: float
    turns: bool = False


@dataclass(frozen=True)
class SheetSize:
    """What is cut from.

    Attributes:
        length: mm along the grain.
        width: mm.
        kerf: width of the saw's cut, or the gap that a cutter needs, mm.
        trim: what is cut off all round first, mm.
    """

    length: float
    width: float
    kerf: float
    trim: float = 0.0


@dataclass(frozen=True)
class Rect:
    """A rectangle on a sheet: lower left corner and size, mm; x along the sheet's grain."""

    x: float
    y: float
    length: float
    width: float

    def near(self, other: Rect) -> bool:
        """Whether they are the same but for rounding."""
        mine = (self.x, self.y, self.length, self.width)
        theirs = (other.x, other.y, other.length, other.width)
        return all(abs(a - b) <= _SAME for a, b in zip(mine, theirs, strict=True))


@dataclass(frozen=True)
class Laid:
    """A part where it lies."""

    part: Part
    rect: Rect
    turned: bool = False


@dataclass(frozen=True)
class SawCut:
    """A cut from edge to edge of one piece, in the order of sawing.

    Attributes:
        piece: what lies on the saw.
        along: whether the cut runs along the sheet's grain (then `at` is a y), or across it (an x).
        at: where the kerf begins, counted on the sheet (mm); it takes the kerf's width from there.
    """

    piece: Rect
    along: bool
    at: float

    def parted(self, kerf: float) -> tuple[Rect, Rect]:
        """What comes of the piece: what lies before the kerf and what lies beyond it."""
        piece, beyond = self.piece, self.at + kerf
        if self.along:
            far = replace(piece, y=beyond, width=piece.y + piece.width - beyond)
            return replace(piece, width=self.at - piece.y), far
        far = replace(piece, x=beyond, length=piece.x + piece.length - beyond)
        return replace(piece, length=self.at - piece.x), far


@dataclass(frozen=True)
class SheetPlan:
    """One sheet: what lies on it, the cuts in their order, and what is left."""

    size: SheetSize
    laid: tuple[Laid, ...]
    cuts: tuple[SawCut, ...]
    offcuts: tuple[Rect, ...]


@dataclass(frozen=True)
class Plan:
    """All sheets, and how few they could be.

    Attributes:
        sheets: in the order in which they are filled.
        bound: no plan takes fewer sheets than this.
    """

    sheets: tuple[SheetPlan, ...]
    bound: int

    @property
    def waste(self) -> float:
        """Share of the sheets' area that no part takes, 0 to 1."""
        area = sum(s.size.length * s.size.width for s in self.sheets)
        used = sum(one.part.length * one.part.width for s in self.sheets for one in s.laid)
        return 1 - used / area if area else 0.0


class TooLargeError(ValueError):
    """A part that no sheet holds; `part` is the part."""

    def __init__(self, part: Part, size: SheetSize):
        super().__init__(f"{part.name} is larger than the sheet")
        self.part, self.size = part, size


def plan_sheets(parts: Sequence[Part], size: SheetSize) -> Plan:
    """Lay parts out on as few sheets as are found; of several plans the one with the best offcut.

    Raises:
        TooLargeError: a part does not fit a trimmed sheet.
    """
    return _planned(tuple(parts), size)


@lru_cache(maxsize=32)  # lists, papers and router ask for the same plan
def _planned(parts: tuple[Part, ...], size: SheetSize) -> Plan:
    inner = _inner(size)
    for part in parts:
        if not any(_fits(part, inner, turned) for turned in _ways(part)):
            raise TooLargeError(part, size)
    bound = lower_bound(parts, size)
    best: list[_Open] | None = None
    for order, choose, split in _tries(parts):
        found = _filled(order, size, choose, split)
        if best is None or _worth(found) < _worth(best):
            best = found
        if len(best) <= bound and len(parts) > _MOST:
            break
    sheets = [sheet.plan() for sheet in best or []]
    if bound < len(sheets) and len(parts) <= _MOST:
        fewer = _two_stage(parts, size, len(sheets) - 1)
        sheets = [sheet.plan() for sheet in fewer] if fewer else sheets
    return Plan(tuple(sheets), bound)


# --- filling -------------------------------------------------------------------------------------

_Choice = Callable[[Rect, float, float], float]


@dataclass
class _Open:
    """A sheet that is being filled."""

    size: SheetSize
    laid: list[Laid]
    cuts: list[SawCut]
    free: list[Rect]

    @classmethod
    def trimmed(cls, size: SheetSize) -> _Open:
        whole = Rect(0.0, 0.0, size.length, size.width)
        sheet, trim = cls(size, [], [], [whole]), size.trim
        for along in (True, False) if trim > 0 else ():
            # The kerf takes the last of what is trimmed off.
            off, kept = sheet.split(whole, along, max(0.0, trim - size.kerf))
            assert kept is not None
            whole, _ = sheet.split(kept, along, (size.width if along else size.length) - trim)
        sheet.free = [whole]  # what was trimmed off is no offcut
        return sheet

    def split(self, piece: Rect, along: bool, at: float) -> tuple[Rect, Rect | None]:
        """Saw a free rectangle in two at a place; the far part is None where the kerf takes it."""
        self.free.remove(piece)
        cut = SawCut(piece, along, at)
        self.cuts.append(cut)
        near, far = cut.parted(self.size.kerf)
        kept = far if min(far.length, far.width) > _SAME else None
        self.free += [near, *([kept] if kept else [])]
        return near, kept

    def put(self, part: Part, turned: bool, free: Rect, along_first: bool) -> list[Rect]:
        """Saw a part out of the lower left corner of a free rectangle; what is left of that."""
        length, width = _size(part, turned)
        left = []
        for along in (along_first, not along_first):
            if (free.width - width if along else free.length - length) > _SAME:
                at = free.y + width if along else free.x + length
                free, far = self.split(free, along, at)
                left += [far] if far else []
        self.free.remove(free)
        self.laid.append(Laid(part, replace(free, length=length, width=width), turned))
        return left

    def plan(self) -> SheetPlan:
        order = sorted(self.free, key=lambda r: (-r.length * r.width, r.x, r.y))
        return SheetPlan(self.size, tuple(self.laid), tuple(self.cuts), tuple(order))


def _inner(size: SheetSize) -> Rect:
    t = size.trim
    first = max(t, size.kerf) if t else 0.0  # where the kerf is wider it takes more than the trim
    return Rect(first, first, size.length - first - t, size.width - first - t)


def _ways(part: Part) -> tuple[bool, ...]:
    return (False, True) if part.turns and part.length != part.width else (False,)


def _size(part: Part, turned: bool) -> tuple[float, float]:
    return (part.width, part.length) if turned else (part.length, part.width)


def _fits(part: Part, free: Rect, turned: bool) -> bool:
    length, width = _size(part, turned)
    return length <= free.length + _SAME and width <= free.width + _SAME


def _tries(parts: Sequence[Part]) -> Iterator[tuple[list[Part], _Choice, str]]:
    """Orders of the parts, how to choose a free rectangle, and which cut comes first."""
    keys: list[Callable[[Part], tuple[float, ...]]] = [
        lambda p: (-p.length * p.width, -p.length),
        lambda p: (-p.length, -p.width),
        lambda p: (-p.width, -p.length),
        lambda p: (-max(p.length, p.width), -min(p.length, p.width)),
        lambda p: (-(p.length + p.width),),
    ]
    orders = [sorted(parts, key=lambda p, k=key: (k(p), p.name)) for key in keys]  # type: ignore[misc]
    random = np.random.default_rng(0)
    for number in range(_ORDERS if 2 < len(parts) else 0):
        # Near the order by size: large parts first, neighbours changed.
        base = orders[number % len(orders)]
        places = np.arange(len(base)) + random.normal(0, 0.15 * len(base), len(base))
        orders.append([base[i] for i in np.argsort(places, kind="stable")])
    choices: list[_Choice] = [
        lambda free, a, b: free.length * free.width - a * b,
        lambda free, a, b: min(free.length - a, free.width - b),
        lambda free, a, b: free.width - b,
        lambda free, a, b: free.length - a,
    ]
    yield from product(orders, choices, ("shorter", "longer", "along", "across"))


def _filled(order: Sequence[Part], size: SheetSize, choose: _Choice, split: str) -> list[_Open]:
    sheets: list[_Open] = []
    for part in order:
        best: tuple[float, int, Rect, bool] | None = None
        for number, sheet in enumerate(sheets):
            for free in sheet.free:
                for turned in _ways(part):
                    if not _fits(part, free, turned):
                        continue
                    cost = choose(free, *_size(part, turned))
                    if best is None or cost < best[0] - _SAME:
                        best = (cost, number, free, turned)
        if best is None:
            sheets.append(_Open.trimmed(size))
            [free] = sheets[-1].free
            turned = next(way for way in _ways(part) if _fits(part, free, way))
            best = (0.0, len(sheets) - 1, free, turned)
        _, number, free, turned = best
        length, width = _size(part, turned)
        over, above = free.length - length, free.width - width
        along_first = {
            "shorter": over < above, "longer": over >= above, "along": True, "across": False,
        }[split]  # fmt: skip
        sheets[number].put(part, turned, free, along_first)
    return sheets


def _worth(sheets: Sequence[_Open]) -> tuple[float, float]:
    """Fewer sheets, then a larger offcut, are better."""
    largest = max((r.length * r.width for sheet in sheets for r in sheet.free), default=0.0)
    return len(sheets), -round(largest, 3)


# --- how few it could be -------------------------------------------------------------------------


def lower_bound(parts: Sequence[Part], size: SheetSize) -> int:
    """A number of sheets that no plan goes below.

    Areas, each part and the sheet larger by a kerf; and dual feasible functions that count a part
    longer than half a sheet as a whole one along that side (Fekete and Schepers 2001, from
    memory). Parts that may be turned count with their area alone.
    """
    if not parts:
        return 0
    inner, k = _inner(size), size.kerf
    whole = np.array([inner.length + k, inner.width + k])
    sides = np.array([[p.length + k, p.width + k] for p in parts]) / whole
    fixed = np.array([len(_ways(p)) == 1 for p in parts])
    best = math.ceil(float(sides.prod(axis=1).sum()) - 1e-9)
    if fixed.all():
        # Only where a part begins to count as a whole one, or as nothing, does the sum change.
        steps = {min(s, 1 - s + 1e-9) for s in sides.ravel().tolist()}
        grid = [0.0, *sorted(step for step in steps if step < 0.5), 0.5]
        scaled = [[_counted(sides[:, axis], share) for share in grid] for axis in (0, 1)]
        for along, across in product(*scaled):
            best = max(best, math.ceil(float((along * across).sum()) - 1e-9))
    return max(best, 1)


def _counted(shares: np.ndarray, least: float) -> np.ndarray:
    """Parts larger than 1 - `least` as a whole, those smaller than it as nothing."""
    counted: np.ndarray = np.where(
        shares > 1 - least + 1e-12, 1.0, np.where(shares < least - 1e-12, 0.0, shares)
    )
    return counted


def _two_stage(parts: Sequence[Part], size: SheetSize, most: int) -> list[_Open] | None:
    """Strips across the sheet, parts off the strips, on at most so many sheets; None: not found.

    The level model of Lodi, Martello and Vigo (2004), from memory: part i opens a strip as wide
    as it is, or lies in the strip of a wider one; strip i opens a sheet or lies on that of another.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import lil_matrix

    if most < 1 or any(len(_ways(p)) > 1 for p in parts):
        return None
    inner, k = _inner(size), size.kerf
    order = sorted(parts, key=lambda p: (-p.width, -p.length, p.name))
    n = len(order)
    pairs = [(i, j) for i in range(n) for j in range(i, n)]
    column = {pair: c for c, pair in enumerate(pairs)}
    count = len(pairs)  # x: part j in strip i; then y: strip j on sheet i
    rows, low, high = lil_matrix((4 * n, 2 * count)), np.zeros(4 * n), np.zeros(4 * n)
    for j in range(n):
        for i in range(j + 1):
            rows[j, column[i, j]] = 1  # every part once
            rows[n + j, count + column[i, j]] = 1  # every open strip on one sheet
        rows[n + j, column[j, j]] = -1
        low[j] = high[j] = 1
    for i in range(n):
        for j in range(i + 1, n):
            rows[2 * n + i, column[i, j]] = order[j].length + k
            rows[3 * n + i, count + column[i, j]] = order[j].width + k
        rows[2 * n + i, column[i, i]] = -(inner.length - order[i].length)
        rows[3 * n + i, count + column[i, i]] = -(inner.width - order[i].width)
        low[2 * n + i] = low[3 * n + i] = -np.inf
        high[2 * n + i] = high[3 * n + i] = 1e-6
    cost = np.zeros(2 * count)
    for i in range(n):
        cost[count + column[i, i]] = 1
    found = milp(
        cost, constraints=LinearConstraint(rows.tocsr(), low, high), bounds=Bounds(0, 1),
        integrality=np.ones(2 * count), options={"node_limit": _NODES},
    )  # fmt: skip
    if found.x is None or round(found.fun) > most:
        return None
    x = found.x.round().astype(int)
    return _sawn(order, x[:count], x[count:], column, size)


def _sawn(
    order: Sequence[Part],
    strips: np.ndarray,
    sheets: np.ndarray,
    column: dict[tuple[int, int], int],
    size: SheetSize,
) -> list[_Open]:
    """The sheets of a two-stage answer, with their cuts."""
    made = []
    for first in range(len(order)):
        if not sheets[column[first, first]]:
            continue
        sheet = _Open.trimmed(size)
        rest: Rect | None = sheet.free[0]
        for strip in range(first, len(order)):
            if not sheets[column[first, strip]]:
                continue
            assert rest is not None
            band = rest
            if rest.width - order[strip].width > _SAME:
                band, rest = sheet.split(rest, True, rest.y + order[strip].width)
            for j in range(strip, len(order)):
                if strips[column[strip, j]]:
                    left = sheet.put(order[j], False, band, along_first=False)
                    band = next((r for r in left if r.x > band.x), band)
        made.append(sheet)
    return made
