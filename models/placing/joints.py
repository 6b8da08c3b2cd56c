"""The joints of the trade: how many pockets, where along the joint, which screw.

Designs and free-form recipes state `Meeting`s (two placed boards whose faces meet, and how they are
bored); `join` turns them into joints with placed bores, one after the other, each keeping clear of
the bores and screws that the boards already hold.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from ..maths.clearance import Rods
from ..piece.board import Board
from ..piece.convex import Crowd
from ..piece.held import Held
from ..piece.project import Bore, Finding, Joint, Limits, pockets_of
from ..wood.screws import Fastening
from .layout import Layout, lay_out, shut, swings_up_to
from .meetings import HIDDEN_FIRST, Meeting, asked, has_line
from .shop import Shop
from .site import Site

_ORDERS = 4  # how often joints that find no place are put first
_SWING_STEP = 5  # degrees
_HEIGHTS = (3 / 8, 5 / 8)  # of the thickness, for exits where none serves at mid thickness


@dataclass(frozen=True)
class Placed:
    """A joint with its bores, and how it came out.

    Attributes:
        joint: with all its bores, whether they have a place or not.
        layout: of the pockets.
        fits: whether any stocked screw fits.
    """

    joint: Joint
    layout: Layout
    fits: bool = True

    def wide(self, limits: Limits) -> bool:
        """Whether a screw fits, and every pocket's window holds the tolerance."""
        return self.fits and self.layout.wide(limits)


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

    # Mitres have the least choice.
    order = sorted(range(len(meetings)), key=lambda i: meetings[i].kind != "mitre")
    best: tuple[int, dict[int, Placed]] | None = None
    for _ in range(_ORDERS):
        done: dict[int, Placed] = {}
        for index in order:
            before = held([*placed, *(one.joint for one in done.values())])
            done[index] = _place(shop, meetings[index], before)
        failed = [index for index in order if not done[index].layout.open]
        if best is None or len(failed) < best[0]:
            best = (len(failed), done)
        # Another order helps only a joint that would find its place were it the first.
        blocked = [i for i in failed if _place(shop, meetings[i], held(placed)).layout.open]
        if not blocked or order[: len(blocked)] == blocked:
            break
        order = blocked + [i for i in order if i not in blocked]
    assert best is not None
    found = [best[1][i] for i in range(len(meetings))]
    lacks = (lack(shop, one) for one in found)
    return [one.joint for one in found], [finding for finding in lacks if finding]


@dataclass(frozen=True)
class _Way:
    """A joint bored from one face, with its exits at one height; `fitting`: screws that fit."""

    meeting: Meeting
    site: Site
    fitting: tuple[Fastening, ...]
    usual: bool = True

    def laid(self, shop: Shop, swings: Sequence[float]) -> Layout | None:
        """Its pockets at the first of the swings that serves."""
        sites = [fastened(self.site, fit) for fit in self.fitting]
        m = self.meeting
        return (
            lay_out(shop.bench, sites, swings, m.spacing, end=m.end) if sites and swings else None
        )


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
        known: list[tuple[Fastening, ...]] = []
        for finer in shop.rulers():
            for way in _ways_by(finer, one, held):
                if way.fitting not in known:
                    known.append(way.fitting)
                    yield replace(way, usual=way.usual and finer.step == shop.step)


def _ways_by(shop: Shop, meeting: Meeting, held: Held) -> Iterator[_Way]:
    """The ways to bore a joint from one face, with the stop on the steps of a ruler."""
    fitting = meeting.fitting(shop)
    site = meeting.site(shop, meeting.fastening(shop), held)
    if meeting.kind == "mitre":
        # A shorter screw pulls less, and a swing costs less than that.
        longest = fitting[0].screw if fitting else None
        yield _Way(meeting, site, tuple(fit for fit in fitting if fit.screw == longest))
        return
    yield _Way(meeting, site, tuple(fitting))
    for screws in _heights(shop, meeting, fitting) if fitting and not meeting.flush else ():
        moved = fastened(site, screws[0])
        if _meets(moved):
            yield _Way(meeting, moved, screws, usual=False)


def _meets(site: Site) -> bool:
    """Whether the faces share anything where the screws leave."""
    try:
        return bool(site.reach[1] > 0)
    except ValueError:
        return False


def _heights(
    shop: Shop, meeting: Meeting, fitting: Sequence[Fastening]
) -> Iterator[tuple[Fastening, ...]]:
    """The screws that fit with their exits at other depths below the pocket face."""
    thickness = meeting.thickness
    # Where the mate ends flush with the face opposite: as much nearer as the tip needs.
    flush = tuple(shop.flush(fitting, thickness))
    if flush and flush != tuple(fitting):
        yield flush
    for share in _HEIGHTS:
        depth, mate = share * thickness, meeting.mate.stock
        screws = shop.fastenings(thickness, mate, meeting.mating_depth, exit_depth=depth)
        if screws:
            yield tuple(screws)


