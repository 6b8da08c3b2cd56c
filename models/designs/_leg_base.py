r"""A base of four legs and four aprons, for tables: a part that designs build on.

Seen from above                         A leg and an apron from the front
 __                          __           ____ ______________
|  |________________________|  |         |    |              |   apron, set back from the leg's
|__|________back____________|__|         |    |              |   outer face
 ||                          ||          |    |______________|
 ||left                 right||          |    |
 ||__________________________||          |    / taper, on the two inside faces
|  |________front___________|  |         |   /
|__|                        |__|         |__/   foot

The base's frame: front left outer corner on the floor at the origin. The sides are counted from
the front, counter-clockwise seen from above: front, right, back, left; leg k stands where side k
starts, and side k's left end meets it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from pydantic import Field

from ..maths.geometry import Pose, Vec
from ..piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, BoardSide, Side, Stock, Work
from ..placing.meetings import Meeting
from ..placing.shop import Shop
from ..recipe.fields import usual
from ..recipe.params import Count, Length, LengthOrZero, Params, StockName
from ..words.lengths import Usual
from ..work import WorkError
from ..work.arch import Arch
from ..work.taper import Taper
from ._looks import BEHIND, UP, on_edge

SIDES = ("front", "right", "back", "left")
_LEGS = ("front left", "front right", "back right", "back left")
_AROUND = (BACK, TOP, FRONT, BOTTOM)
# Direction of each side, counter-clockwise; the inward normal is the next one.
_ALONG: tuple[Vec, ...] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0))
_FACING = ("right face", "back face", "left face", "front face")

# Common practice, no source.
_GAP = Usual(25, "1")  # of square leg below the apron
_PROUD = Usual(6, "1/4")  # that the leg stands proud of the apron
_SCREWS = 3  # an apron end
_LEAST_FOOT = 15.0  # mm
_LEAST_APRON = 25.0  # mm of apron above an arch


class BaseParams(Params):
    """Legs and aprons of a table."""

    leg_stock: StockName = Field(description="label of the stock for the legs; they are square")
    foot: Length | None = Field(
        None, description="size of the foot: the leg is tapered on its two inside faces to this"
    )
    taper_gap: LengthOrZero = usual(_GAP, description="square part of the leg below the apron")
    apron_stock: StockName = Field(description="label of the stock for the aprons")
    apron_width: Length = Field(description="width of the aprons (their height as they stand)")
    setback: LengthOrZero = usual(
        _PROUD, description="how far the aprons lie back from the legs' outer faces"
    )
    arch: Length | None = Field(
        None, description="rise of an arch along the aprons' lower edges; without it straight"
    )
    screws: Count = Field(_SCREWS, description="screws at each end of an apron")


@dataclass(frozen=True)
class Base:
    """Sizes and stock of a base; lengths in mm.

    Attributes:
        shop: view of the piece.
        params: how it is made.
        width: over the legs' outer faces, left to right.
        depth: the same, front to back.
        height: of the legs.
    """

    shop: Shop
    params: BaseParams
    width: float
    depth: float
    height: float

    @property
    def leg_stock(self) -> Stock:
        """Of the legs."""
        return self.shop.stock(self.params.leg_stock, "leg_stock")

    @property
    def apron_stock(self) -> Stock:
        """Of the aprons."""
        return self.shop.stock(self.params.apron_stock, "apron_stock")

    @property
    def leg_size(self) -> float:
        """Of the square leg."""
        return self.leg_stock.thickness

    @property
    def inset(self) -> float:
        """From the base's outside to the aprons' inside."""
        return self.params.setback + self.apron_stock.thickness

    @property
    def lower(self) -> float:
        """Height of the aprons' lower edges over the floor."""
        return self.height - self.params.apron_width

    @property
    def pocket_reach(self) -> float:
        """How far the pockets at an apron's end reach along it, with the wood they need."""
        drill, limits = self.shop.drill, self.shop.limits
        slope, half = math.radians(drill.slope), self.apron_stock.thickness / 2
        reach = half / math.tan(slope) + drill.counterbore_radius / math.sin(slope)
        return reach + limits.any_wall

    def apron_length(self, side: int) -> float:
        """Between the legs."""
        return (self.depth if side % 2 else self.width) - 2 * self.leg_size

    def corner(self, side: int) -> Vec:
        """Where a side starts: the outer corner of its first leg, on the floor."""
        x, y = self.width, self.depth
        corners: tuple[Vec, ...] = ((0.0, 0.0, 0.0), (x, 0.0, 0.0), (x, y, 0.0), (0.0, y, 0.0))
        return corners[side]

    def refuse_unsound(self) -> None:
        """Refuse sizes that make no base.

        Raises:
            RecipeError: which size, and what would do.
        """
        shop, params, said = self.shop, self.params, self.shop.length
        leg, apron = self.leg_size, self.apron_stock
        if self.inset > leg + 1e-9:
            most = leg - apron.thickness
            keys = ("setback",) if most >= 0 else ("leg_stock",)
            raise shop.error(
                f"set back by {said(params.setback)} the {said(apron.thickness)} apron does not "
                f"lie on the {said(leg)} leg: "
                + (f"at most {said(most)}" if most >= 0 else "take thicker legs"),
                *keys,
            )
        if self.lower - params.taper_gap <= 0 or self.lower <= 0:
            raise shop.error(
                f"the aprons reach down to {said(self.lower)} over the floor: make the piece "
                "higher or the aprons narrower",
                "apron_width",
            )
        if params.foot is not None and not _LEAST_FOOT <= params.foot < leg:
            raise shop.error(
                f"a foot of {said(params.foot)} is no taper of a {said(leg)} leg: from "
                f"{said(_LEAST_FOOT)} up to less than that, or leave `foot` out",
                "foot",
            )
        for side in (0, 1):
            if self.apron_length(side) <= 0:
                raise shop.error(f"no {SIDES[side]} apron is left between the legs", "size")

    def legs(self) -> tuple[Board, ...]:
        """The four legs, alike and each turned by a quarter; their grain runs up."""
        tapers = self._tapers()
        legs = []
        for k, where in enumerate(_LEGS):
            faces = {side: _FACING[(k + i) % 4] for i, side in enumerate(_AROUND)}
            legs.append(
                self.shop.board(
                    f"{where} leg",
                    self.leg_stock,
                    self.height,
                    self.leg_size,
                    names={**faces, LEFT: "foot", RIGHT: "upper end"},
                    seen={LEFT: "semi-exposed", RIGHT: "concealed"},
                    work=tapers,
                    pose=Pose(self.corner(k), UP, _ALONG[k]),
                )
            )
        return tuple(legs)

    def _tapers(self) -> tuple[Taper, ...]:
        if self.params.foot is None:
            return ()
        off, start = self.leg_size - self.params.foot, self.lower - self.params.taper_gap
        sides: tuple[tuple[str, BoardSide], ...] = (("taper", BACK), ("second taper", TOP))
        return tuple(
            Taper(name=name, side=side, end=LEFT, amount=off, length=start) for name, side in sides
        )

    def apron(self, side: int, work: tuple[Work, ...] = ()) -> Board:
        """An apron, its top face outside, its grain along the side."""
        along, inward = _ALONG[side], _ALONG[(side + 1) % 4]
        corner = self.corner(side)
        leg, inset = self.leg_size, self.inset
        origin = (
            corner[0] + leg * along[0] + inset * inward[0],
            corner[1] + leg * along[1] + inset * inward[1],
            self.lower,
        )
        board = self.shop.board(
            f"{SIDES[side]} apron",
            self.apron_stock,
            self.apron_length(side),
            self.params.apron_width,
            names=on_edge("outside", "inside"),
            seen=BEHIND | {BOTTOM: "semi-exposed"},
            work=work,
            pose=Pose(origin, along, UP),
        )
        return board if self.params.arch is None else self._arched(board, self.params.arch)

    def _arched(self, board: Board, rise: float) -> Board:
        """An apron with its arch, from end to end.

        Raises:
            RecipeError: the arch leaves too little of it.
        """
        said, arch = self.shop.length, Arch(edge=FRONT, rise=rise)
        if board.width - rise < _LEAST_APRON:
            most = board.width - _LEAST_APRON
            raise self.shop.error(
                f"an arch {said(rise)} high leaves too little of the {said(board.width)} aprons: "
                + (f"at most {said(most)}" if most > 0 else "leave it out"),
                "arch",
            )
        try:
            arch.refuse_unfit(board, said)
        except WorkError as error:
            raise self.shop.error(f"{board.role}: {error}", "arch") from None
        return replace(board, work=(arch, *board.work))

    def corners(self, legs: tuple[Board, ...], aprons: tuple[Board, ...]) -> list[Meeting]:
        """The apron ends at the legs, bored from inside."""
        ends: tuple[tuple[int, Side, Side], ...] = ((0, LEFT, BACK), (1, RIGHT, TOP))
        return [
            Meeting(
                self.shop.label(f"{SIDES[k]} apron to {_LEGS[(k + step) % 4]} leg"),
                "butt",
                apron,
                end,
                BOTTOM,
                legs[(k + step) % 4],
                face,
                count=self.params.screws,
            )
            for k, apron in enumerate(aprons)
            for step, end, face in ends
        ]
