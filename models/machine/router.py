"""A router, as programs are written for it: its travel, its cutters, how a part is held."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import Literal

from ..words.errors import Location
from ..words.lengths import Unit, format_length

Form = Literal["flat", "ball-nose", "drill"]
Zero = Literal["top of the stock", "spoil board"]
Drawing = Literal["R2000", "R12"]


@dataclass(frozen=True)
class Cutter:
    """A cutter and how it is run (mm, mm per minute).

    Attributes:
        number: in the machine's tool table.
        title: what is printed.
        form: flat end, ball end, or a drill that goes straight down only.
        radius: of the cutting part.
        cut: how deep it can cut at all.
        step_down: deepest pass.
        step_over: between neighbouring passes.
        feed: sideways.
        plunge: downward.
        speed: of the spindle, turns per minute.
        centre: whether it may go straight down.
    """

    number: int
    title: str
    form: Form
    radius: float
    cut: float
    step_down: float
    step_over: float
    feed: float
    plunge: float
    speed: float
    centre: bool


@dataclass(frozen=True)
class Machine:
    """What the programs are written for (mm); common practice, check against your machine.

    Attributes:
        travel: along x, y and z.
        safe: height above the stock of every rapid move.
        spoil: how far a cut that goes through may go into the spoil board.
        zero: where z is nought; x and y are at the front left corner of the stock.
        ramp: steepest way down for a cutter on its path, degrees.
        tab: width and height of the tabs that hold a part while it is cut free.
        onion: what is left under a part instead of tabs; 0: tabs.
    """

    travel: tuple[float, float, float] = (2500.0, 1300.0, 120.0)
    safe: float = 15.0
    spoil: float = 0.5
    zero: Zero = "top of the stock"
    ramp: float = 5.0
    tab: tuple[float, float] = (8.0, 2.0)
    onion: float = 0.0


@dataclass(frozen=True)
class Router:
    """The machine, what it cuts with, and what its files are like.

    Attributes:
        cutters: in the order of the tool table.
        machine: that runs the programs.
        margin: that nested parts stay off a sheet's edge (mm).
        drawing: version of the DXF files.
        unit: that lengths are told in.
        stated: where the recipe states what, by its keys below `router`.
    """

    cutters: tuple[Cutter, ...]
    machine: Machine = Machine()
    margin: float = 12.0
    drawing: Drawing = "R2000"
    unit: Unit = "mm"
    stated: Mapping[str, Location] = field(default_factory=dict)

    def formed(self, form: Form) -> list[Cutter]:
        """The cutters of a form, the widest first."""
        return sorted((c for c in self.cutters if c.form == form), key=lambda c: -c.radius)

    def cutting_free(self, thick: float) -> Iterator[Cutter]:
        """Those that cut a part of some thickness (mm) free, the one to take first."""
        deep = thick + self.machine.spoil
        yield from (cutter for cutter in self.formed("flat") if cutter.cut >= deep)

    def way(self, size: tuple[float, float, float]) -> tuple[float, float, float]:
        """How far the machine moves for a stock, with rapid moves above and cuts below it (mm)."""
        return size[0], size[1], size[2] + self.machine.spoil + self.machine.safe

    def reaches(self, size: tuple[float, float, float]) -> bool:
        """Whether a stock lies within the machine's travel."""
        pairs = zip(self.way(size), self.machine.travel, strict=True)
        return all(way <= travel + 1e-6 for way, travel in pairs)

    def told(self, mm: float) -> str:
        """A length in the recipe's unit."""
        return format_length(mm, self.unit)

    def volume(self, mm3: float) -> str:
        """A volume in the recipe's unit."""
        return f"{mm3:.0f} mm3" if self.unit == "mm" else f"{mm3 / 25.4**3:.3f} cubic inches"

    def place(self, key: str) -> str:
        """Where the recipe states something, as `file:line:column`; "" where it does not."""
        if key not in self.stated:
            return ""
        at = self.stated[key]
        return str(Location(PurePath(at.file).name, at.line, at.column))
