"""The table of cutters that is meant where a recipe states none."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from ..machine.router import Cutter, Router
from ..piece.project import Project
from ..words.lengths import format_sold
from .tables import reference


@cache
def usual_cutters() -> tuple[Cutter, ...]:
    """The cutters of the table: common practice, no source."""
    return tuple(_cutter(number, row) for number, row in reference("cutters")["rows"].items())


def router_of(project: Project) -> Router:
    """The router that a project's recipe states, or the usual one."""
    return project.router or Router(usual_cutters(), unit=project.unit)


def _cutter(number: int, row: Mapping[str, Any]) -> Cutter:
    diameter = float(row["diameter_mm"])
    title = f"{row['title']} {format_sold(diameter, row['sold_in'])}"
    return Cutter(
        number, title, row["form"], diameter / 2, float(row["cut_mm"]),
        float(row["step_down_mm"]), row["step_over"] * diameter, float(row["feed"]),
        float(row["plunge"]), float(row["speed_rpm"]), bool(row["centre"]),
    )  # fmt: skip
