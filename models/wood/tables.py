"""The reference tables of shared/: species, sheet goods, drills and screws, with their sources."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any, Literal

import yaml

from ..piece.board import Stock
from ..piece.project import Drill, Screw
from ..words.lengths import Unit

Thread = Literal["coarse", "fine"]
WoodKind = Literal["hardwood", "softwood"]

MM_PER_INCH = 25.4
_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True)
class Species:
    """A species of wood at 12 % moisture content; None where no value was read.

    Attributes:
        key: what a recipe says.
        row: the row's heading in the Wood Handbook.
        title: what is printed.
        kind: hardwood or softwood.
        gravity_12: oven-dry mass over volume at 12 %.
        rupture_mpa: modulus of rupture, a mean and not a design value.
        elasticity_mpa: modulus of elasticity, not corrected for shear.
        rupture_psi: the same in the inch table's own figures.
        elasticity_psi: the same in the inch table's own figures.
        shrink_radial_pct: shrinkage from green to oven-dry.
        shrink_tangential_pct: the same across the flat-sawn face.
        shrink_volume_pct: the same of the volume.
        change_radial: fraction of the width per 1 % of moisture content, quarter-sawn.
        change_tangential: the same, flat-sawn; both valid from 6 to 14 %.
        gravity_design: oven-dry mass over oven-dry volume, for NDS formulas.
        design_row: the species combination that `gravity_design` was read from.
        from_memory: fields not read in the source yet.
        second_hand: fields read in a page that reprints the source.
        notes: what to know about the row.
        source: the documents.
    """

    key: str
    row: str
    title: str
    kind: WoodKind
    gravity_12: float
    rupture_mpa: float
    elasticity_mpa: float
    rupture_psi: float
    elasticity_psi: float
    shrink_radial_pct: float | None
    shrink_tangential_pct: float | None
    shrink_volume_pct: float | None
    change_radial: float | None
    change_tangential: float | None
    gravity_design: float | None
    design_row: str
    from_memory: frozenset[str]
    second_hand: frozenset[str]
    notes: str
    source: str

    @property
    def density(self) -> float:
        """kg/m3 at 12 %: 1000 G (1 + 12/100), Wood Handbook (2021) eq. 4-14."""
        return 1120.0 * self.gravity_12


@dataclass(frozen=True)
class SheetGood:
    """A sheet good; lengths in mm.

    Attributes:
        key: what a recipe says.
        title: what is printed.
        thickness: what it is sold as.
        thinnest: least thickness within tolerance.
        thickest: greatest thickness within tolerance.
        sheet: length and width of a full sheet.
        elasticity_psi: modulus of elasticity, where published.
        source: the documents.
    """

    key: str
    title: str
    thickness: float
    thinnest: float
    thickest: float
    sheet: tuple[float, float]
    elasticity_psi: float | None
    source: str


@dataclass(frozen=True)
class Lumber:
    """Solid wood as it is sold by thickness; lengths in mm.

    Attributes:
        name: the trade's: `4/4`, `nominal 1`.
        sold: thickness that board feet are counted by.
        dressed: the most that is left of it, dressed on two sides.
        source: the documents.
    """

    name: str
    sold: float
    dressed: float
    source: str


@dataclass(frozen=True)
class DriverRow:
    """A powered driver (mm), as a cylinder behind the bit.

    Attributes:
        key: what a recipe says.
        title: what is printed.
        radius: of its body, or head.
        length: behind the bit.
        source: of the values.
    """

    key: str
    title: str
    radius: float
    length: float
    source: str


@dataclass(frozen=True)
class DrillRow:
    """A stepped drill of the table.

    Attributes:
        key: what a recipe says.
        title: what is printed.
        drill: its measures.
        deepest: longest drilling along the axis, mm.
        gauges: screws whose heads fit the counterbore.
        source: where the values come from.
    """

    key: str
    title: str
    drill: Drill
    deepest: float
    gauges: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class ScrewKind:
    """A gauge of wood screw; lengths in mm.

    Attributes:
        gauge: the number alone, as a recipe says it.
        radius: half the nominal shank diameter.
        root_radius: half the thread's root diameter.
        flat_head_radius: half the mean diameter of a flat head, for comparison.
        threads_per_inch: coarse.
        head_radius: half the washer head's diameter.
        head_height: of the washer head.
        bored: thickness of the bored board that it is the usual choice for, from and up to.
        lengths: what is stocked, short to long.
        source: the documents.
    """

    gauge: str
    radius: float
    root_radius: float
    flat_head_radius: float
    threads_per_inch: int
    head_radius: float
    head_height: float
    bored: tuple[float, float] | None
    lengths: tuple[float, ...]
    source: str

    def screw(self, length: float, thread: Thread, unit: Unit = "mm") -> Screw:
        """Return the screw of this gauge with a length in mm, told in a unit, and a thread."""
        sizes = length, self.radius, self.head_radius, self.head_height
        return Screw(f"#{self.gauge}", thread, *sizes, "").titled(unit)


def thread_for(kind: Literal["hardwood", "softwood", "sheet"]) -> Thread:
    """Return the thread for a material: common practice, no source."""
    return "fine" if kind == "hardwood" else "coarse"


@cache
def species() -> Mapping[str, Species]:
    """Return the species by key, in the table's order."""
    table = reference("species")
    source = "; ".join(table["sources"].values())
    return MappingProxyType({key: _species(key, row, source) for key, row in table["rows"].items()})


