"""The boards of a case in its own frame, its pin rows and its adjustable shelves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from ..maths.geometry import Pose
from ..piece.board import BACK, BOTTOM, FRONT, LEFT, TOP, Board, BoardSide, Seen, Side, Stock, Work
from ..placing.shop import Shop
from ..words.lengths import Usual
from ..work.holes import Holes, Row
from ..work.notch import Notch
from ..work.rebate import Rebate
from ._case_params import Adjustable, Case
from ._looks import BEHIND, COVERED, LYING, UP, hidden, on_edge, on_end

# Common practice, no source.
PIN_PITCH = 32.0  # mm between the holes of a row of shelf pins
PIN_RADIUS = 2.5  # mm
PIN_INSET = 37.0  # mm from the front and the back of the case to a row
PIN_SKIN = 4.0  # mm of wood at least behind a pin or a rebate
_PIN_DEPTH = 11.0  # mm
_PIN_ROOM = 64.0  # mm that rows keep from bottom, top and fixed shelves
_SHELF_PLAY = Usual(1, "1/32")  # at each end of an adjustable shelf
_SHELF_BACK = Usual(3, "1/8")  # from an adjustable shelf's front edge to the case's
_EDGES: dict[Side, str] = {FRONT: "front edge", BACK: "back edge"}
_ON_PINS = ("adjustable",)


@dataclass(frozen=True)
class Carcass:
    """A case's boards in its own frame, from its sizes."""

    shop: Shop
    params: Case
    stock: Stock
    sheet: Stock | None

    @property
    def thick(self) -> float:
        """Of the sides and what stands between them, mm."""
        return self.stock.thickness

    @property
    def width(self) -> float:
        """Outside, mm."""
        return self.params.size[0]

    @property
    def height(self) -> float:
        """From the floor, mm."""
        return self.params.size[1]

    @property
    def inside(self) -> float:
        """Width between the sides, mm."""
        return self.width - 2 * self.thick

    @property
    def deep(self) -> float:
        """From the front to the back panel, mm."""
        return self.params.depth - (self.sheet.thickness if self.sheet else 0.0)

    @property
    def kick(self) -> float:
        """Height of the toe kick, mm."""
        return self.params.toe_kick.height if self.params.toe_kick else 0.0

    @property
    def based(self) -> bool:
        """Whether the case stands on a base of its own."""
        return self.params.toe_kick is not None and self.params.toe_kick.made == "separate base"

    @property
    def notched(self) -> bool:
        """Whether the sides are notched around the toe kick."""
        return self.params.toe_kick is not None and not self.based

    @property
    def low(self) -> float:
        """The bottom's upper face, mm from the floor."""
        return self.kick + self.thick

    @property
    def high(self) -> float:
        """The underside of stretchers or top, mm from the floor."""
        return self.height - self.thick

    @property
    def clear(self) -> float:
        """The underside of what is nearest under the top, mm from the floor."""
        return self.high - (self.params.hanging_rail or 0.0)

    @property
    def rebate(self) -> float:
        """How far the back reaches into the sides, mm."""
        back = self.params.back
        if back is None or back.fit == "planted":
            return 0.0
        return self.thick / 2 if back.rebate is None else back.rebate

    @property
    def foot(self) -> float:
        """Where the sides begin, mm from the floor."""
        return self.kick if self.based else 0.0

    # --- boards ----------------------------------------------------------------------------

    def side(self, hand: str, heights: list[float]) -> Board:
        """A side; its grain runs up, its front edge is the board's back edge.

        Args:
            hand: left or right.
            heights: of its pin holes, from the floor (mm).
        """
        left = hand == "left"
        width = self.params.depth if self.rebate else self.deep
        inner: BoardSide = BOTTOM if left else TOP
        names = on_end("outside", "inside") if left else on_end("inside", "outside")
        work: list[Work] = []
        kick = self.params.toe_kick
        if kick is not None and self.notched:
            work.append(
                Notch(
                    name="toe kick notch",
                    seen="concealed",
                    edge=FRONT,
                    end=LEFT,
                    length=kick.height,
                    depth=kick.setback,
                )
            )
        if self.rebate:
            wide = width - self.deep
            work.append(Rebate(edge=BACK, face=inner, width=wide, depth=self.rebate))
        if heights:
            work.append(self._pin_holes(inner, heights, width))
        return self.shop.board(
            f"{hand} side",
            self.stock,
            self.height - self.foot,
            width,
            names=names | _EDGES,
            seen=BEHIND,
            work=work,
            pose=Pose((self.thick if left else self.width, 0.0, self.foot), UP, (0.0, 1.0, 0.0)),
            hand=hand,
        )

    def across(
        self,
        role: str,
        low: float,
        *,
        front: float = 0.0,
        width: float | None = None,
        seen: dict[Side, Seen] | None = None,
    ) -> Board:
        """A board lying between the sides, its underside at `low` (mm from the floor)."""
        return self.shop.board(
            role,
            self.stock,
            self.inside,
            self.deep - front if width is None else width,
            names=LYING | _EDGES,
            seen=BEHIND | (seen or {}),
            pose=Pose((self.thick, front, low)),
        )

    def roofs(self) -> list[Board]:
        """The stretchers, or the top."""
        seen: dict[Side, Seen] = {TOP: "concealed"}
        if self.params.top == "panel":
            return [self.across("top", self.high, seen=seen)]
        wide = self.params.stretcher
        rear = self.deep - wide
        seen[BACK] = "semi-exposed"
        return [
            self.across("front stretcher", self.high, width=wide, seen=seen),
            self.across("back stretcher", self.high, front=rear, width=wide, seen=seen),
        ]

    def hanging_rail(self, width: float) -> Board:
        """The rail under the top, against the back; its top face looks to the front."""
        names = on_edge("front face", "rear face")
        seen = BEHIND | {BOTTOM: "semi-exposed"}
        pose = Pose((self.thick, self.deep, self.high - width), (1.0, 0.0, 0.0), UP)
        return self.shop.board(
            "hanging rail", self.stock, self.inside, width, names=names, seen=seen, pose=pose
        )

    def upright(self, role: str, length: float, x: float, y: float, turned: bool) -> Board:
        """A board of the toe kick, standing on the floor, its top face outside.

        Args:
            role: of the board.
            length: mm.
            x: where its inside face begins, seen along the board.
            y: of its inside face.
            turned: about, to face the back.
        """
        pose = Pose((x, y, 0.0), (-1.0 if turned else 1.0, 0.0, 0.0), UP)
        names = on_edge("outside", "inside")
        seen = COVERED | (hidden(TOP) if turned else {})
        return self.shop.board(
            role, self.stock, length, self.kick, names=names, seen=seen, pose=pose
        )

    def base_end(self, hand: str, front: float, bored_within: bool) -> Board:
        """An end of the separate base, between its front and back; its top face is inside.

        Args:
            hand: left or right.
            front: from the front of the case to the base's (mm).
            bored_within: whether its pockets are inside; else a neighbour is to hide them.
        """
        length = self.deep - front - 2 * self.thick
        left = hand == "left"
        y = front + self.thick + (0.0 if left else length)
        pose = Pose((0.0 if left else self.width, y, 0.0), (0.0, 1.0 if left else -1.0, 0.0), UP)
        outside: Seen = "exposed" if bored_within else "semi-exposed"
        names = on_edge("inside", "outside")
        seen = COVERED | hidden(TOP) | {BOTTOM: outside}
        return self.shop.board(
            f"base {hand} end", self.stock, length, self.kick, names=names, seen=seen, pose=pose
        )

    def back(self, sheet: Stock) -> Board:
        """The back panel, its grain up, its top face inside."""
        left = self.thick - self.rebate if self.rebate else 0.0
        size = (self.height - self.kick, self.width - 2 * left)
        names = on_end("inside", "outside")
        pose = Pose((self.width - left, self.params.depth, self.kick), UP, (-1.0, 0.0, 0.0))
        return self.shop.board("back", sheet, *size, names=names, seen=COVERED, pose=pose)

    # --- pin rows and shelves ----------------------------------------------------------------

    @cached_property
    def levels(self) -> list[float]:
        """Heights of the undersides of the fixed shelves, from the floor and from below (mm)."""
        return sorted(self.low + height for height in self.params.shelves)

    def rows(self, top: float) -> list[float]:
        """Heights of pin holes from the floor (mm), below `top`, on one pitch from the bottom."""
        found, z = [], self.low + _PIN_ROOM
        blocked = [(level - _PIN_ROOM, level + self.thick + _PIN_ROOM) for level in self.levels]
        while z <= top - _PIN_ROOM + 1e-9:
            if not any(low < z < high for low, high in blocked):
                found.append(z)
            z += PIN_PITCH
        return found

    def _pin_holes(self, inner: BoardSide, heights: list[float], width: float) -> Holes:
        """Two rows in a side, as wide as given (mm), at those heights from the floor."""
        places = [round((z - heights[0]) / PIN_PITCH) + 1 for z in heights]
        return Holes(
            name="pin hole",
            face=inner,
            rows=[
                Row(edge=FRONT, distance=PIN_INSET),
                Row(edge=BACK, distance=width - self.deep + PIN_INSET),
            ],
            first=heights[0] - self.foot,
            count=places[-1],
            pitch=PIN_PITCH,
            without=[i for i in range(1, places[-1]) if i not in places],
            diameter=2 * PIN_RADIUS,
            depth=min(_PIN_DEPTH, self.thick - PIN_SKIN),
        )

    def adjustable(self, made: Adjustable, heights: list[float]) -> Iterator[Board]:
        """Shelves on pins, shared out evenly over the rows.

        Raises:
            RecipeError: there are not as many places.
        """
        stock = (
            self.stock if made.stock is None else self.shop.stock(made.stock, *_ON_PINS, "stock")
        )
        least = stock.thickness + PIN_PITCH
        places: list[float] = []
        for k in range(made.shelves):
            free = [z for z in heights if all(abs(z - p) >= least for p in places)]
            if not free:
                raise self.shop.error(
                    f"the pin rows have places for {k} shelves, not for {made.shelves}; a row "
                    f"keeps {self.shop.length(_PIN_ROOM)} from bottom, top and fixed shelves",
                    *_ON_PINS,
                    "shelves",
                )
            wish = heights[0] + (heights[-1] - heights[0]) * (k + 1) / (made.shelves + 1)
            places.append(min(free, key=lambda z: (abs(z - wish), z)))
        play, back = self.shop.usual(_SHELF_PLAY), self.shop.usual(_SHELF_BACK)
        for i, z in enumerate(sorted(places), 1):
            yield self.shop.board(
                f"adjustable shelf {i}" if made.shelves > 1 else "adjustable shelf",
                stock,
                self.inside - 2 * play,
                self.deep - back,
                names=LYING,
                seen=BEHIND,
                pose=Pose((self.thick + play, back, z + PIN_RADIUS)),
            )