def _place(shop: Shop, meeting: Meeting, held: Held) -> Placed:
    """The joint, bored in the way that is preferred of those that serve.

    In order of preference: from a face less in sight; square to the joint, with the longest screw,
    then a shorter one, then with the exits at another height; swung as little as serves. Windows
    that hold the tolerance come before any that do not.
    """
    narrow: tuple[_Way, Layout] | None = None
    first: _Way | None = None
    for way, swings in _tries(shop, meeting, held):
        if first is None or (way.fitting and not first.fitting):
            first = way
        layout = way.laid(shop, swings)
        if layout and layout.wide(shop.limits):
            return Placed(bored(way.meeting, layout), layout)
        narrow = narrow or (layout and (way, layout)) or None
    if narrow is not None:
        return Placed(bored(narrow[0].meeting, narrow[1]), narrow[1])
    if first is None:
        raise ValueError(f"{meeting.name}: its faces share nothing where the screws would leave")
    straight, _ = _swings(meeting, shop.limits.max_swing)
    layout = shut(shop.bench, first.site, straight, first.meeting.spacing)
    return Placed(bored(first.meeting, layout), layout, bool(first.fitting))


def _tries(shop: Shop, meeting: Meeting, held: Held) -> Iterator[tuple[_Way, list[float]]]:
    """The ways with the swings to try; of faces alike in sight, all as straight as can be first."""
    straight, turns = _swings(meeting, shop.limits.max_swing)
    for _, some in groupby(
        _ways(shop, meeting, held),
        key=lambda way: way.meeting.bored.face(way.meeting.pocket_face).seen,
    ):
        ways = []
        for way in some:
            ways.append(way)
            yield way, straight
        for way in ways if turns else ():
            if way.usual:
                yield way, turns


def _swings(meeting: Meeting, largest: float) -> tuple[list[float], list[float]]:
    """The swings to try first, and those to try when nothing serves at these, degrees.

    A mitre is swung toward the length of its board; any other joint rather not at all, else to
    either side.
    """
    if meeting.kind == "mitre":
        return swings_up_to(largest), []
    steps = range(_SWING_STEP, int(largest) + 1, _SWING_STEP)
    return [0.0], [float(side * b) for b in steps for side in (1, -1)]


def fastened(site: Site, fit: Fastening) -> Site:
    """The joint with a screw, its stop and the depth of its exits."""
    return replace(site, screw=fit.screw, shoulder=fit.shoulder, exit_depth=fit.exit_depth)


def bored(meeting: Meeting, layout: Layout) -> Joint:
    """The joint of a meeting with a bore in each window of its layout."""
    pockets = zip(pockets_of(meeting.name, len(layout.windows)), layout.windows, strict=True)
    bores = tuple(layout.site.bore(p, layout.swing, w) for p, w in pockets)
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


def lack(shop: Shop, placed: Placed) -> Finding | None:
    """What to say of a joint whose pockets lack a screw, a place, or the room of a pencil line."""
    layout, joint, site = placed.layout, placed.joint, placed.layout.site
    if placed.wide(shop.limits):
        return None
    window, count, said = layout.narrowest, len(joint.bores), shop.length
    bore = joint.bores[layout.windows.index(window)]
    line = "mitre" if joint.kind == "mitre" else "joint"
    swung = f"swung {layout.swing:g} degrees" if layout.swing else f"square to the {line}"
    room = window.high - window.low
    rule = "no-screw" if not placed.fits else "narrow-window" if layout.open else "no-window"
    if not placed.fits:
        thick, deep = site.board.across(site.pocket_face), site.mate.across(site.mate_face)
        into = f" into {said(deep)} of the {site.mate.role}" if deep < thick else ""
        message = (
            f"no stocked screw fits from {said(thick)} stock{into} with "
            f"{said(shop.limits.tip_cover)} of wood past its tip"
        )
    elif layout.open:
        message = (
            f"{swung}, the pocket may sit {said(window.low)} to {said(window.high)} from the "
            f"{window.datum}: narrower than a pencil line off by {said(shop.limits.tolerance)} "
            "either way"
        )
    elif joint.kind == "mitre":
        message = (
            f"{swung}, no place along the mitre hides the pocket; even the best one has "
            f"{shop.small(-room)} too little wood ({window.low_binds.says()})"
        )
    else:
        pockets = f"{count} pockets" if count > 1 else "the pocket"
        message = f"no place along the joint serves {pockets} ({window.low_binds.says()})"
    return Finding(
        rule,
        "warns" if rule == "narrow-window" else "fails",
        message,
        board=bore.board,
        joint=joint.name,
        bore=bore.name,
        measured=room if rule == "narrow-window" else None,
        needed=2 * shop.limits.tolerance if rule == "narrow-window" else None,
        point=site.board.pose.point(bore.exit),
    )
