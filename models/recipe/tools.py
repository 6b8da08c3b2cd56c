"""What a recipe says of drill, guide, driver and screws."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any

from pydantic import Field, model_validator

from ..piece.project import Drill
from ..wood import tables
from ..words.lengths import Unit
from .fields import KeyOf, Measure
from .params import Length, Params

_STARTER = """
# Your own tools, where they are not the usual ones, and how much wood is to stay.
# tools:
#   drill: 3-8-in             # or 9-32-in, for thin stock
#   slope: 15                 # degrees, of the drill guide
#   driver: compact           # or full-size, right-angle; or its driver_diameter and driver_length
#   bit_length: {bit}             # free length of the driver's bit
#   screw_gauge: "8"
#   longest_screw: {screw}
# limits:
#   show_wall: {wall}              # least wood between a bore and a face that shows
#   hidden_wall: {hidden}           # and to one that does not
#   tip_cover: {wall}              # least wood past the tip of a screw
#   between: {wall}                # least wood between bores or screws
#   tolerance: {off}             # how far your pencil line may be off
#   max_swing: 30             # degrees, that a mitre's pocket may be swung to stay hidden
#   moisture_change: 4        # percentage points by which the wood's moisture may change
"""
_STARTS: Mapping[Unit, Mapping[str, str]] = {
    "mm": {"bit": "150", "screw": "32", "wall": "3", "hidden": "1.5", "off": "1.5"},
    "inch": {"bit": "6", "screw": "1-1/4", "wall": "1/8", "hidden": "1/16", "off": "1/16"},
}


def starter(unit: Unit) -> str:
    """What a recipe may say of tools and limits, as a comment to begin with."""
    return _STARTER.format(**_STARTS[unit])


class ToolParams(Params):
    """The drill, its guide and the driver, where they differ from the table's."""

    drill: Annotated[str, KeyOf(tables.drills, "drill")] | None = Field(
        None, description="stepped drill; without it the table's default"
    )
    slope: Annotated[float, Measure("angle", 5, 45)] | None = Field(
        None, description="angle of the drill guide to the pocket face"
    )
    screw_gauge: Annotated[str, KeyOf(tables.screw_kinds, "screw gauge")] | None = Field(
        None, description="gauge for all screws; without it the usual one for the thickness"
    )
    longest_screw: Length | None = Field(
        None, description="longest screw to take, where one that short fits"
    )
    driver: Annotated[str, KeyOf(tables.drivers, "driver")] | None = Field(
        None, description="driver that turns the screws; without it the table's default"
    )
    driver_diameter: Length | None = Field(
        None, description="of the driver's body, where yours is another"
    )
    driver_length: Length | None = Field(
        None, description="of the driver's body behind the bit, where yours is another"
    )
    bit_length: Length | None = Field(
        None,
        description="free length of the driver's bit, from the screw's head to the chuck; without "
        "it the shortest on sale that keeps the driver off the bored board",
    )

    @model_validator(mode="after")
    def _fits(self) -> ToolParams:
        row = tables.drills()[self.drill] if self.drill else tables.default_drill()
        if self.screw_gauge is not None and self.screw_gauge not in row.gauges:
            raise ValueError(
                f"screw_gauge {self.screw_gauge}: its head does not fit the {row.title} "
                f"(fitting: {', '.join(row.gauges)})"
            )
        return self


@dataclass(frozen=True)
class Tools:
    """The drill of a recipe, and the screws it asks for.

    Attributes:
        drill: as stated.
        screw_gauge: None: the usual one for the thickness.
        row: of the table, before what the recipe states otherwise.
        longest_screw: mm, where one that short fits.
    """

    drill: Drill
    screw_gauge: str | None
    row: tables.DrillRow
    longest_screw: float = math.inf

    def other_drill(self, row: tables.DrillRow) -> Drill:
        """Another drill of the table, with what the recipe states of guide and driver."""
        stated = {
            name: getattr(self.drill, name)
            for name in ("slope", "bits", "driver_radius", "driver_length")
            if getattr(self.drill, name) != getattr(self.row.drill, name)
        }
        return replace(row.drill, **stated)


def tools_of(given: ToolParams, unit: Unit) -> Tools:
    """The tools that a recipe states, where it does, and the tables' else."""
    row = tables.drills()[given.drill] if given.drill else tables.default_drill()
    driver = tables.drivers()[given.driver] if given.driver else tables.default_driver()
    wide, long = given.driver_diameter, given.driver_length
    changed: dict[str, Any] = {
        "bits": tables.bits(unit),
        "driver_radius": driver.radius if wide is None else wide / 2,
        "driver_length": driver.length if long is None else long,
    }
    if given.slope is not None:
        changed["slope"] = given.slope
    if given.bit_length is not None:
        changed["bits"] = (given.bit_length,)
    longest = math.inf if given.longest_screw is None else given.longest_screw
    return Tools(replace(row.drill, **changed), given.screw_gauge, row, longest)
