"""The joints of the trade: how many pockets, where along the joint, which screw.

Designs and free-form recipes state `Meeting`s (two placed boards whose faces meet, and how they are
bored); `join` turns them into joints with placed bores, one after the other, each keeping clear of
the bores and screws that the boards already hold.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice, product

import numpy as np

from .board import OPPOSITE, Board, Side
from .bodies import hole_rods, presences, rods_from
from .clearance import Rods, clipped, joined, padded
from .geometry import Vec, dot
from .likeness import Likeness, likeness, within_reach
from .movement import Slide
from .placement import Site, least_bad, pitch, promising_swings, windows
from .project import Bore, Change, Finding, Joint, JointKind, Limits, RecipePath, Window
from .screws import Fastening
from .shop import Shop
from .tables import DrillRow

# Common practice, no source.
_PER_POCKET = 70.0  # mm of width that one pocket of an end joint serves
_EDGE_STEP = (150.0, 200.0)  # mm between the pockets of a long edge (6 to 8 in)
_COVERED = "another board on the pocket face"
_ORDERS = 4  # how often joints that find no place are put first
_SWING_STEP = 5  # degrees
_PAIR = 25.0  # mm between the two pockets of a pair: one setting of the guide, two holes


@dataclass(frozen=True)
class Held:
    """What the boards hold already: placed bores, and the boards they are in by name."""

    bores: tuple[Bore, ...]
    boards: Mapping[str, Board]
    known: dict[tuple[Bore, str], Rods] = field(default_factory=dict)

    def rods(self, where: Board, frame: Board) -> Rods | None:
        """What bores and holes take up in the board `where`, in the frame of another board."""
        near = [bore for bore in self.bores if where.name in (bore.board, bore.mate)]
        self._work_out([bore for bore in near if (bore, where.name) not in self.known], where)
        parts = [hole_rods(where), *(self.known[bore, where.name] for bore in near)]
        found = [rods for rods in parts if rods is not None]
        if not found:
            return None
        rods = found[0] if len(found) == 1 else joined(*found)
        turn = frame.pose.matrix.T @ where.pose.matrix
        shift = frame.pose.matrix.T @ (np.array(where.pose.origin) - np.array(frame.pose.origin))
        return replace(rods, point=rods.point @ turn.T + shift, axis=rods.axis @ turn.T)

    def _work_out(self, bores: Sequence[Bore], where: Board) -> None:
        """Keep what each bore takes up in a board, in the board's frame."""
        rows = [
            r for r in presences(bores, self.boards, sheathed=True) if r.board.name == where.name
        ]
        if not rows:
            return
        rods = clipped(rods_from(rows), *padded([[f.plane for f in where.faces]] * len(rows)))
        names = np.array([row.bore.name for row in rows])
        for bore in bores:
            self.known[bore, where.name] = rods.take(np.flatnonzero(names == bore.name))


