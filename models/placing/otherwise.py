"""What a recipe bores otherwise than its design would: joint by joint, or pocket by pocket.

The design has placed every pocket; here a pocket takes what is said of it, and goes to the place
nearest to its own that keeps every limit. A place that the recipe states is taken as it stands:
the rules speak for its walls. How many pockets a joint has, and from which face of its board all of
them are bored, is looked up by placement: see `joints.asked`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace

from ..maths.geometry import along, dot
from ..piece.project import Bore, Joint, Project, Window
from ..recipe.stated import EVERY_JOINT, Otherwise
from ..wood.tables import drills
from ..words.lengths import quoted
from ..words.names import nearest
from .layout import Near, lay_out, shut
from .likeness import nearby, open_windows
from .meetings import ANY_FACE, pocket_face, pocket_faces
from .shop import Piece, Shop
from .site import Site
from .sites import (
    drill_of,
    from_face,
    gauge_with,
    place_on,
    site_of,
    sites_across,
    with_drill,
)

_MOVING = ("position", "swing", "screw", "wood_under_screw", "drill", "slot")


def bored_otherwise(shop: Shop, said: Mapping[str, Otherwise], piece: Piece) -> Piece:
    """The piece with what its recipe bores otherwise; every joint gets its key in the recipe.

    Args:
        shop: the piece's.
        said: what the piece's recipe has, by joint or pocket.
        piece: as its design made it.

    Raises:
        RecipeError: there is no such joint or pocket, or it cannot be bored so.
    """
    joints = tuple(replace(j, key=shop.at(*shop.wished_at(j.name))) for j in piece.joints)
    _check_names(shop, said, joints)
    project = Project(shop.recipe.name, shop.recipe.unit, piece.boards, joints, (), shop.limits)
    touched: set[str] = set()
    for joint in joints if said else ():
        for bore in joint.bores:
            asked = shop.wish(joint.name, bore.name)
            face = asked.pockets_in or ""
            turned = "/" in face or shop.wish_for(bore.name).pockets_in is not None
            new = _bored(shop, project, bore, asked, face if turned else "")
            if new != bore:
                project = _rebored(project, new)
            if new.window != bore.window:
                touched.add(joint.name)
    # What placement said of these joints is not true any more; the rules say what is.
    kept = tuple(f for f in piece.findings if f.joint not in touched)
    return replace(piece, joints=project.joints, findings=kept)


def _rebored(project: Project, new: Bore) -> Project:
    """The project with a bore in place of the one of its name."""
    joints = (
        replace(j, bores=tuple(new if b.name == new.name else b for b in j.bores))
        if j.name == new.joint
        else j
        for j in project.joints
    )
    return replace(project, joints=tuple(joints))


def _check_names(shop: Shop, said: Mapping[str, Otherwise], joints: Iterable[Joint]) -> None:
    """Refuse a name that is no joint or pocket, and a key that says nothing there."""
    screwed = [j for j in joints if j.bores]
    names = [str(shop.wished_at(j.name)[1]) for j in screwed]
    pockets = [str(shop.wished_at(b.name)[1]) for j in screwed for b in j.bores]
    for name, wish in said.items():
        at = ("changes", name)
        if name not in {EVERY_JOINT, *names, *pockets}:
            raise shop.error(
                f"no joint with screws and no pocket is called {quoted(name)}"
                f"{nearest(name, [*names, *pockets])} (joints: {', '.join(names) or 'none'}; or a "
                f"single pocket of one; or {EVERY_JOINT})",
                *at,
            )
        if name in pockets and wish.pockets is not None:
            raise shop.error(
                f"{quoted(name)} is a single pocket: say `pockets` of its joint", *at, "pockets"
            )
        if name not in pockets and wish.position is not None:
            raise shop.error(
                "a position is that of a single pocket: name the pocket", *at, "position"
            )


def _bored(shop: Shop, project: Project, bore: Bore, asked: Otherwise, face: str) -> Bore:
    """The bore as asked; `face`: the one it is turned to, or ""."""
    if face or any(getattr(asked, key) is not None for key in _MOVING):
        bore = _moved(shop, project, bore, asked, face)
    if asked.pilot is None:
        return bore
    return replace(bore, pilot_into_mate=bore.engagement if asked.pilot == "screw" else asked.pilot)


def _moved(shop: Shop, project: Project, bore: Bore, asked: Otherwise, face: str) -> Bore:
    old = site_of(project, bore)
    if old is None:
        raise shop.error("it has no line along which it could move", *_at(shop, bore))
    site = _turned(shop, project, bore, old, face) if face else old
    site = _set(shop, site, bore, asked)
    swing = 0.0 if face else bore.swing
    swing = swing if asked.swing is None else asked.swing
    try:
        window = _nearest(shop, site, swing, place_on(site, old, bore))
    except ValueError:
        raise shop.error(
            "the boards do not touch where that screw would leave", *_at(shop, bore, "pockets_in")
        ) from None
    if asked.position is not None:
        length = site.reach[1]
        if asked.position > length:
            raise shop.error(
                f"the joint is {shop.length(length)} long", *_at(shop, bore, "position")
            )
        window = _stated(shop, site, swing, asked.position)
    new = site.bore(bore.pocket, swing, window)
    if asked.slot and not _holds_slot(site, new):
        raise shop.error(
            f"slot: {shop.length(asked.slot)} long it runs out of the "
            f"{site.board.face(site.joint_face).name}",
            *_at(shop, bore, "slot"),
        )
    return replace(new, pilot_into_mate=bore.pilot_into_mate)


def _holds_slot(site: Site, bore: Bore) -> bool:
    """Whether both ends of a slot lie within the joint face."""
    ends = [along(bore.exit, bore.slot_along, half) for half in (bore.slot / 2, -bore.slot / 2)]
    fences = [face.plane for face in site.board.faces if face.side != bore.joint_face]
    return all(plane.gap(end) >= bore.pilot_radius for plane in fences for end in ends)


def _set(shop: Shop, site: Site, bore: Bore, asked: Otherwise) -> Site:
    """The joint with the drill, the screw, the stop and the slot that are asked for."""
    if asked.drill is not None:
        site = _drilled(shop, site, asked.drill)
    if asked.screw is not None:
        screw = replace(site.screw, length=asked.screw)
        site = replace(site, screw=screw.titled(shop.recipe.unit))
    if asked.wood_under_screw is not None:
        site = replace(site, shoulder=asked.wood_under_screw)
    if asked.slot is not None:
        across = site.board.pose.local_direction(site.mate.pose.y)
        if abs(dot(across, site.board.face(site.joint_face).plane.normal)) > 1e-6:
            raise shop.error(
                f"across the grain of {site.mate.role} lies across the joint: no slot helps there",
                *_at(shop, bore, "slot"),
            )
        site = replace(site, slot=asked.slot, slot_along=across)
    slope = math.radians(site.drill.slope)
    most = (site.depth + site.drill.counterbore_radius * math.cos(slope)) / math.sin(slope)
    if site.shoulder >= most:
        raise shop.error(
            f"wood_under_screw: with {shop.length(site.shoulder)} left to the joint the drill's "
            f"wide part never enters the wood; less than {shop.length(most)} does",
            *_at(shop, bore, "wood_under_screw"),
        )
    return site


def _turned(shop: Shop, project: Project, bore: Bore, site: Site, word: str) -> Site:
    """The joint bored from another face of its board, or from its other board (`board / face`).

    Raises:
        ValueError: its faces share nothing on that line.
    """
    at = _at(shop, bore, "pockets_in")
    board, mate = project.board_named[bore.board], project.board_named[bore.mate]
    role, slash, name = (part.strip() for part in word.rpartition("/"))
    if word == ANY_FACE:
        sites = [from_face(site, side) for side in pocket_faces(board, bore.joint_face)]
        near = Near(place_on(site, site, bore))
        for one in sites:
            layout = lay_out(shop.bench, [nearby(one, shop.limits)], [0.0], near)
            if layout and layout.wide(shop.limits):
                return one
        return sites[0]
    if not slash or role == board.role:
        return from_face(site, pocket_face(shop, board, bore.joint_face, name, *at))
    if role != mate.role:
        raise shop.error(
            f"{quoted(role)} is no board of this joint (its boards: {board.role}, {mate.role})", *at
        )
    side = pocket_face(shop, mate, bore.mate_face, name, *at)
    found = next(sites_across(project, bore, side), None)
    if found is None:
        raise shop.error(f"no stocked screw fits when it is bored from the {word}", *at)
    return found


def _drilled(shop: Shop, site: Site, key: str) -> Site:
    """The joint with another drill, and the screw that goes with it."""
    row = drills()[key]
    found = next(with_drill(site, row, shop.limits, shop.recipe.unit), None)
    if found is not None:
        return found
    # No screw fits: the shortest shows what is wrong.
    kind = gauge_with(site, row)
    screw = kind.screw(min(kind.lengths), site.screw.thread)
    return replace(site, drill=drill_of(site, row), screw=screw)


def _nearest(shop: Shop, site: Site, swing: float, wish: float) -> Window:
    """The window nearest to a place, a wide one if there is any; an empty one there without."""
    near, site = Near(wish), nearby(site, shop.limits)
    layout = lay_out(shop.bench, [site], [swing], near) or shut(shop.bench, site, [swing], near)
    return layout.windows[0]


def _stated(shop: Shop, site: Site, swing: float, position: float) -> Window:
    """The window around a place that is stated; an empty one where it lies in none."""
    for window in open_windows(shop.known, nearby(site, shop.limits), swing, shop.limits):
        if window.low <= position <= window.high:
            return replace(window, position=position)
    return Window(site.datum, position, position, position)


def _at(shop: Shop, bore: Bore, key: str = "") -> tuple[str | int, ...]:
    """Where the recipe says a key of a pocket: of its own, of its joint or of every joint."""
    places = [shop.wished_at(bore.name), shop.wished_at(bore.joint), ("changes", EVERY_JOINT)]
    for place in places:
        wish = shop.wish_for(place[1])
        if wish.model_fields_set and (not key or getattr(wish, key) is not None):
            return (*place, key) if key else place
    return ("changes",)