def sheet_of(stock: Stock) -> tuple[float, float]:
    """Length along the grain and width of a stock's sheets (mm)."""
    return stock.sheet or sheet_goods()[stock.material].sheet


@cache
def sheet_goods() -> Mapping[str, SheetGood]:
    """Return the sheet goods by key."""
    table = reference("sheet-goods")
    sources = table["sources"]
    return MappingProxyType(
        {
            key: SheetGood(
                key=key,
                title=row["title"],
                thickness=float(row["thickness_mm"]),
                thinnest=float(row["thinnest_mm"]),
                thickest=float(row["thickest_mm"]),
                sheet=(float(row["sheet_mm"][0]), float(row["sheet_mm"][1])),
                elasticity_psi=_number(row["elasticity_psi"]),
                source="; ".join(
                    sources[row[name]] for name in ("source", "elasticity_source") if name in row
                ),
            )
            for key, row in table["rows"].items()
        }
    )


@cache
def lumber(kind: WoodKind) -> tuple[Lumber, ...]:
    """Return what solid wood of a kind is sold as, thin to thick."""
    table = reference("lumber")
    return tuple(
        Lumber(
            name,
            row["sold_in"] * MM_PER_INCH,
            row["dressed_in"] * MM_PER_INCH,
            "from memory" if name in table["from_memory"] else table["sources"][kind],
        )
        for name, row in table[kind].items()
    )


def sold_as(kind: WoodKind, thickness: float) -> Lumber | None:
    """Return the thinnest lumber that a finished thickness (mm) is dressed from, if any is."""
    return next((row for row in lumber(kind) if row.dressed >= thickness - 0.01), None)


@cache
def drivers() -> Mapping[str, DriverRow]:
    """Return the drivers by key."""
    return MappingProxyType(
        {
            key: DriverRow(
                key, row["title"], row["diameter_mm"] / 2, float(row["length_mm"]), row["source"]
            )
            for key, row in reference("drivers")["rows"].items()
        }
    )


def default_driver() -> DriverRow:
    """Return the driver that is meant when a recipe names none."""
    return drivers()[reference("drivers")["default"]]


