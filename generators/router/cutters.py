"""Cutters, and the machine that runs them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Literal

import yaml

Form = Literal["flat", "ball", "drill"]


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
        tab: width and height of the tabs that hold a part while it is cut free.
        ramp: steepest way down for a cutter on its path, degrees.
        onion: what is left under a part instead of tabs; 0: tabs.
    """

    travel: tuple[float, float, float] = (2500.0, 1300.0, 120.0)
    safe: float = 15.0
    spoil: float = 0.5
    tab: tuple[float, float] = (8.0, 2.0)
    ramp: float = 5.0
    onion: float = 0.0


@cache
def cutters() -> Mapping[int, Cutter]:
    """The cutters of the table by number."""
    text = (files("slantbore") / "shared" / "cutters.yaml").read_text("utf-8")
    rows = yaml.safe_load(text)["rows"]
    return MappingProxyType({number: _cutter(number, row) for number, row in rows.items()})


def _cutter(number: int, row: Mapping[str, Any]) -> Cutter:
    diameter = float(row["diameter_mm"])
    return Cutter(
        number, row["title"], row["form"], diameter / 2, float(row["cut_mm"]),
        float(row["step_down_mm"]), row["step_over"] * diameter, float(row["feed"]),
        float(row["plunge"]), float(row["speed_rpm"]), bool(row["centre"]),
    )  # fmt: skip