@dataclass(frozen=True)
class Meeting:
    """Two faces that meet, and how they are to be pulled together.

    Attributes:
        name: of the joint, unique in the project.
        kind: the trade's word.
        bored: the bored board, placed.
        joint_face: its side that meets the mate.
        pocket_face: its side that the drill enters.
        mate: the mating board, placed.
        mate_face: its side that is met.
        count: of pockets; None: as the kind of joint and the length ask for.
        datum: printed name of what positions are measured from, "" for the side they start at.
        toward: rough direction in which positions grow, bored board's frame; None: from the front
            edge or the left end.
        end: stretch at both ends of the joint to keep free, mm (later trimming).
        shift: moves the wished positions along the joint, mm (staggering).
        exit_depth: of the exits below the pocket face, mm; None: half the thickness.
        pairs: whether pockets come in pairs.
        avoid: stretches from the start of the joint, mm, in which no pocket may be: another board
            lies on the pocket face there.
        sunk: whether the heads must lie below the pocket face, for another board to cover it.
        slide: how the mate swells and shrinks past the bored board: the pilots are slotted for it.
        stated: where a recipe states this very joint, with keys `pockets` and `pockets_in`.
    """

    name: str
    kind: JointKind
    bored: Board
    joint_face: Side
    pocket_face: Side
    mate: Board
    mate_face: Side
    count: int | None = None
    datum: str = ""
    toward: Vec | None = None
    end: float = 0.0
    shift: float = 0.0
    exit_depth: float | None = None
    pairs: bool = False
    avoid: tuple[tuple[float, float], ...] = ()
    sunk: bool = False
    slide: Slide | None = None
    stated: RecipePath = ()

    @property
    def thickness(self) -> float:
        """Of the bored board across the pocket face, mm."""
        return _across(self.bored, self.pocket_face)

    @property
    def mating_depth(self) -> float:
        """Of the mate square to the joint, mm; at most the bored board's thickness counts.

        Common practice, no source: a screw is chosen as for equal stock, or for the thinner mate.
        """
        return min(_across(self.mate, self.mate_face), self.thickness)

    def fitting(self, shop: Shop, row: DrillRow | None = None) -> list[Fastening]:
        """The screws that fit, the preferred one first; with another drill than the recipe's."""
        depth = self.mating_depth
        return shop.fastenings(self.thickness, self.mate.stock, depth, row, sunk=self.sunk)

    def wishes(self, length: float, count: int | None, least: float) -> list[float]:
        """Where practice asks for pockets, moved as stated; arguments as `wished` (mm)."""
        kind = "offset edge" if self.pairs else self.kind
        return [wish + self.shift for wish in wished(kind, length, count, least)]

    def site(self, shop: Shop, fastening: Fastening, held: Held) -> Site:
        """The joint's line, with the bores that both boards hold already."""
        plain = Site(
            self.bored,
            self.mate,
            self.joint_face,
            self.pocket_face,
            self.mate_face,
            self.toward or (1.0, 1.0, 1.0),
            self.datum,
            shop.drill,
            fastening.screw,
            fastening.shoulder,
            self.exit_depth,
        )
        if self.slide is not None:
            ends = (plain.exit(0.0), plain.exit(plain.reach[1]))
            slot = max(self.slide.slot(end) for end in ends)
            plain = replace(plain, slot=slot, slot_along=self.slide.along)
        return replace(
            plain,
            datum=self.datum or start_of(plain),
            beside=within_reach(plain, held.rods(self.bored, self.bored)),
            ahead=within_reach(plain, held.rods(self.mate, self.bored)),
        )


