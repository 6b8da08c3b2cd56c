"""The `router` section of a recipe: the machine, its cutters, sheets, and how a part is held."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field, model_validator

from ..machine.router import Cutter, Drawing, Form, Machine, Router, Zero
from ..wood.cutters import usual_cutters
from ..words.lengths import Unit, Usual
from .document import Document
from .fields import Measure, usual
from .params import Count, Length, LengthOrZero, Name, Params, YesNo

_MACHINE, _ROUTER = Machine(), Router(())
_NARROWEST, _WIDEST = 0.5, 150.0  # mm, of a cutter; common practice, no source
_THINNEST = 0.1  # mm, of a pass; common practice, no source
_STEP_OVER = 40.0  # percent; common practice, no source

_STARTER = """
# Have you a router? State your own machine and all your cutters: without this section a table of
# usual ones is meant. Feeds are {unit} a minute: check them against machine, cutter and wood.
# router:
#   machine: {{travel: {travel}, height: {height}}}
#   tools:
#     straight cutter: {{kind: flat, diameter: {flat}, cutting_length: {reach},
#       stepdown: {step}, feed: {feed}, plunge: {plunge}, speed: 18000}}
#     ball-nose cutter: {{kind: ball-nose, diameter: {ball}, cutting_length: {reach},
#       stepdown: {step}, feed: {feed}, plunge: {plunge}, speed: 16000}}
"""
_STARTS: Mapping[Unit, Mapping[str, str]] = {
    "mm": {
        "travel": "2500 x 1300", "height": "120", "flat": "6", "ball": "9.5", "reach": "22",
        "step": "3", "feed": "3000", "plunge": "800",
    },
    "inch": {
        "travel": "98 x 51", "height": "5", "flat": "1/4", "ball": "3/8", "reach": "1",
        "step": "1/8", "feed": "120", "plunge": "30",
    },
}  # fmt: skip


def starter(unit: Unit) -> str:
    """The section as a comment, to begin with in a recipe in some unit."""
    return _STARTER.format(unit="inches" if unit == "inch" else unit, **_STARTS[unit])


class CutterParams(Params):
    """A cutter in the machine's tool table; common practice where it is not stated."""

    kind: Form = Field(description="form of its end; a drill only goes straight down")
    diameter: Length = Field(description="of the cutting part")
    cutting_length: Length = Field(description="how deep it can cut at all")
    stepdown: Length = Field(description="deepest pass")
    stepover: Annotated[float, Measure("percent", 1, 100)] = Field(
        _STEP_OVER, description="share of its diameter between neighbouring passes"
    )
    feed: Length = Field(description="how fast it moves sideways, a minute")
    plunge: Length = Field(description="how fast it goes down, a minute")
    speed: Annotated[int, Measure("count", 100, 60000)] = Field(
        description="of the spindle, turns a minute"
    )
    cuts_at_centre: YesNo = Field(True, description="whether it may go straight down")
    number: Count | None = Field(
        None, description="in the machine's tool table; without it its place in this list"
    )

    @model_validator(mode="after")
    def _reaches(self) -> CutterParams:
        if not _NARROWEST <= self.diameter <= _WIDEST:
            least, most = f"{_NARROWEST:g} mm", f"{_WIDEST:g} mm"
            raise ValueError(f"diameter: no router turns one under {least} or over {most}")
        if self.stepdown < _THINNEST:
            raise ValueError(f"stepdown: no pass is thinner than {_THINNEST:g} mm")
        if self.stepdown > self.cutting_length:
            raise ValueError("stepdown: a pass is deeper than the cutter can cut (cutting_length)")
        return self


class MachineParams(Params):
    """The machine that the programs are written for; check all of it against your own."""

    travel: Annotated[tuple[float, float], Measure("size", above=True, halves=("x", "y"))] = Field(
        _MACHINE.travel[:2], description="how far it reaches, to the right x to the back"
    )
    height: Length = Field(
        _MACHINE.travel[2], description="how far the spindle travels up and down"
    )
    safe_height: Length = usual(
        Usual(_MACHINE.safe, "5/8"), description="of rapid moves, above the stock"
    )
    spoil_depth: LengthOrZero = usual(
        Usual(_MACHINE.spoil, "1/64"),
        description="how far a cut that goes through may go into the spoil board",
    )
    zero: Zero = Field(
        _MACHINE.zero,
        description="where z is nought; x and y are at the front left corner of the stock",
    )
    ramp: Annotated[float, Measure("angle", 0.5, 45)] = Field(
        _MACHINE.ramp,
        description="steepest way down for a cutter on its path; pockets slope as their bores do",
    )

    @model_validator(mode="after")
    def _clears(self) -> MachineParams:
        if self.safe_height >= self.height:
            raise ValueError("safe_height: no less than the spindle's whole travel (height)")
        return self


class RouterParams(Params):
    """A router, its cutters, and what its files are like; without it common practice."""

    machine: MachineParams = Field(default_factory=MachineParams, description="the machine")
    tools: dict[Name, CutterParams] | None = Field(
        None,
        min_length=1,
        description="the cutters at hand, by name; without it a table of usual ones, to be checked "
        "against your machine",
    )
    sheet_margin: LengthOrZero = usual(
        Usual(_ROUTER.margin, "1/2"), description="that nested parts stay off a sheet's edge"
    )
    hold: Literal["tabs", "onion skin"] = Field(
        "tabs", description="what holds a part while it is cut free"
    )
    tab_width: Length = usual(Usual(_MACHINE.tab[0], "5/16"), description="of a tab")
    tab_height: Length = usual(Usual(_MACHINE.tab[1], "5/64"), description="of a tab")
    skin: Length = usual(Usual(0.3, "1/64"), description="thickness of an onion skin")
    dxf: Drawing = Field(_ROUTER.drawing, description="version of the DXF files")

    @model_validator(mode="after")
    def _numbered(self) -> RouterParams:
        taken: dict[int, str] = {}
        for place, (name, tool) in enumerate((self.tools or {}).items(), start=1):
            number = tool.number or place
            if number in taken:
                raise ValueError(
                    f"tools: {taken[number]!r} and {name!r} are both number {number} of the "
                    "machine's tool table; give each a `number` of its own"
                )
            taken[number] = name
        return self


def router_in(given: RouterParams | None, document: Document, unit: Unit) -> Router | None:
    """The router that a recipe states; None where it states none."""
    if given is None:
        return None
    stated = {
        key: document.key_location("router", *([key] if key in given.model_fields_set else []))
        for key in type(given).model_fields
    }
    one = given.machine
    machine = Machine(
        (*one.travel, one.height), one.safe_height, one.spoil_depth, one.zero, one.ramp,
        (given.tab_width, given.tab_height), given.skin if given.hold == "onion skin" else 0.0,
    )  # fmt: skip
    tools = (given.tools or {}).items()
    cutters = tuple(_cutter(name, place, tool) for place, (name, tool) in enumerate(tools, start=1))
    return Router(cutters or usual_cutters(), machine, given.sheet_margin, given.dxf, unit, stated)


def _cutter(name: str, place: int, tool: CutterParams) -> Cutter:
    return Cutter(
        tool.number or place, name, tool.kind, tool.diameter / 2, tool.cutting_length,
        tool.stepdown, tool.stepover / 100 * tool.diameter, tool.feed, tool.plunge,
        float(tool.speed), tool.cuts_at_centre,
    )  # fmt: skip
