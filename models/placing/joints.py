"""The joints of the trade: how many pockets, where along the joint, which screw.

Designs and free-form recipes state `Meeting`s (two placed boards whose faces meet, and how they are
bored); `join` turns them into joints with placed bores, one after the other, each keeping clear of
the bores and screws that the boards already hold.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import cycle

from ..maths.clearance import Rods
from ..piece.board import Board
from ..piece.convex import Crowd
from ..piece.held import Held
from ..piece.project import Bore, Finding, Joint, Limits, pockets_of
from ..wood.screws import Fastening
from .layout import Between, Layout, alike, lay_out, shut, swings_up_to
from .likeness import likeness, open_ways
from .meetings import HIDDEN_FIRST, Meeting, asked, has_line
from .shop import Shop
from .site import Site, crossing_pitch, fastened, pitch

NO_PLACE = ("no-screw", "no-window")
"""Rules by which placement speaks of a joint without a place."""
_ORDERS = 4  # how often joints that find no place are put first
_HEIGHTS = (3 / 8, 5 / 8)  # of the thickness, for exits where none serves at mid thickness


class NoPlace(Exception):
    """A joint that is needed finds no place for its pockets."""


@dataclass(frozen=True)
class Placed:
    """A joint with its bores, and how it came out.

    Attributes:
        joint: with all its bores, whether they have a place or not.
        layout: of the pockets.
        fits: whether any stocked screw fits.
        turned: the largest swing that was tried, degrees.
        nowhere: whether not even one pocket has a place, with no other bores beside it.
    """

    joint: Joint
    layout: Layout
    fits: bool
    turned: float
    nowhere: bool = False

    def wide(self, limits: Limits) -> bool:
        """Whether a screw fits, and every pocket's window holds the tolerance."""
        return self.fits and self.layout.wide(limits)


def join(
    shop: Shop, meetings: Sequence[Meeting], boards: Sequence[Board] = ()
) -> tuple[list[Joint], list[Finding]]:
    """The joints of meetings, and a finding for each that has no place for its pockets.

    Arguments and errors as of `place`.
    """
    return told(shop, place(shop, meetings, boards=boards))


def told(shop: Shop, placed: Iterable[Placed]) -> tuple[list[Joint], list[Finding]]:
    """The joints, and what to say of them."""
    found = [(one.joint, lack(shop, one)) for one in placed]
    return [joint for joint, _ in found], [finding for _, finding in found if finding]


def place(
    shop: Shop,
    meetings: Sequence[Meeting],
    placed: Sequence[Joint] = (),
    boards: Sequence[Board] = (),
    last: bool = True,
) -> list[Placed]:
    """Place the pockets of meetings, in the order given; a joint that finds no place goes first.

    Args:
        shop: the piece's view of the recipe.
        meetings: what meets; boards are named in the meetings' own, placed state.
        placed: joints that the boards hold already.
        boards: those of the piece that no meeting names: pockets keep clear of them.
        last: whether the design knows no other way where these find no place.

    Returns:
        The joints in the order of the meetings.

    Raises:
        NoPlace: one that is needed has none even alone, or no screw that fits.
    """
    meetings = [asked(shop, meeting) for meeting in meetings]
    named = {board.name: board for board in boards}
    named |= {board.name: board for m in meetings for board in (m.bored, m.mate)}
    known: dict[tuple[Bore, str], Rods] = {}
    crowd = Crowd(tuple(named.values()))

    def held(joints: Iterable[Joint]) -> Held:
        return Held(tuple(bore for joint in joints for bore in joint.bores), named, known, crowd)

    for meeting in meetings:
        if meeting.name in shop.needed and not shop.moved(meeting.name):
            _, layout, fits = _found(shop, _ways(shop, meeting, held(placed)))
            if not fits or (last and layout is None):
                raise NoPlace(meeting.name)
    # Mitres have the least choice.
    order = sorted(range(len(meetings)), key=lambda i: meetings[i].kind != "mitre")
    best: tuple[int, dict[int, Placed]] | None = None
    for _ in range(_ORDERS):
        done: dict[int, Placed] = {}
        for index in order:
            shop.go_on()
            # What found no place is in nobody's way yet.
            found = (one.joint for one in done.values() if one.layout.open)
            before = held([*placed, *found])
            done[index] = _place(shop, meetings[index], before)
        failed = [index for index in order if not done[index].layout.open]
        if best is None or len(failed) < best[0]:
            best = (len(failed), done)
        # Another order helps only a joint that would find its place were it the first.
        near = (done[i].layout.site for i in failed)
        beside = (i for i, site in zip(failed, near, strict=True) if site.beside or site.ahead)
        alone = ((i, _ways(shop, meetings[i], held(placed))) for i in beside)
        blocked = [i for i, ways in alone if _found(shop, ways)[1]]
        if not blocked or order[: len(blocked)] == blocked:
            break
        order = blocked + [i for i in order if i not in blocked]
    assert best is not None
    return [best[1][i] for i in range(len(meetings))]


@dataclass(frozen=True)
class _Way:
    """A joint bored from one face.

    Attributes:
        meeting: bored from there.
        site: with the preferred screw; where none fits with the shortest.
        fits: the screws that fit, in order of preference.
    """

    meeting: Meeting
    site: Site
    fits: tuple[Fastening, ...]

    def sites(self, shop: Shop) -> Sequence[Site]:
        """With each of the screws that fit and leave the board where the faces meet."""
        key = ("sites", likeness(self.site, shop.limits).key, self.fits)
        if key not in shop.known:
            sites = (fastened(self.site, fit) for fit in self.fits)
            shop.known[key] = [site for site in sites if site.meets]
        found: Sequence[Site] = shop.known[key]
        return found


