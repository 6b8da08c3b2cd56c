"""Lengths out of boards: which boards to buy, and what is sawn from each.

Patterns (what one board gives) are found by column generation and chosen by a program with whole
numbers (Gilmore and Gomory 1961, from memory); first fit, the longest first, is kept where it is
as good. Lengths are counted in tenths of a millimetre, parts rounded up and boards down.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ...models.maths.geometry import Array

_STEPS = 10  # per mm
_ROUNDS = 200  # of column generation
_NODES = 5000  # of the search with whole numbers

Pattern = tuple[int, ...]


@dataclass(frozen=True)
class Lengths:
    """What can be bought, and how it is sawn.

    Attributes:
        bought: lengths of boards, mm.
        kerf: width of the saw's cut, mm.
        trim: at each end of a board, for checks and snipe, mm.
    """

    bought: tuple[float, ...]
    kerf: float
    trim: float = 0.0

    def room(self, board: float) -> float:
        """What of a board can be used, with a kerf more for the last part (mm)."""
        return board - 2 * self.trim + self.kerf


@dataclass(frozen=True)
class BoardPlan:
    """One board: its length and the parts that are sawn from it, from its left end, mm."""

    length: float
    parts: tuple[tuple[str, float], ...]

    def starts(self, lengths: Lengths) -> tuple[float, ...]:
        """Where each part begins, from the board's left end (mm)."""
        at, found = lengths.trim, []
        for _, length in self.parts:
            found.append(at)
            at += length + lengths.kerf
        return tuple(found)

    def left(self, lengths: Lengths) -> float:
        """What is left at the right end, the trim not counted (mm)."""
        used = sum(length + lengths.kerf for _, length in self.parts)
        return max(0.0, lengths.room(self.length) - used)


@dataclass(frozen=True)
class LengthPlan:
    """Boards to buy, and the least length that any plan must buy.

    Attributes:
        boards: the longest first.
        bound: mm; no plan buys less.
    """

    boards: tuple[BoardPlan, ...]
    bound: float

    @property
    def bought(self) -> float:
        """Length of all boards, mm."""
        return sum(board.length for board in self.boards)


class TooLongError(ValueError):
    """A part that no board holds; `part` is its name, `length` its length (mm)."""

    def __init__(self, part: str, length: float):
        super().__init__(f"{part} is longer than any board")
        self.part, self.length = part, length


def plan_lengths(parts: Sequence[tuple[str, float]], lengths: Lengths) -> LengthPlan:
    """The boards to buy for parts (name, mm): as little length as is found.

    Raises:
        TooLongError: a part is longer than the longest board.
    """
    if not parts:
        return LengthPlan((), 0.0)
    rooms = {board: math.floor(lengths.room(board) * _STEPS) for board in sorted(lengths.bought)}
    sizes = {part: math.ceil((part[1] + lengths.kerf) * _STEPS - 1e-6) for part in parts}
    for part, size in sizes.items():
        if size > max(rooms.values()):
            raise TooLongError(*part)
    kinds = sorted(set(sizes.values()), reverse=True)
    wanted = Counter(sizes[part] for part in parts)
    counts = [wanted[kind] for kind in kinds]
    plain = _first_fit(kinds, counts, rooms)
    columns, bound = _columns(kinds, counts, rooms, plain)
    chosen = _chosen(columns, counts)
    if chosen is None or sum(b for b, _ in chosen) >= sum(b for b, _ in plain):
        chosen = plain
    return LengthPlan(_named(chosen, kinds, parts, sizes), bound)


_Column = tuple[float, Pattern]


def _first_fit(
    kinds: Sequence[int], counts: Sequence[int], rooms: Mapping[float, int]
) -> list[_Column]:
    """The longest first, each into the first board with room; then boards as short as may be."""
    longest = max(rooms.values())
    open_: list[tuple[int, list[int]]] = []
    for index, (kind, count) in enumerate(zip(kinds, counts, strict=True)):
        for _ in range(count):
            for number, (room, held) in enumerate(open_):
                if kind <= room:
                    held[index] += 1
                    open_[number] = (room - kind, held)
                    break
            else:
                held = [0] * len(kinds)
                held[index] = 1
                open_.append((longest - kind, held))
    return [
        (min(b for b, room in rooms.items() if room >= longest - spare), tuple(held))
        for spare, held in open_
    ]


