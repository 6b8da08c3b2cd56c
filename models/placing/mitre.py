"""A mitre's pockets: the smallest swing that hides them."""

from __future__ import annotations

from collections.abc import Sequence

from ..piece.board import Board
from ..piece.convex import Crowd
from ..piece.held import Held
from ..piece.project import Finding, Joint
from .joints import bored
from .layout import Layout, lay_out, swings_up_to
from .meetings import Meeting, asked, first_fastening
from .placement import Site
from .shop import Shop


def mitre(
    shop: Shop, meeting: Meeting, placed: Sequence[Joint], boards: Sequence[Board]
) -> tuple[Joint, list[Finding]]:
    """A mitre with its pockets at the smallest swing that hides them.

    Where more than one face may be bored, the first one that serves.
    """
    meeting = asked(shop, meeting)
    named = {board.name: board for board in boards}
    held = Held(tuple(b for j in placed for b in j.bores), named, crowd=Crowd(tuple(boards)))
    first: tuple[Joint, list[Finding]] | None = None
    for side in (meeting.pocket_face, *meeting.others):
        found = _from(shop, meeting.bored_from(side), held)
        if not found[1]:
            return found
        first = first or found
    assert first is not None
    return first


def _from(shop: Shop, meeting: Meeting, held: Held) -> tuple[Joint, list[Finding]]:
    fitting = shop.fastenings(meeting.thickness, meeting.mate.stock, meeting.mating_depth)
    count, limits = meeting.count or 1, shop.limits
    swings = swings_up_to(limits.max_swing)
    site = meeting.site(shop, first_fastening(shop, meeting, fitting), held)
    layout = lay_out(site, count, limits, swings)
    joint = bored(meeting, site, layout.swing, layout.windows)
    if fitting and layout.wide(limits):
        return joint, []
    return joint, [_lack(shop, meeting, site, layout, joint, bool(fitting))]


def _lack(
    shop: Shop, meeting: Meeting, site: Site, layout: Layout, joint: Joint, fits: bool
) -> Finding:
    window, bore = layout.windows[0], joint.bores[0]
    narrow = fits and layout.open
    if not fits:
        said = "no stocked screw fits the mitre"
    elif narrow:
        said = (
            f"the pocket may sit {shop.length(window.low)} to {shop.length(window.high)} from the "
            f"{site.datum}: narrower than a pencil line off by "
            f"{shop.length(shop.limits.tolerance)} either way"
        )
    else:
        said = f"no place along the mitre hides the pocket ({window.low_binds.says()})"
    return Finding(
        "narrow-window" if narrow else "no-window",
        "warns" if narrow else "fails",
        said,
        board=bore.board,
        joint=joint.name,
        bore=bore.name,
        measured=window.high - window.low if narrow else None,
        needed=2 * shop.limits.tolerance if narrow else None,
        point=meeting.bored.pose.point(bore.exit),
    )