def wished(kind: JointKind, length: float, count: int | None, least: float) -> list[float]:
    """Positions along a joint that practice asks for, before any wall is looked at (mm).

    Args:
        kind: an edge joint has one pocket in the middle and the rest spaced outward from it, 150
            to 200 mm; a panel's edging has pairs at that spacing; other joints share the width.
        length: of the joint, mm.
        count: stated number, or None.
        least: least distance between two pockets, mm.
    """
    if kind == "offset edge" and length >= 4 * least and (count is None or count % 2 == 0):
        if count is None and length <= 2 * _EDGE_STEP[0]:
            count = 2 * max(1, round(length / _EDGE_STEP[0]))
        pairs = wished("edge", length, count and count // 2, 2 * least)
        return [middle + side * max(_PAIR, least) / 2 for middle in pairs for side in (-1, 1)]
    if kind in ("edge", "panel", "offset edge", "box") and length > 2 * _EDGE_STEP[0]:
        if count is None:
            half = math.ceil((length / 2 - _EDGE_STEP[1] / 2) / _EDGE_STEP[1])
            count = 2 * half + 1
        step = min(_EDGE_STEP[1], length / count) if count > 1 else 0.0
    else:
        if count is None:
            count = max(2, round(length / _PER_POCKET)) if length >= 2 * least else 1
        step = max(length / count, least)
    return [length / 2 + (i - (count - 1) / 2) * step for i in range(count)]


def settle(
    found: Sequence[Window], wishes: Sequence[float], least: float, tolerance: float
) -> list[Window]:
    """Move each wished position as little as needed into the windows, `least` mm apart.

    Returns:
        One window per pocket, in which it may move freely whatever its neighbours do; an empty
        list where they do not all fit.
    """
    places: list[float] = []
    homes: list[Window] = []
    for wish in wishes:
        best: tuple[float, float, Window] | None = None
        # Two pockets that may both be off by the tolerance need that much more between them.
        for apart in (least + tolerance, least):
            for window in found:
                for low, high in _without(window.low, window.high, places, apart):
                    inset = min(tolerance, (high - low) / 2)
                    place = min(max(wish, low + inset), high - inset)
                    # A stretch that cannot hold the tolerance is the last resort.
                    cost = abs(place - wish) + (0.0 if inset == tolerance else 1e6)
                    if best is None or cost < best[0] - 1e-9:
                        best = (cost, place, window)
            if best is not None:
                break
        if best is None:
            return []
        places.append(best[1])
        homes.append(best[2])
    settled = []
    for i, (place, home) in enumerate(zip(places, homes, strict=True)):
        low, high, low_binds, high_binds = home.low, home.high, home.low_binds, home.high_binds
        for j, other in enumerate(places):
            middle = (place + other) / 2
            if j != i and other < place and middle + least / 2 > low:
                low, low_binds = min(middle + least / 2, place), "the next pocket"
            if j != i and other > place and middle - least / 2 < high:
                high, high_binds = max(middle - least / 2, place), "the next pocket"
        settled.append(Window(home.datum, place, low, high, low_binds, high_binds))
    return sorted(settled, key=lambda w: w.position)


def _without(
    low: float, high: float, taken: Iterable[float], least: float
) -> Iterator[tuple[float, float]]:
    """What is left of a stretch that keeps `least` from every place taken."""
    pieces = [(low, high)]
    for place in taken:
        pieces = [
            part
            for a, b in pieces
            for part in ((a, min(b, place - least)), (max(a, place + least), b))
            if part[0] <= part[1]
        ]
    yield from pieces


def join(
    shop: Shop,
    meetings: Sequence[Meeting],
    placed: Sequence[Joint] = (),
    boards: Sequence[Board] = (),
) -> tuple[list[Joint], list[Finding]]:
    """Place the pockets of meetings, in the order given; a joint that finds no place goes first.

    Args:
        shop: the piece's view of the recipe.
        meetings: what meets; boards are named in the meetings' own, placed state.
        placed: joints that the boards hold already.
        boards: those of the joints placed that no meeting names.

    Returns:
        The joints in the order of the meetings, and a finding for each that has no place for its
        pockets, with a remedy that was tried.
    """
    named = {board.name: board for board in boards}
    named |= {board.name: board for m in meetings for board in (m.bored, m.mate)}
    known: dict[tuple[Bore, str], Rods] = {}

    def held(joints: Iterable[Joint]) -> Held:
        return Held(tuple(bore for joint in joints for bore in joint.bores), named, known)

    order = list(range(len(meetings)))
    best: tuple[int, dict[int, tuple[Joint, bool]]] | None = None
    for _ in range(_ORDERS):
        done: dict[int, tuple[Joint, bool]] = {}
        for index in order:
            before = held([*placed, *(joint for joint, _ in done.values())])
            done[index] = _place(shop, meetings[index], before)
        failed = [index for index in order if not done[index][1]]
        if best is None or len(failed) < best[0]:
            best = (len(failed), done)
        # Another order helps only a joint that would find its place were it the first.
        blocked = [i for i in failed if _place(shop, meetings[i], held(placed))[1]]
        if not blocked or order[: len(blocked)] == blocked:
            break
        order = blocked + [i for i in order if i not in blocked]
    assert best is not None
    done = best[1]
    joints = [done[i][0] for i in range(len(meetings))]
    findings = []
    for i, meeting in enumerate(meetings):
        joint, fits = done[i]
        if not fits:
            others = [*placed, *(j for k, j in enumerate(joints) if k != i)]
            findings.append(_no_place(shop, meeting, joint, held(others)))
        elif not is_wide([bore.window for bore in joint.bores], shop.limits):
            others = [*placed, *(j for k, j in enumerate(joints) if k != i)]
            findings.append(_narrow_place(shop, meeting, joint, held(others)))
    return joints, findings


def _place(shop: Shop, meeting: Meeting, held: Held) -> tuple[Joint, bool]:
    """The joint, and whether all its pockets have a window; like joints are laid out once."""
    fitting = meeting.fitting(shop)
    # Without one that fits the shortest: there is to be something to see and to measure.
    first = fitting[0] if fitting else shop.shortest(meeting.thickness, meeting.mate.stock)
    site = meeting.site(shop, first, held)
    like = likeness(site, shop.limits)
    asked = (meeting.kind, meeting.count, meeting.end, meeting.shift, meeting.pairs, meeting.avoid)
    key = (like.key, asked, tuple(fitting))
    if key not in shop.layouts:
        shop.layouts[key] = (like, _laid_out(meeting, site, fitting, shop.limits))
    known: Likeness = shop.layouts[key][0]
    laid: _Laid = shop.layouts[key][1]
    site = replace(site, screw=laid.fastening.screw, shoulder=laid.fastening.shoulder)
    found = known.renamed(laid.windows, site.datum, like.names)
    return _joint(meeting, site, laid.swing, found), laid.fits


@dataclass(frozen=True)
class _Laid:
    """How the pockets of a joint are laid out; `fits`: whether all of them have a window."""

    fastening: Fastening
    swing: float
    windows: Sequence[Window]
    fits: bool


def _laid_out(meeting: Meeting, site: Site, fitting: Sequence[Fastening], limits: Limits) -> _Laid:
    """Where the pockets go, in order of preference.

    Square to the joint with the longest screw, with a shorter one, then swung as little as serves;
    windows that hold the tolerance before any that do not.
    """
    narrow: _Laid | None = None
    square, *turns = _swings(limits.max_swing)
    trials = [(f, replace(site, screw=f.screw, shoulder=f.shoulder)) for f in fitting]
    for swings in ([square], turns):
        # What is plainly hopeless among many swings is left out in one go.
        width = 2 * limits.tolerance
        open_ = [
            set(promising_swings(t, swings, width, limits)) if len(swings) > 1 else set(swings)
            for _, t in trials
        ]
        for swing, (which, (fastening, trial)) in product(swings, enumerate(trials)):
            if swing not in open_[which]:
                continue
            found = _settled(meeting, trial, limits, meeting.count, swing)
            if found and is_wide(found, limits):
                return _Laid(fastening, swing, found, True)
            if found and narrow is None:
                narrow = _Laid(fastening, swing, found, True)
    if narrow is not None:
        return narrow
    first = Fastening(site.screw, site.shoulder)
    return _Laid(first, 0.0, _worst(meeting, site, limits), False)


def _swings(largest: float) -> list[float]:
    """Square, then swung to either side in steps that a guide can be set by, degrees."""
    steps = range(_SWING_STEP, int(largest) + 1, _SWING_STEP)
    return [0.0, *(float(side * b) for b in steps for side in (1, -1))]


def is_wide(found: Sequence[Window], limits: Limits) -> bool:
    """Whether every pocket keeps its limits with a pencil line that is off by the tolerance."""
    return all(w.high - w.low >= 2 * limits.tolerance - 1e-9 for w in found)


def _joint(meeting: Meeting, site: Site, swing: float, found: Sequence[Window]) -> Joint:
    number = len(found)
    bores = tuple(
        site.bore(
            f"{meeting.name} pocket {i + 1}" if number > 1 else f"{meeting.name} pocket",
            meeting.name,
            swing,
            window,
        )
        for i, window in enumerate(found)
    )
    if meeting.slide is not None:
        # Placed as if all were as long as the longest; each is made as long as it must be.
        bores = tuple(replace(bore, slot=meeting.slide.slot(bore.exit)) for bore in bores)
    return Joint(
        meeting.name,
        meeting.kind,
        meeting.bored.name,
        meeting.joint_face,
        meeting.mate.name,
        meeting.mate_face,
        bores,
        meeting.stated,
    )


def _settled(
    meeting: Meeting, site: Site, limits: Limits, count: int | None, swing: float = 0.0
) -> list[Window]:
    """Windows of all pockets, or none; fewer pockets where practice alone set the number."""
    length = site.reach[1]
    least = pitch(site, swing, limits)
    found = [
        part
        for window in windows(site, swing, limits)
        for part in _allowed(window, meeting.end, length - meeting.end, meeting.avoid)
    ]
    wishes = meeting.wishes(length, count, least + 2 * limits.tolerance)
    while wishes:
        settled = settle(found, wishes, least, limits.tolerance)
        if settled:
            return settled
        if count is not None or len(wishes) == 1:
            return []
        wishes = meeting.wishes(length, len(wishes) - 1, least + 2 * limits.tolerance)
    return []


def _allowed(
    window: Window, start: float, end: float, avoid: Iterable[tuple[float, float]]
) -> list[Window]:
    """What is left of a window between `start` and `end` and outside the stretches to avoid."""
    parts = [replace(window, low=max(window.low, start), high=min(window.high, end))]
    for low, high in avoid:
        clear = [w for w in parts if w.high <= low or w.low >= high]
        met = [w for w in parts if w.high > low and w.low < high]
        before = [replace(w, high=low, high_binds=_COVERED) for w in met if w.low < low]
        after = [replace(w, low=high, low_binds=_COVERED) for w in met if w.high > high]
        parts = [*clear, *before, *after]
    return sorted((w for w in parts if w.low <= w.high), key=lambda w: w.low)


def _worst(meeting: Meeting, site: Site, limits: Limits) -> list[Window]:
    """The wished places with empty windows, where there is no better answer."""
    length = site.reach[1]
    bad = least_bad(site, 0.0, limits)
    lack = min(bad.high - bad.low, -1e-6)
    wishes = meeting.wishes(length, meeting.count, pitch(site, 0.0, limits))
    if len(wishes) == 1:
        wishes = [bad.position + meeting.shift]
    held = [min(max(wish, 0.0), length) for wish in wishes]
    return [Window(site.datum, p, p, p + lack, bad.low_binds, bad.high_binds) for p in held]


def _narrow_place(shop: Shop, meeting: Meeting, joint: Joint, held: Held) -> Finding:
    changes = tuple(islice(_remedies(shop, meeting, joint, held), 3))
    says = [*(change.says for change in changes), "mark this one with a knife and a stop"]
    bore = min(joint.bores, key=lambda bore: bore.window.high - bore.window.low)
    low, high = shop.length(bore.window.low), shop.length(bore.window.high)
    return Finding(
        "narrow-window",
        "warns",
        f"the pocket may sit {low} to {high} from the {bore.window.datum}: narrower than a pencil "
        f"line off by {shop.length(shop.limits.tolerance)} either way",
        board=bore.board,
        joint=joint.name,
        bore=bore.name,
        measured=bore.window.high - bore.window.low,
        needed=2 * shop.limits.tolerance,
        remedy="; or ".join(says),
        point=meeting.bored.pose.point(bore.exit),
        changes=changes,
    )


def _no_place(shop: Shop, meeting: Meeting, joint: Joint, held: Held) -> Finding:
    bore = joint.bores[0]
    changes = tuple(islice(_remedies(shop, meeting, joint, held), 3))
    return Finding(
        "no-window",
        "fails",
        f"no place along the joint serves {len(joint.bores)} pockets ({bore.window.low_binds})"
        if len(joint.bores) > 1
        else f"no place along the joint serves the pocket ({bore.window.low_binds})",
        board=bore.board,
        joint=joint.name,
        bore=bore.name,
        measured=0.0,
        needed=2 * shop.limits.tolerance,
        remedy="; or ".join(change.says for change in changes),
        point=meeting.bored.pose.point(bore.exit),
        changes=changes,
    )


def _remedies(shop: Shop, meeting: Meeting, joint: Joint, held: Held) -> Iterator[Change]:
    """Changes that were tried and give every pocket a place, the easiest first."""
    limits = shop.limits
    fitting = meeting.fitting(shop)

    def tried(
        says: str, other: Meeting, site: Site, count: int | None, key: str, value: str
    ) -> Iterator[Change]:
        found = _settled(other, site, limits, count)
        if found and is_wide(found, limits):
            keys = (((*meeting.stated, key), value),) if meeting.stated and key else ()
            yield Change(says, keys, (_joint(other, site, 0.0, found),))

    count = len(joint.bores)
    for fewer in range(count - 1, 0, -1):
        if fitting:
            site = meeting.site(shop, fitting[0], held)
            says = f"{fewer} pocket{'s' if fewer > 1 else ''} instead of {count}"
            found = list(tried(says, meeting, site, fewer, "pockets", str(fewer)))
            yield from found
            if found:
                break
    for row, change in shop.smaller_drills():
        for fit in meeting.fitting(shop, row)[:1]:
            drill = shop.recipe.tools.other_drill(row)
            site = replace(meeting.site(shop, fit, held), drill=drill)
            for _ in tried("", meeting, site, meeting.count, "", ""):
                yield change
    face = meeting.bored.face(OPPOSITE[meeting.pocket_face])
    if face.seen != "show" and fitting:
        other = replace(meeting, pocket_face=face.side)
        site = other.site(shop, fitting[0], held)
        says = f"bore it from the {face.name}"
        yield from tried(says, other, site, meeting.count, "pockets_in", face.name)


def _across(board: Board, side: Side) -> float:
    """A board's size square to one of its faces, mm (the convex blank's, at right angles)."""
    plane = board.face(side).plane
    size = (board.length, board.width, board.thickness)
    return plane.offset + sum(max(0.0, -n) * s for n, s in zip(plane.normal, size, strict=True))


def start_of(site: Site) -> str:
    """Printed name of the bored board's face that the positions start nearest to."""
    start = site.reach[0]
    faces = [f for f in site.board.faces if f.side not in (site.joint_face, site.pocket_face)]
    along_line = [f for f in faces if dot(f.plane.normal, site.line) < -0.3] or faces
    return min(along_line, key=lambda f: abs(f.plane.gap(start))).name