def _ways(shop: Shop, meeting: Meeting, held: Held) -> list[_Way]:
    """The ways to bore a joint, from faces less in sight first.

    Raises:
        ValueError: the faces share nothing where the screws would leave.
    """
    faces = [meeting.bored.face(side) for side in (meeting.pocket_face, *meeting.others)]
    found = []
    for face in sorted(faces, key=lambda f: HIDDEN_FIRST[f.seen]):
        one = meeting.bored_from(face.side)
        if len(faces) > 1 and not has_line(shop, one):
            continue
        fits = tuple(dict.fromkeys(_fits(shop, one)))
        site = one.site(shop, fits[0] if fits else one.fastening(shop), held)
        found.append(_Way(one, site, fits))
    if not found:
        raise ValueError(f"{meeting.name}: its faces share nothing where the screws would leave")
    return found


def _fits(shop: Shop, meeting: Meeting) -> Iterator[Fastening]:
    """The screws that fit, then with exits at other depths, in order of preference.

    In stock so thin that there is no choice of screws the stop may be set finer than usual. At a
    mitre the longest alone: a shorter one pulls less, and a swing costs less than that.
    """
    mitre = meeting.kind == "mitre"
    for view in shop.rulers():
        fitting = meeting.fitting(view)
        screws = [fit.screw for fit in fitting]
        yield from (fit for fit in fitting if not mitre or fit.screw == screws[0])
        if not mitre and not meeting.flush:
            yield from _heights(view, meeting, fitting)
        if len(set(screws)) > 1 or (mitre and screws):
            return


def _heights(shop: Shop, meeting: Meeting, fitting: Sequence[Fastening]) -> Iterator[Fastening]:
    """The screws that fit with their exits at other depths below the pocket face."""
    thickness = meeting.thickness
    # Where the mate ends flush with the face opposite: as much nearer as the tip needs.
    yield from (fit for fit in shop.flush(fitting, thickness) if fit not in fitting)
    for share in _HEIGHTS if fitting else ():
        depth, mate = share * thickness, meeting.mate.stock
        yield from shop.fastenings(thickness, mate, meeting.mating_depth, exit_depth=depth)


def _place(shop: Shop, meeting: Meeting, held: Held) -> Placed:
    """The joint, bored in the way that is preferred of those that serve; like joints alike.

    Raises:
        ValueError: the faces share nothing where the screws would leave.
    """
    ways = _ways(shop, meeting, held)
    chosen, found, fits = _found(shop, ways)
    way, limits, nowhere = ways[chosen], shop.limits, False
    m, swings = way.meeting, _swings(way.meeting, limits)
    if found:
        at = found.site
        site = fastened(way.site, Fastening(at.screw, at.shoulder, at.depth))
        layout = alike(found, site, limits)
    else:
        layout = shut(shop.bench, way.site, swings[0], m.spacing, _between(m))
        if fits and len(swings) == 1 and not any((way.site.beside, way.site.ahead)):
            looks = (open_ways(shop.known, one.sites(shop), swings, limits) for one in ways)
            nowhere = not any(map(any, looks))
    return Placed(bored(m, layout), layout, fits, max(swings), nowhere)


def _found(shop: Shop, ways: Sequence[_Way]) -> tuple[int, Layout | None, bool]:
    """As `_laid`; like joints are asked once."""
    like = tuple((likeness(way.site, shop.limits).key, way.fits) for way in ways)
    m = ways[0].meeting
    key = (like, m.spacing, m.end, m.swings, m.crossed)
    if key not in shop.known:
        shop.known[key] = _laid(shop, ways)
    found: tuple[int, Layout | None, bool] = shop.known[key]
    return found


def _laid(shop: Shop, ways: Sequence[_Way]) -> tuple[int, Layout | None, bool]:
    """Which way is preferred of those that serve, its layout, and whether any screw fits.

    In order of preference: from a face less in sight; with the longest screw, then a shorter one,
    then with the exits at another height; a mitre swung as little as serves. Windows that hold
    the tolerance come before any that do not.
    """
    narrow: tuple[int, Layout, bool] | None = None
    fit: int | None = None
    for number, way in enumerate(ways):
        m, swings, sites = way.meeting, _swings(way.meeting, shop.limits), way.sites(shop)
        layout = lay_out(shop.bench, sites, swings, m.spacing, between=_between(m), end=m.end)
        if layout and layout.wide(shop.limits):
            return number, layout, True
        narrow = narrow or (layout and (number, layout, True)) or None
        fit = number if fit is None and sites else fit
    if narrow is not None:
        return narrow
    return fit or 0, None, fit is not None


def _between(meeting: Meeting) -> Between:
    return crossing_pitch if meeting.crossed else pitch


def _swings(meeting: Meeting, limits: Limits) -> Sequence[float]:
    """The swings to try, degrees; a mitre's toward the length of its board."""
    mitre = meeting.kind == "mitre"
    return meeting.swings or (swings_up_to(limits.max_swing) if mitre else (0.0,))


def bored(meeting: Meeting, layout: Layout) -> Joint:
    """The joint of a meeting with a bore in each window of its layout."""
    pockets = zip(pockets_of(meeting.name, len(layout.windows)), layout.windows, strict=True)
    sites = [layout.site, layout.site.turned()] if meeting.crossed else [layout.site]
    bores = tuple(
        site.bore(pocket, layout.swing, window)
        for site, (pocket, window) in zip(cycle(sites), pockets, strict=False)
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
        more = placed.turned > layout.swing
        tried = f"{swung} or swung by up to {placed.turned:g} degrees" if more else swung
        message = (
            f"{tried}, no place along the mitre hides the pocket; {'square, ' * more}even the best "
            f"one has {shop.small(-room)} too little wood ({window.low_binds.says()})"
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
