"""The joints of the trade: how many pockets, where along the joint, which screw.

Designs and free-form recipes state `Meeting`s (two placed boards whose faces meet, and how they are
bored); `join` turns them into joints with placed bores, one after the other, each keeping clear of
the bores and screws that the boards already hold.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise, product

from ..maths.clearance import Rods
from ..piece.board import Board
from ..piece.convex import Crowd
from ..piece.held import Held
from ..piece.project import Bore, Finding, Joint, Limits, Window, pockets_of
from ..wood.screws import Fastening, flush_exit, longest_shoulder
from .likeness import Likeness, likeness
from .meetings import HIDDEN_FIRST, Meeting, asked, first_fastening, has_line
from .placement import Site, empty, footprint, pitch, promising_swings, windows
from .shop import Shop
from .spacing import most_pockets, settle

_ORDERS = 4  # how often joints that find no place are put first
_CROWDED = 0.5  # of the wished distance
_SWING_STEP = 5  # degrees
_HEIGHTS = (3 / 8, 5 / 8)  # of the thickness, for exits where none serves at mid thickness


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
        boards: those of the piece that no meeting names: pockets keep clear of them.

    Returns:
        The joints in the order of the meetings, and a finding for each that has no place for its
        pockets.
    """
    meetings = [asked(shop, meeting) for meeting in meetings]
    named = {board.name: board for board in boards}
    named |= {board.name: board for m in meetings for board in (m.bored, m.mate)}
    known: dict[tuple[Bore, str], Rods] = {}
    crowd = Crowd(tuple(named.values()))

    def held(joints: Iterable[Joint]) -> Held:
        return Held(tuple(bore for joint in joints for bore in joint.bores), named, known, crowd)

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
            findings.append(_no_place(shop, meeting, joint))
        elif not is_wide([bore.window for bore in joint.bores], shop.limits):
            findings.append(_narrow_place(shop, meeting, joint))
    return joints, findings


@dataclass(frozen=True)
class _Way:
    """A joint bored from one face, with its exits at one height; `fitting`: screws that fit."""

    meeting: Meeting
    site: Site
    fitting: tuple[Fastening, ...]
    usual: bool


@dataclass(frozen=True)
class _Laid:
    """How the pockets of a joint are laid out."""

    fastening: Fastening
    swing: float
    windows: Sequence[Window]


def _ways(shop: Shop, meeting: Meeting, held: Held) -> Iterator[_Way]:
    """The ways to bore a joint: from faces less in sight first, at mid thickness first.

    Raises:
        ValueError: the faces share nothing on the only line there is.
    """
    faces = [meeting.bored.face(side) for side in (meeting.pocket_face, *meeting.others)]
    for face in sorted(faces, key=lambda f: HIDDEN_FIRST[f.seen]):
        one = meeting.bored_from(face.side)
        if len(faces) > 1 and not has_line(shop, one):
            continue
        fitting = one.fitting(shop)
        site = one.site(shop, first_fastening(shop, one, fitting), held)
        yield _Way(one, site, tuple(fitting), True)
        if not fitting or one.exit_depth is not None:
            continue
        for depth, screws in _heights(shop, one, fitting):
            moved = replace(one, exit_depth=depth)
            if screws and has_line(shop, moved):
                yield _Way(moved, replace(site, exit_depth=depth), tuple(screws), False)


def _heights(
    shop: Shop, meeting: Meeting, fitting: Sequence[Fastening]
) -> Iterator[tuple[float, list[Fastening]]]:
    """Other depths of the exits below the pocket face (mm), each with the screws that fit it."""
    thickness = meeting.thickness
    # Where the mate ends flush with the face opposite: as much nearer as the tip needs.
    flush = flush_exit(shop.drill, fitting[0], thickness, shop.limits.tip_cover)
    if 0 < flush < fitting[0].exit_depth:
        longest = longest_shoulder(shop.drill, 2 * flush)
        fit = [replace(f, exit_depth=flush) for f in fitting if f.shoulder <= longest]
        yield flush, list(dict.fromkeys(fit))
    for share in _HEIGHTS:
        depth = share * thickness
        mate = meeting.mate.stock
        yield depth, shop.fastenings(thickness, mate, meeting.mating_depth, exit_depth=depth)


def _place(shop: Shop, meeting: Meeting, held: Held) -> tuple[Joint, bool]:
    """The joint, and whether all its pockets have a window.

    In order of preference: from a face less in sight; square to the joint, with the longest screw,
    then a shorter one, then with the exits at another height; swung as little as serves. Windows
    that hold the tolerance come before any that do not.
    """
    limits = shop.limits
    narrow: tuple[_Way, _Laid] | None = None
    first: _Way | None = None
    for _, some in groupby(
        _ways(shop, meeting, held),
        key=lambda way: way.meeting.bored.face(way.meeting.pocket_face).seen,
    ):
        square, *turns = _swings(limits.max_swing)
        ways: list[_Way] = []
        for way in some:
            first = first or way
            ways.append(way)
            laid = _laid_out(shop, way, [square])
            if laid and is_wide(laid.windows, limits):
                return _joint(way, laid), True
            narrow = narrow or (laid and (way, laid)) or None
        for way in ways if turns else ():
            laid = _laid_out(shop, way, turns) if way.usual else None
            if laid and is_wide(laid.windows, limits):
                return _joint(way, laid), True
            narrow = narrow or (laid and (way, laid)) or None
    if narrow is not None:
        return _joint(*narrow), True
    if first is None:
        raise ValueError(f"{meeting.name}: its faces share nothing where the screws would leave")
    plain = Fastening(first.site.screw, first.site.shoulder, first.site.depth)
    return _joint(first, _Laid(plain, 0.0, _worst(first.meeting, first.site, limits))), False


