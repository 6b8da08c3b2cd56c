"""A top that is screwed to a base from below, free to swell and shrink where it is solid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Literal

from pydantic import Field

from ..maths.geometry import Pose
from ..piece.board import BACK, BOTTOM, Board, Stock
from ..placing.meetings import Meeting
from ..recipe.fields import usual
from ..recipe.params import LengthOrZero, StockName
from ..wood.movement import Slide, movement_rate
from ..words.lengths import Usual
from ..work.opening import Opening
from ._leg_base import SIDES, Base
from .panel import PanelParams, board_widths, panel_boards

# Common practice, no source.
_OVERHANG = Usual(25, "1")  # of the top beyond the legs
_SCREW = 2.5  # mm, more than the radius of any screw
_APART = 120.0  # mm at least between two screws of a top on an end apron


class TableTop(PanelParams):
    """The top, glued up from boards or cut from a sheet."""

    stock: StockName = Field(description="label of the stock")
    overhang: LengthOrZero = usual(_OVERHANG, description="beyond the legs, on all four sides")
    fixing: Literal["slotted", "rigid"] = Field(
        "slotted", description="how a solid top is screwed: free to swell and shrink, or rigid"
    )


@dataclass(frozen=True)
class Top:
    """A top on its base, in the base's frame.

    Attributes:
        made: how it is glued up and screwed on.
        base: below it.
        stock: of its boards.
        size: length and depth (mm).
    """

    made: TableTop
    base: Base
    stock: Stock
    size: tuple[float, float]

    @property
    def middle(self) -> float:
        """The line of the top that stays where it is (y, mm)."""
        return self.base.depth / 2

    def rate(self) -> float:
        """Fraction of its width that the top moves either way.

        Raises:
            RecipeError: nobody published how the wood moves.
        """
        shop = self.base.shop
        found = movement_rate(self.stock, shop.limits.moisture_change)
        if found is None:
            raise shop.error(
                f"no shrinkage of {self.stock.title} was published where we looked, so the slots "
                "cannot be sized: take another wood, a sheet good, or fixing: rigid",
                "top",
                "stock",
            )
        return found

    def boards(self) -> tuple[Board, ...]:
        """The boards, with no seam over the front or back apron unless the recipe states it."""
        made, shop = self.made, self.base.shop
        length, depth = self.size
        widths = board_widths(shop, self.stock, depth, made, ("top",))
        for _ in range(3):
            if made.boards is not None or not self._seam_over_apron(widths):
                break
            # One board more; a stated width is the widest, so narrower ones are welcome.
            fewer = made.model_copy(update={"board_width": depth / (len(widths) + 1)})
            widths = board_widths(shop, self.stock, depth, fewer, ("top",))
        pose = Pose((-made.overhang, -made.overhang, self.base.height))
        part = shop.part("top")
        return panel_boards(part, self.stock, length, widths, pose=pose)

    def _seam_over_apron(self, widths: Sequence[float]) -> bool:
        base, half = self.base, self.base.apron_stock.thickness / 2
        lines = (base.inset - half, base.depth - base.inset + half)
        seams = accumulate(widths[:-1], initial=-self.made.overhang)
        next(seams)
        return any(abs(seam - line) < self._room() for seam in seams for line in lines)

    def _room(self) -> float:
        """How far a seam must be from the middle of an apron's edge (mm)."""
        limits = self.base.shop.limits
        return self.base.apron_stock.thickness / 2 + limits.tip_cover + limits.tolerance

    def meetings(
        self, boards: Sequence[Board], aprons: Sequence[Board], inner: Sequence[Board]
    ) -> list[Meeting]:
        """The aprons' upper edges at the top's underside, wherever there is room for a pocket.

        Where there is none anywhere all of them are tried: placement says what is in the way.
        """
        under: list[tuple[int, Board]] = []
        roomy: list[tuple[int, Board]] = []
        for side, apron in enumerate(aprons):
            covered = self._covered(apron, inner)
            for board, low, high in self._shared(apron, boards):
                under.append((side, board))
                if _outside(covered, low, high):
                    roomy.append((side, board))
        free = self.stock.kind != "sheet" and self.made.fixing == "slotted"
        rate = self.rate() if free else 0.0
        below = self._just_below(inner)
        return [
            Meeting(
                self.base.shop.label(f"{SIDES[side]} apron to {board.role}"),
                "top",
                aprons[side],
                BACK,
                BOTTOM,
                board,
                BOTTOM,
                count=1 if side % 2 and len(boards) > 1 else None,
                toward=(1.0, 0.0, 0.0),
                after=below,
                slide=self._slide(aprons[side], rate) if rate else None,
            )
            for side, board in roomy or under
        ]

    def _slide(self, apron: Board, rate: float) -> Slide:
        """How the top moves over an apron; its middle stays."""
        along = apron.pose.local_direction((0.0, 1.0, 0.0))
        return Slide(along, rate, apron.pose.local_point((0.0, self.middle, 0.0)))

    def _beside(self) -> float:
        """Room that a pocket needs on each side of its axis (mm)."""
        drill, limits = self.base.shop.drill, self.base.shop.limits
        wall = max(limits.any_wall, limits.between)
        return drill.counterbore_radius + wall + limits.tolerance

    def _just_below(self, inner: Sequence[Board]) -> tuple[Board, ...]:
        """The boards that are bored from above and so stand there before the top does."""
        low = self.base.height - self.base.pocket_reach
        return tuple(b for b in inner if b.pose.origin[2] + b.thickness >= low)

    def _covered(self, apron: Board, inner: Sequence[Board]) -> list[tuple[float, float]]:
        """Stretches of an apron (x, mm) that have no room for a pocket from the upper edge."""
        base, side = self.base, self._beside()
        reach = base.pocket_reach + side
        found = [(-1.0, reach), (apron.length - reach, apron.length + 1.0)]
        across = apron.pose.local_direction((1.0, 0.0, 0.0))[0]
        if abs(across) > 0.5:
            for board in self._just_below(inner):
                ends = [
                    apron.pose.local_point(board.pose.point((0.0, y, 0.0)))[0]
                    for y in (0.0, board.width)
                ]
                found.append((min(ends) - side, max(ends) + side))
        for opening in apron.work:
            if isinstance(opening, Opening):
                left = opening.from_end
                found.append((left - side, left + opening.length + side))
        return found

    def _shared(self, apron: Board, boards: Sequence[Board]) -> list[tuple[Board, float, float]]:
        """Boards of the top over an apron, with the stretch of it (x, mm), well spread."""
        shared = []
        half = apron.thickness / 2
        for board in boards:
            corners = [
                apron.pose.local_point(board.pose.point((x, y, 0.0)))
                for x in (0.0, board.length)
                for y in (0.0, board.width)
            ]
            low = max(0.0, min(p[0] for p in corners))
            high = min(apron.length, max(p[0] for p in corners))
            if min(p[2] for p in corners) <= half < max(p[2] for p in corners) and low < high:
                shared.append((board, low, high))
        if len(shared) < 2:
            return shared
        # A screw keeps its cover to the seams, and is clear of the pockets at the apron's ends.
        limits = self.base.shop.limits
        seam = limits.tip_cover + _SCREW + limits.tolerance
        end = self.base.pocket_reach + self._beside() + limits.tolerance
        wide = [s for s in shared if min(s[2] - seam, apron.length - end) > max(s[1] + seam, end)]
        spread: list[tuple[Board, float, float]] = []
        for board, low, high in sorted(wide, key=lambda s: s[1]):
            if not spread or (low + high - spread[-1][1] - spread[-1][2]) / 2 >= _APART:
                spread.append((board, low, high))
        return spread

    def reports(self) -> tuple[str, ...]:
        """How far the top moves, and what allows for it."""
        shop = self.base.shop
        if self.stock.kind == "sheet":
            return ()
        rate = movement_rate(self.stock, shop.limits.moisture_change)
        if rate is None:
            return ()
        moves, points = rate * self.size[1], shop.limits.moisture_change
        how = "its pilots are slotted" if self.made.fixing == "slotted" else "it is held"
        return (
            f"{shop.name}: the top swells or shrinks by {shop.small(moves)} across its width when "
            f"its moisture content changes by {points:g} points; {how}, so its middle stays",
        )


def _outside(
    covered: Sequence[tuple[float, float]], low: float, high: float
) -> list[tuple[float, float]]:
    """What is left of a stretch outside of others."""
    parts = [(low, high)]
    for a, b in covered:
        parts = [
            part
            for start, end in parts
            for part in ((start, min(end, a)), (max(start, b), end))
            if part[1] - part[0] > 1e-6
        ]
    return parts