def _columns(
    kinds: Sequence[int], counts: Sequence[int], rooms: Mapping[float, int], plain: list[_Column]
) -> tuple[list[_Column], float]:
    """Patterns that are worth having, and the least length that must be bought (mm)."""
    from scipy.optimize import linprog

    columns = list(dict.fromkeys(plain))
    for index, kind in enumerate(kinds):
        board = min(b for b, room in rooms.items() if room >= kind)
        single = [0] * len(kinds)
        single[index] = min(rooms[board] // kind, counts[index])
        columns.append((board, tuple(single)))
    bound = 0.0
    for _ in range(_ROUNDS):
        table = np.array([pattern for _, pattern in columns], dtype=float).T
        cost = np.array([board for board, _ in columns])
        found = linprog(cost, A_ub=-table, b_ub=-np.array(counts, dtype=float), method="highs")
        values = -found.ineqlin.marginals
        new = []
        worst = 1.0
        for board, room in rooms.items():
            worth, pattern = _best_pattern(kinds, counts, values, room)
            if worth > board * (1 + 1e-9):
                new.append((board, pattern))
            worst = max(worst, worth / board)
        # Prices divided by the worst excess are feasible in the dual: a bound at any time.
        bound = max(bound, float(values @ np.array(counts)) / worst)
        if not new:
            break
        columns += new
    step = math.gcd(*(round(board * 1000) for board in rooms)) / 1000
    # What is bought is a whole number of boards, so a multiple of what their lengths share.
    return columns, math.ceil(bound / step - 1e-6) * step


def _best_pattern(
    kinds: Sequence[int], counts: Sequence[int], values: Array, room: int
) -> tuple[float, Pattern]:
    """The pattern of most worth in a board: a knapsack, part by part."""
    best = np.zeros(room + 1)
    taken = []
    for kind, count, value in zip(kinds, counts, values, strict=True):
        took = np.zeros(room + 1, dtype=np.int16)
        base = best.copy()
        for number in range(1, min(count, room // kind) + 1):
            worth = np.full(room + 1, -np.inf)
            worth[number * kind :] = base[: room + 1 - number * kind] + number * value
            better = worth > best + 1e-12
            best = np.where(better, worth, best)
            took[better] = number
        taken.append(took)
    pattern, at = [0] * len(kinds), room
    for index in range(len(kinds) - 1, -1, -1):
        pattern[index] = int(taken[index][at])
        at -= pattern[index] * kinds[index]
    return float(best[room]), tuple(pattern)


def _chosen(columns: Sequence[_Column], counts: Sequence[int]) -> list[_Column] | None:
    from scipy.optimize import LinearConstraint, milp

    table = np.array([pattern for _, pattern in columns], dtype=float).T
    cost = np.array([board for board, _ in columns])
    found = milp(
        cost, constraints=LinearConstraint(table, lb=np.array(counts, dtype=float)),
        integrality=np.ones(len(columns)), options={"node_limit": _NODES},
    )  # fmt: skip
    if found.x is None:
        return None
    times = found.x.round().astype(int)
    return [column for column, n in zip(columns, times, strict=True) for _ in range(n)]


def _named(
    chosen: Sequence[_Column],
    kinds: Sequence[int],
    parts: Sequence[tuple[str, float]],
    sizes: Mapping[tuple[str, float], int],
) -> tuple[BoardPlan, ...]:
    """The boards with the parts' names; patterns may hold more parts than there are."""
    waiting = {kind: [part for part in parts if sizes[part] == kind] for kind in kinds}
    boards = []
    for board, pattern in sorted(chosen, key=lambda column: -column[0]):
        here = []
        for kind, count in zip(kinds, pattern, strict=True):
            here += [waiting[kind].pop(0) for _ in range(min(count, len(waiting[kind])))]
        if here:
            boards.append(BoardPlan(board, tuple(here)))
    return tuple(boards)
