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

from ..maths.geometry import dot
from ..piece.project import Bore, Finding, Joint, Project, Window
from ..recipe.stated import EVERY_JOINT, Otherwise
from ..wood.screws import shortest
from ..wood.tables import drills
from ..words.lengths import quoted
from ..words.names import nearest
from .joints import Placed, lack
from .layout import Layout, Near, lay_out, shut
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
    lacks: dict[str, Finding] = {}
    for joint in joints if said else ():
        for bore in joint.bores:
            shop.go_on()
            asked = shop.wish(joint.name, bore.name)
            face = asked.pockets_in or ""
            turned = "/" in face or shop.wish_for(bore.name).pockets_in is not None
            new, unfit = _bored(shop, project, bore, asked, face if turned else "")
            if new != bore:
                project = _rebored(project, new)
            if new.window != bore.window:
                touched.add(joint.name)
            if unfit is not None:
                touched.add(joint.name)
                lacks.setdefault(joint.name, unfit)
    # What placement said of these joints is not true any more; the rules say what is.
    kept = tuple(f for f in piece.findings if f.joint not in touched)
    return replace(piece, joints=project.joints, findings=(*kept, *lacks.values()))


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


def _bored(
    shop: Shop, project: Project, bore: Bore, asked: Otherwise, face: str
) -> tuple[Bore, Finding | None]:
    """The bore as asked, and what to say where no screw fits it.

    Args:
        shop: the piece's.
        project: the piece by itself.
        bore: as it is.
        asked: of it.
        face: the one it is turned to, or "".
    """
    unfit = None
    if face or any(getattr(asked, key) is not None for key in _MOVING):
        bore, unfit = _moved(shop, project, bore, asked, face)
    if asked.pilot is not None:
        deep = bore.engagement if asked.pilot == "screw" else asked.pilot
        bore = replace(bore, pilot_into_mate=deep)
    return bore, unfit


def _moved(
    shop: Shop, project: Project, bore: Bore, asked: Otherwise, face: str
) -> tuple[Bore, Finding | None]:
    old = site_of(project, bore)
    if old is None:
        raise shop.error("it has no line along which it could move", *_at(shop, bore))
    site, fits = _turned(shop, project, bore, old, face) if face else (old, True)
    if asked.drill is not None:
        site, fits = _drilled(shop, site, asked.drill)
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
    new = replace(site.bore(bore.pocket, swing, window), pilot_into_mate=bore.pilot_into_mate)
    if fits or asked.screw is not None:  # of a screw that is asked for the rules speak
        return new, None
    (joint,) = (j for j in project.joints if j.name == bore.joint)
    alone = replace(joint, bores=(new,))
    return new, lack(shop, Placed(alone, Layout(site, swing, (window,)), fits=False, turned=swing))


def _set(shop: Shop, site: Site, bore: Bore, asked: Otherwise) -> Site:
    """The joint with the screw, the stop and the slot that are asked for."""
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


def _turned(shop: Shop, project: Project, bore: Bore, site: Site, word: str) -> tuple[Site, bool]:
    """The joint bored from another face of its board, or from its other board (`board / face`).

    Returns:
        The joint's line, and whether a screw fits; else the shortest shows what is wrong.

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
                return one, True
        return sites[0], True
    if not slash or role == board.role:
        return from_face(site, pocket_face(shop, board, bore.joint_face, name, *at)), True
    if role != mate.role:
        raise shop.error(
            f"{quoted(role)} is no board of this joint (its boards: {board.role}, {mate.role})", *at
        )
    side = pocket_face(shop, mate, bore.mate_face, name, *at)
    fitting = next(sites_across(project, bore, side), None)
    return fitting or next(sites_across(project, bore, side, fitting=False)), bool(fitting)


def _drilled(shop: Shop, site: Site, key: str) -> tuple[Site, bool]:
    """The joint with another drill and the screw that goes with it, and whether one fits."""
    row = drills()[key]
    found = next(with_drill(site, row, shop.limits, shop.recipe.unit), None)
    if found is not None:
        return found, True
    drill, thickness = drill_of(site, row), site.board.across(site.pocket_face)
    kind, unit = gauge_with(site, row), shop.recipe.unit
    fit = shortest(drill, kind, site.screw.thread, thickness, unit)
    return replace(site, drill=drill, screw=fit.screw), False


def _nearest(shop: Shop, site: Site, swing: float, wish: float) -> Window:
    """The window nearest to a place, a wide one if there is any; an empty one there without."""
    near, site = Near(wish), nearby(site, shop.limits)
    layout = lay_out(shop.bench, [site], [swing], near) or shut(shop.bench, site, swing, near)
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
