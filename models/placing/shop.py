"""What a design has at hand: the recipe's stock, drill, screws, limits, and errors with a place."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import product

from ..maths.geometry import ORIGIN, Pose
from ..piece.board import SIDES, Board, Seen, Side, Stock, Work
from ..piece.lever import RecipePath
from ..piece.project import Bore, Drill, Finding, Hardware, Joint, Limits
from ..recipe.stated import EVERY_JOINT, Otherwise, PieceParams, Recipe
from ..wood.screws import Fastening, fastenings, flush, gauge_for, shortest
from ..wood.tables import DrillRow, thread_for
from ..words.errors import RecipeError
from ..words.lengths import STEPS, Usual, format_decimal, format_length
from .layout import Bench
from .likeness import Known

Keys = tuple[str | int, ...]
"""Where a part stands in its piece of the recipe, so that errors have a place."""


@dataclass(frozen=True)
class Piece:
    """What a design makes: boards and joints in the piece's own frame, and what goes with them.

    The piece's frame: x to the right, y to the back, z up, seen from the front; the floor (or the
    lowest point of what hangs) is z = 0, the front left corner the origin.
    """

    boards: tuple[Board, ...]
    joints: tuple[Joint, ...]
    hardware: tuple[Hardware, ...] = ()
    findings: tuple[Finding, ...] = ()
    reports: tuple[str, ...] = ()

    def placed(self, pose: Pose) -> Piece:
        """The whole piece elsewhere."""
        return replace(
            self,
            boards=tuple(board.placed(board.pose.then(pose)) for board in self.boards),
            findings=tuple(
                replace(f, point=None if f.point is None else pose.point(f.point))
                for f in self.findings
            ),
        )

    def copied(self, first: str, name: str) -> Piece:
        """The same piece once more, under another name than the first one's.

        Boards, joints and pockets are called after their piece.
        """

        def called(own: str) -> str:
            return name + own[len(first) :] if own.startswith(first) else own

        def pocket(bore: Bore) -> Bore:
            own = replace(bore.pocket, joint=called(bore.joint))
            return replace(bore, pocket=own, board=called(bore.board), mate=called(bore.mate))

        return Piece(
            tuple(replace(b, name=called(b.name), piece=name) for b in self.boards),
            tuple(
                replace(
                    j,
                    name=called(j.name),
                    first=called(j.first),
                    second=called(j.second),
                    bores=tuple(map(pocket, j.bores)),
                )
                for j in self.joints
            ),
            tuple(replace(h, piece=name) for h in self.hardware),
            tuple(
                replace(f, board=called(f.board), joint=called(f.joint), bore=called(f.bore))
                for f in self.findings
            ),
            tuple(map(called, self.reports)),
        )

    def __add__(self, other: Piece) -> Piece:
        """Two pieces as one; a drawer in its table."""
        return Piece(
            self.boards + other.boards,
            self.joints + other.joints,
            self.hardware + other.hardware,
            self.findings + other.findings,
            self.reports + other.reports,
        )


def to_origin(boards: Iterable[Board]) -> Pose:
    """What brings the lowest front left corner of all that some boards take up to the origin."""
    corners = [
        board.pose.point(corner)
        for board in boards
        for corner in product((0.0, board.length), (0.0, board.width), (0.0, board.thickness))
    ]
    x, y, z = (0.0 - min(values) for values in zip(*corners, strict=True))
    return Pose((x, y, z))


class Stopped(Exception):
    """A plan that was given up before it was whole."""


@dataclass(frozen=True)
class Shop:
    """A piece's view of the recipe.

    Attributes:
        recipe: as read.
        index: of the piece in the recipe's list.
        name: of the piece; boards and joints are named after it.
        inside: name of the part of the piece, with a blank after it, or "".
        known: what was found along joints; shared by the pieces of one planning, so that like
            joints are asked once.
        needed: names of joints without whose pockets in place the plan is of no use.
        stop: asked now and then whether to give up.
    """

    recipe: Recipe
    index: int
    name: str
    inside: str = ""
    known: Known = field(default_factory=dict, compare=False, repr=False)
    needed: frozenset[str] = frozenset()
    stop: Callable[[], bool] = field(default=lambda: False, compare=False, repr=False)
    _seen: Mapping[str, Seen] = field(default_factory=dict)
    _otherwise: Mapping[str, Otherwise] = field(default_factory=dict)
    _finer: float = 1.0

    @classmethod
    def of(
        cls,
        recipe: Recipe,
        index: int,
        params: PieceParams,
        known: Known | None = None,
    ) -> Shop:
        """The view of one piece of a recipe; `known` may be shared with other pieces."""
        name, known = params.name or params.design, {} if known is None else known
        return cls(recipe, index, name, "", known, _seen=params.seen, _otherwise=params.changes)

    def go_on(self) -> None:
        """Give up where that is asked for.

        Raises:
            Stopped: it is.
        """
        if self.stop():
            raise Stopped

    @property
    def bench(self) -> Bench:
        """What laying out joints goes by."""
        return Bench(self.limits, self.recipe.unit, self.known)

    @property
    def step(self) -> float:
        """Of the ruler that the drill's stop is set by (mm); 0: it may be set anywhere."""
        return STEPS[self.recipe.unit][-1] * self._finer

    def rulers(self) -> Iterator[Shop]:
        """The same view; then with finer steps for the drill's stop, and with none."""
        return (replace(self, _finer=share) for share in (1.0, 0.25, 0.0))

    def part(self, name: str) -> Shop:
        """The same view for a part of the piece ("drawer 1"): its boards are named after it."""
        return replace(self, inside=f"{self.inside}{name} ")

    @property
    def limits(self) -> Limits:
        """How much wood must stay."""
        return self.recipe.limits

    @property
    def drill(self) -> Drill:
        """The recipe's drill."""
        return self.recipe.tools.drill

    def label(self, what: str) -> str:
        """The full name of a board or joint of this part."""
        return f"{self.name} {self.inside}{what}"

    def wished_at(self, name: str, *keys: str) -> RecipePath:
        """The piece's keys under which it may say how a joint or a pocket is bored otherwise."""
        return ("changes", name.removeprefix(f"{self.name} "), *keys)

    def wish_for(self, name: str | int) -> Otherwise:
        """What the recipe says under this very name, full or without the piece's."""
        return self._otherwise.get(str(name).removeprefix(f"{self.name} "), Otherwise())

    def wish(self, *names: str) -> Otherwise:
        """What the recipe says of every joint, and of those joints and pockets; the last counts."""
        wish = self._otherwise.get(EVERY_JOINT, Otherwise())
        for name in names:
            wish = wish.model_copy(update=self.wish_for(name).model_dump(exclude_none=True))
        return wish

    def moved(self, name: str) -> bool:
        """Whether the recipe bores anything of a joint otherwise than its design would."""
        own = name.removeprefix(f"{self.name} ")
        return any(key == EVERY_JOINT or key.startswith(own) for key in self._otherwise)

    def at(self, *keys: str | int) -> RecipePath:
        """Where one of the piece's keys stands in the recipe."""
        return ("build", self.index, *keys)

    def error(self, message: str, *keys: str | int) -> RecipeError:
        """An error at one of the piece's keys, ready to raise."""
        return self.recipe.error(message, "build", self.index, *keys)

    def stock(self, label: str, *keys: str | int) -> Stock:
        """The stock with a label, given at the piece's `keys`.

        Raises:
            RecipeError: there is no such stock.
        """
        return self.recipe.stock_named(label, "build", self.index, *keys)

    def usual(self, length: Usual) -> float:
        """A length of practice (mm), round in the recipe's unit."""
        return length.of(self.recipe.unit)

    def length(self, mm: float) -> str:
        """A length in the recipe's unit, for print."""
        return format_length(mm, self.recipe.unit)

    def small(self, mm: float) -> str:
        """A small length in decimals of the recipe's unit, for print."""
        return format_decimal(mm, self.recipe.unit)

    def fastenings(
        self,
        thickness: float,
        mate: Stock,
        mating_depth: float,
        row: DrillRow | None = None,
        *,
        exit_depth: float | None = None,
    ) -> list[Fastening]:
        """The screws that fit, the preferred one first; see `screws.fastenings`.

        Args:
            thickness: of the bored board, across the pocket face (mm).
            mate: what the mating board is made of.
            mating_depth: of the mating board, square to the joint (mm).
            row: another drill than the recipe's.
            exit_depth: of the exit below the pocket face (mm); None: about half the thickness.
        """
        wanted = self.recipe.tools.screw_gauge if row is None else None
        found = fastenings(
            self.recipe.tools.other_drill(row) if row else self.drill,
            gauge_for(row or self.recipe.tools.row, thickness, wanted),
            thread_for(mate.kind),
            thickness,
            mating_depth,
            self.limits.tip_cover,
            exit_depth,
            self.step,
            self.recipe.unit,
        )
        longest = self.recipe.tools.longest_screw
        return [f for f in found if f.screw.length <= longest + 0.01] or list(found[-1:])

    def flush(self, fits: Iterable[Fastening], thickness: float) -> list[Fastening]:
        """Screws for a mate that ends flush with the face opposite the pocket, those that do."""
        cover = self.limits.tip_cover
        found = [flush(self.drill, fit, thickness, cover, self.step) for fit in fits]
        return list(dict.fromkeys(fit for fit in found if fit))

    def shortest(self, thickness: float, mate: Stock) -> Fastening:
        """The shortest stocked screw at the usual shoulder, whether it fits or not."""
        kind = gauge_for(self.recipe.tools.row, thickness, self.recipe.tools.screw_gauge)
        return shortest(self.drill, kind, thread_for(mate.kind), thickness, self.recipe.unit)

    def board(
        self,
        role: str,
        stock: Stock,
        length: float,
        width: float,
        *,
        names: Mapping[Side, str] | None = None,
        seen: Mapping[Side, Seen] | None = None,
        work: Iterable[Work] = (),
        pose: Pose = ORIGIN,
        hand: str = "",
    ) -> Board:
        """A board of this piece, as thick as its stock; what the recipe says is `seen` wins.

        Raises:
            ValueError: its ends or its edges are sawn so far off square that they meet.
        """
        names = names or {}
        seen = {**(seen or {})}
        for side in SIDES:
            for word in (names.get(side, side), f"{role} {names.get(side, side)}"):
                if word in self._seen:
                    seen[side] = self._seen[word]
        board = Board(
            self.label(role),
            self.name,
            f"{self.inside}{role}",
            stock,
            length,
            width,
            stock.thickness,
            names,
            seen,
            tuple(work),
            pose,
            hand,
        )
        _ = board.faces  # whether its ends or edges meet is to be told now
        return board