def _laid_out(shop: Shop, way: _Way, swings: Sequence[float]) -> _Laid | None:
    """Where the pockets go at the first swing that serves, or else in windows that are narrow.

    Like joints are laid out once.
    """
    like = likeness(way.site, shop.limits)
    m = way.meeting
    asked = (m.kind, m.count, m.end, m.shift, m.pairs, way.fitting, tuple(swings))
    key: Hashable = (like.key, asked)
    if key not in shop.layouts:
        shop.layouts[key] = (like, _tried(way, swings, shop.limits))
    known: Likeness = shop.layouts[key][0]
    laid: _Laid | None = shop.layouts[key][1]
    if laid is None:
        return None
    return replace(laid, windows=known.renamed(laid.windows, way.site.datum, like.names))


def _tried(way: _Way, swings: Sequence[float], limits: Limits) -> _Laid | None:
    narrow: _Laid | None = None
    trials = [(f, fastened(way.site, f)) for f in way.fitting]
    # What is plainly hopeless among many swings is left out in one go.
    width = 2 * limits.tolerance
    open_ = [
        set(promising_swings(t, swings, width, limits)) if len(swings) > 1 else set(swings)
        for _, t in trials
    ]
    for swing, (which, (fastening, trial)) in product(swings, enumerate(trials)):
        if swing not in open_[which]:
            continue
        found = _settled(way.meeting, trial, limits, way.meeting.count, swing)
        if found and is_wide(found, limits):
            return _Laid(fastening, swing, found)
        if found and narrow is None:
            narrow = _Laid(fastening, swing, found)
    return narrow


def _swings(largest: float) -> list[float]:
    """Square, then swung to either side in steps that a guide can be set by, degrees."""
    steps = range(_SWING_STEP, int(largest) + 1, _SWING_STEP)
    return [0.0, *(float(side * b) for b in steps for side in (1, -1))]


def is_wide(found: Sequence[Window], limits: Limits) -> bool:
    """Whether every pocket keeps its limits with a pencil line that is off by the tolerance."""
    return all(w.high - w.low >= 2 * limits.tolerance - 1e-9 for w in found)


def _joint(way: _Way, laid: _Laid) -> Joint:
    return bored(way.meeting, fastened(way.site, laid.fastening), laid.swing, laid.windows)


def fastened(site: Site, fit: Fastening) -> Site:
    """The joint with a screw, its stop and the depth of its exits."""
    return replace(site, screw=fit.screw, shoulder=fit.shoulder, exit_depth=fit.exit_depth)


def bored(meeting: Meeting, site: Site, swing: float, found: Sequence[Window]) -> Joint:
    """The joint of a meeting with a bore in each of the windows."""
    pockets = pockets_of(meeting.name, len(found))
    bores = tuple(site.bore(p, swing, w) for p, w in zip(pockets, found, strict=True))
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
        for part in _allowed(window, meeting.end, length - meeting.end)
    ]
    wishes = meeting.wishes(length, count, least + 2 * limits.tolerance)
    most = most_pockets(length, footprint(site, swing))
    if count is None and 1 <= most < len(wishes):
        wishes = meeting.wishes(length, most, least + 2 * limits.tolerance)
    while wishes:
        # Where practice sets the number, no two crowd into what should be the places of one.
        step = min((b - a for a, b in pairwise(wishes)), default=0.0)
        apart = 0.0 if count else _CROWDED * step
        settled = settle(found, wishes, least, limits.tolerance, apart)
        if settled:
            return settled
        if count is not None or len(wishes) == 1:
            return []
        wishes = meeting.wishes(length, len(wishes) - 1, least + 2 * limits.tolerance)
    return []


def _allowed(window: Window, start: float, end: float) -> Iterator[Window]:
    """What is left of a window between `start` and `end`."""
    part = replace(window, low=max(window.low, start), high=min(window.high, end))
    if part.low <= part.high:
        yield part


def _worst(meeting: Meeting, site: Site, limits: Limits) -> list[Window]:
    """The wished places with empty windows, where there is no better answer."""
    length = site.reach[1]
    wishes = meeting.wishes(length, meeting.count, pitch(site, 0.0, limits))
    if min(wishes) < 0 or max(wishes) > length:  # more than the joint has room for
        wishes = [length * (i + 0.5) / len(wishes) for i in range(len(wishes))]
    return [empty(site, 0.0, wish, limits) for wish in wishes]


def _narrow_place(shop: Shop, meeting: Meeting, joint: Joint) -> Finding:
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
        point=meeting.bored.pose.point(bore.exit),
    )


def _no_place(shop: Shop, meeting: Meeting, joint: Joint) -> Finding:
    bore, why = joint.bores[0], joint.bores[0].window.low_binds.says()
    return Finding(
        "no-window",
        "fails",
        f"no place along the joint serves {len(joint.bores)} pockets ({why})"
        if len(joint.bores) > 1
        else f"no place along the joint serves the pocket ({why})",
        board=bore.board,
        joint=joint.name,
        bore=bore.name,
        point=meeting.bored.pose.point(bore.exit),
    )
