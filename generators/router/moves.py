"""A router's program as data, and its text for controls that read RS274/NGC.

Every move is a straight line, so a control needs no arcs and a check no conventions of them. The
frame is the machine's: x to the right, y to the back, z up; zero is the front left corner of the
stock, on its upper face; only the text may count z from the spoil board.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from textwrap import wrap
from typing import Literal

from ...models.machine.router import Cutter, Machine
from ...models.words.lengths import Unit

Point3 = tuple[float, float, float]


@dataclass(frozen=True)
class Move:
    """A straight move to a point (mm).

    Attributes:
        to: where.
        kind: rapid, or cutting at the cutter's feed, or going down at its plunge rate.
    """

    to: Point3
    kind: Literal["rapid", "feed", "plunge"] = "feed"


@dataclass(frozen=True)
class Pass:
    """What one cutter does for one piece of work, from the safe height back to it.

    Attributes:
        about: the piece of work, for a comment.
        cutter: which.
        moves: in their order.
    """

    about: str
    cutter: Cutter
    moves: tuple[Move, ...]


@dataclass(frozen=True)
class Program:
    """One program.

    Attributes:
        name: of its file.
        size: of the stock: x, y, z (mm).
        passes: in their order; those of one cutter stand together.
        notes: what the operator has to know, line by line.
    """

    name: str
    size: Point3
    passes: tuple[Pass, ...]
    notes: tuple[str, ...] = ()

    @property
    def cutters(self) -> tuple[Cutter, ...]:
        """Those that are changed to, in their order."""
        return tuple(cutter for cutter, _ in groupby(self.passes, lambda one: one.cutter))

    def minutes(self, machine: Machine, rapid: float = 8000.0) -> float:
        """About how long it runs, without changes of cutters."""
        time, here = 0.0, (0.0, 0.0, machine.safe)
        for one in self.passes:
            for move in one.moves:
                far = sum((a - b) ** 2 for a, b in zip(move.to, here, strict=True)) ** 0.5
                rate = {"rapid": rapid, "feed": one.cutter.feed, "plunge": one.cutter.plunge}
                time += far / rate[move.kind]
                here = move.to
        return time


_COMMENT = 100  # characters; controls read lines of some 250 at most
CAUTIONS = (
    "Run it above the stock first, spindle off. Eye and ear protection; dust collection on.",
    "Hold the stock so that neither it nor a part that comes free can move.",
    "Each cutter: sharp, tight in its collet, the one that its number in the table names.",
    "Lengths of cutters stand in the machine's table (G43), or set z zero anew at every change.",
    "Feeds and speeds: check them against machine, cutter and wood; usual ones: common practice.",
    "The machine's manual comes first; whoever runs it answers for it.",
)


def text(program: Program, machine: Machine, unit: Unit) -> str:
    """The program in RS274/NGC: units and modes stated, a stop for every change of cutter."""
    return "\n".join([*_lines(program, machine, unit), ""])


def _lines(program: Program, machine: Machine, unit: Unit) -> Iterator[str]:
    per = 25.4 if unit == "inch" else 1.0
    places = 5 if unit == "inch" else 4

    def number(mm: float) -> str:
        value = f"{mm / per:.{places}f}".rstrip("0").rstrip(".")
        return "0" if value in ("-0", "") else value

    def comment(words: str) -> str:
        plain = words.encode("ascii", "replace").decode().replace("(", "[").replace(")", "]")
        return "\n".join(f"({line})" for line in wrap(plain, _COMMENT))

    x, y, z = (number(side) for side in program.size)
    yield comment(program.name)
    yield comment(f"stock {x} x {y} x {z} {unit}; zero: front left corner, {machine.zero}")
    for line in (*program.notes, *CAUTIONS):
        yield comment(line)
    yield "G20" if unit == "inch" else "G21"
    yield "G90 G17 G94 G40 G49 G80 G54"
    raised = program.size[2] if machine.zero == "spoil board" else 0.0
    safe = number(machine.safe + raised)
    last: Cutter | None = None
    for one in program.passes:
        cutter = one.cutter
        if cutter != last:
            if last is not None:
                yield f"G0 Z{safe}"
                yield "M5"
            yield comment(f"cutter {cutter.number}: {cutter.title}")
            yield f"T{cutter.number} M6"
            yield f"G43 H{cutter.number}"  # nothing where the table has no lengths
            # Where the change leaves the cutter is the machine's: up first, then across.
            yield f"G0 Z{safe}"
            yield f"S{cutter.speed:g} M3"
            yield "G4 P3"
            last = cutter
        yield comment(one.about)
        yield from _moves(one.moves, cutter, number, raised)
    yield f"G0 Z{safe}"
    yield "M5"
    yield "M30"


def _moves(
    moves: Sequence[Move], cutter: Cutter, number: Callable[[float], str], raised: float
) -> Iterator[str]:
    here: tuple[str, ...] = ("", "", "")
    rate = ""
    for move in moves:
        x, y, z = move.to
        there = (number(x), number(y), number(z + raised))
        words = [f"{axis}{b}" for axis, a, b in zip("XYZ", here, there, strict=True) if a != b]
        if not words:
            continue
        if move.kind == "rapid":
            yield " ".join(["G0", *words])
        else:
            feed = f"F{number(cutter.feed if move.kind == 'feed' else cutter.plunge)}"
            yield " ".join(["G1", *words, *([feed] if feed != rate else [])])
            rate = feed
        here = there