@cache
def drills() -> Mapping[str, DrillRow]:
    """Return the stepped drills by key."""
    return MappingProxyType(
        {
            key: DrillRow(
                key=key,
                title=row["title"],
                drill=Drill(
                    name=row["title"],
                    counterbore_radius=row["counterbore_mm"] / 2,
                    pilot_radius=row["pilot_mm"] / 2,
                    slope=float(row["slope_deg"]),
                    bits=bits(),
                    bit_radius=row["bit_mm"] / 2,
                    driver_radius=default_driver().radius,
                    driver_length=default_driver().length,
                ),
                deepest=float(row["deepest_mm"]),
                gauges=tuple(row["gauges"]),
                source=row["source"],
            )
            for key, row in reference("drills")["rows"].items()
        }
    )


@cache
def bits(unit: Unit = "mm") -> tuple[float, ...]:
    """Return the free lengths of the driver's bits on sale in mm, short to long.

    Where inches are used, each is told as the whole inches that it is sold as.
    """
    lengths = tuple(float(length) for length in reference("drills")["bits_mm"])
    if unit == "mm":
        return lengths
    return tuple(math.ceil(length / MM_PER_INCH) * MM_PER_INCH for length in lengths)


def default_drill() -> DrillRow:
    """Return the drill that is meant when a recipe names none."""
    return drills()[reference("drills")["default"]]


@cache
def screw_kinds() -> Mapping[str, ScrewKind]:
    """Return the screws by gauge, thin to thick."""
    table = reference("screws")
    source = "; ".join(f"{name}: {said}" for name, said in table["sources"].items())
    return MappingProxyType(
        {
            gauge: ScrewKind(
                gauge=gauge,
                radius=row["shank_in"] * MM_PER_INCH / 2,
                root_radius=row["root_in"] * MM_PER_INCH / 2,
                flat_head_radius=row["flat_head_in"] * MM_PER_INCH / 2,
                threads_per_inch=row["threads_per_inch"],
                head_radius=row["head_mm"] / 2,
                head_height=row["head_height_mm"],
                bored=row["bored_mm"] and (float(row["bored_mm"][0]), float(row["bored_mm"][1])),
                lengths=tuple(row["lengths_mm"]),
                source=source,
            )
            for gauge, row in table["rows"].items()
        }
    )


def usual_gauge(thickness: float) -> ScrewKind:
    """Return the usual screw for a bored board of a thickness in mm: common practice, no source."""
    usual = [kind for kind in screw_kinds().values() if kind.bored is not None]
    return next((kind for kind in usual if kind.bored and thickness <= kind.bored[1]), usual[-1])


def _species(key: str, row: Mapping[str, Any], source: str) -> Species:
    return Species(
        key=key,
        row=row["row"],
        title=key.replace("-", " "),
        kind=row["kind"],
        gravity_12=row["gravity_12"],
        rupture_mpa=float(row["rupture_mpa"]),
        elasticity_mpa=float(row["elasticity_mpa"]),
        rupture_psi=float(row["rupture_psi"]),
        elasticity_psi=row["elasticity_mpsi"] * 1e6,
        shrink_radial_pct=row["shrink_radial_pct"],
        shrink_tangential_pct=row["shrink_tangential_pct"],
        shrink_volume_pct=row["shrink_volume_pct"],
        change_radial=row["change_radial"],
        change_tangential=row["change_tangential"],
        gravity_design=row["gravity_design"],
        design_row=row.get("design_row", ""),
        from_memory=frozenset(row.get("from_memory", ())),
        second_hand=frozenset(row.get("second_hand", ())),
        notes=row.get("notes", ""),
        source=source,
    )


def _number(value: Any) -> float | None:
    return None if value is None else float(value)


@cache
def reference(name: str) -> Mapping[str, Any]:
    """Return a file of shared/ as it stands."""
    text = (files("slantbore") / "shared" / f"{name}.yaml").read_text(encoding="utf-8")
    table: Mapping[str, Any] = yaml.load(text, Loader=_LOADER)
    return table
