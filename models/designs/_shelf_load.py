"""How panel and edging of a shelf lie together, how far they sag."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

from ..piece.board import Stock
from ..piece.project import Finding
from ..placing.shop import Shop
from ..wood import beams
from ..wood.loads import Load

Edge = Literal["front", "back", "left", "right"]


@dataclass(frozen=True)
class Section:
    """How panel and edging lie together (mm): what all the shelves of a piece share.

    Attributes:
        panel: stock of the panel.
        edging: stock of the edging.
        length: whole length, edging counted.
        depth: whole depth, edging counted.
        height: of the edging.
        offset: from the edging's upper edge down to the panel.
        edges: that have edging.
        glued: no pocket screws.
    """

    panel: Stock
    edging: Stock
    length: float
    depth: float
    height: float
    offset: float
    edges: frozenset[Edge]
    glued: bool = False

    @property
    def panel_low(self) -> float:
        """Height of the panel's underside over the edging's lower edge."""
        return self.height - self.offset - self.panel.thickness

    def covered(self, edge: Edge) -> float:
        """What the edging of an edge takes of the length or depth."""
        return self.edging.thickness if edge in self.edges else 0.0


def beam(section: Section, *, edged: bool) -> beams.Stiffness | None:
    """What resists a load along the shelf; None where a material has no published modulus.

    Edging across the shelf, at its supports, bears nothing. Edging along it is glued and screwed to
    the panel, so that both bend as one. Without it the panel is as deep as the whole shelf: either
    way one depth is loaded and bears.
    """
    along: Sequence[Edge] = [e for e in ("front", "back") if e in section.edges and edged]
    depth = section.depth - sum(section.covered(edge) for edge in along)
    strips = [(section.panel, depth, section.panel.thickness, section.panel_low)]
    strips += [(section.edging, section.edging.thickness, section.height, 0.0) for _ in along]
    found = []
    for stock, width, height, low in strips:
        elasticity = beams.elasticity(stock)
        if elasticity is None:
            return None
        found.append(beams.Strip(width, height, low + height / 2, elasticity))
    return beams.stiffness(found)


def sag(section: Section, load: Load, span: float, *, edged: bool = True) -> float | None:
    """Deflection at mid-span (mm) of a shelf on two supports, its load spread evenly."""
    resists = beam(section, edged=edged)
    if resists is None:
        return None
    share = load.mass if load.spread else load.mass / (section.length * section.depth / 1e6)
    weight = beams.pressure(share) * span * section.depth
    return beams.deflection(weight, span, resists)


@dataclass(frozen=True)
class Bearing:
    """A shelf with what it is to bear.

    Attributes:
        section: how panel and edging lie together.
        load: on each shelf.
        span: clear distance between supports (mm).
    """

    section: Section
    load: Load
    span: float

    @property
    def limit(self) -> float:
        """How far it may sag (mm)."""
        return self.span / beams.SHELF_LIMIT

    @property
    def mass(self) -> float:
        """On one shelf (kg)."""
        area = self.section.length * self.section.depth / 1e6
        return self.load.mass * area if self.load.spread else self.load.mass

    def sag(self, *, edged: bool = True) -> float | None:
        """Deflection at mid-span (mm); None where a modulus is not published."""
        return sag(self.section, self.load, self.span, edged=edged)

    @property
    def holds(self) -> bool:
        """Whether its sag is known, and allowed."""
        found = self.sag()
        return found is not None and found <= self.limit


def told(shop: Shop, bearing: Bearing) -> tuple[str, ...]:
    """What the list of notes says of a shelf's sag."""
    section, load = bearing.section, bearing.load
    edged, plain = bearing.sag(), bearing.sag(edged=False)
    if edged is None or plain is None:
        unknown = [s.title for s in (section.panel, section.edging) if beams.elasticity(s) is None]
        said = f"{shop.name}: no modulus of elasticity is published for {unknown[0]}: its sag is "
        return (f"{said}not told",)
    small = partial(_small, shop)
    reports = [
        f"{shop.name}: under {load.said} ({bearing.mass:.0f} kg a shelf) over "
        f"{shop.length(bearing.span)} it sags {small(edged)}, without the edging {small(plain)}; "
        f"{small(bearing.limit)} is allowed, span/144 "
        "(deflection: Wood Handbook eq. 9-2, Table 9-1; limit: Architectural Woodwork Standards "
        "2009, section 10). Left loaded it goes on sagging, about as much again"
    ]
    if bearing.mass > beams.LARGEST_SHELF_LOAD:
        reports.append(
            f"{shop.name}: {bearing.mass:.0f} kg is more than the 90.7 kg (200 lb) that the "
            "Architectural Woodwork Standards let any one shelf carry"
        )
    return tuple(reports)


def sags(shop: Shop, bearing: Bearing, panel: str) -> Iterator[Finding]:
    """A shelf that sags more than it may; of several that are alike the panel of the first."""
    edged, small = bearing.sag(), partial(_small, shop)
    if edged is None or edged <= bearing.limit:
        return
    said = (
        f"under {bearing.load.said} the shelf sags {small(edged)} over "
        f"{shop.length(bearing.span)}; {small(bearing.limit)} is allowed (span/144)"
    )
    yield Finding("shelf-sag", "warns", said, board=panel)


def end_edging(shop: Shop, section: Section) -> Iterator[Finding]:
    """A solid panel swells across its grain; edging along its ends does not."""
    if section.panel.kind != "sheet" and {"left", "right"} & section.edges:
        yield Finding(
            "end-edging",
            "warns",
            "edging across the ends of a solid panel holds it fast where it swells and shrinks",
            board=shop.label("panel"),
        )


def _small(shop: Shop, mm: float) -> str:
    """A small length in decimals of the recipe's unit, for print."""
    return f'{mm / 25.4:.3f}"' if shop.recipe.unit == "inch" else f"{mm:.2f} mm"
