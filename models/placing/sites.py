"""The line of a joint that is bored already, and of the same joint bored in another way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from ..maths.geometry import dot
from ..piece.board import Side
from ..piece.held import Held
from ..piece.project import Bore, Drill, Limits, Project, Window
from ..wood.screws import fastenings, shortest
from ..wood.tables import DrillRow, ScrewKind, drills, screw_kinds, thread_for
from ..words.lengths import STEPS, Unit
from .layout import Bench, Near, lay_out
from .likeness import nearby, open_ways, surrounded
from .meetings import start_of
from .site import Site, fastened
from .windows import margins

_SAME = 1e-6
_STATED = ("slope", "bits")  # of guide and driver, which stay the same with another drill


def site_of(project: Project, bore: Bore) -> Site | None:
    """The line of a bore's joint, with all other bores to keep clear of; None where it has none.

    Positions grow as those of the bore's window do.
    """
    board, mate = project.board_named[bore.board], project.board_named[bore.mate]
    others = tuple(other for other in project.bores if other.name != bore.name)
    held = Held(others, project.board_named, crowd=project.crowd)
    joint, pocket = board.face(bore.joint_face).plane, board.face(bore.pocket_face).plane
    site = Site(
        board,
        mate,
        bore.joint_face,
        bore.pocket_face,
        bore.mate_face,
        (1.0, 1.0, 1.0),
        bore.window.datum,
        bore.drill,
        bore.screw,
        bore.shoulder,
        pocket.gap(bore.exit),
        held.rods(board, board),
        held.rods(mate, board),
        slot=bore.slot,
        slot_along=bore.slot_along,
    )
    if abs(dot(joint.normal, pocket.normal)) > 1 - _SAME:
        return None
    e = site.line
    turned = replace(site, toward=(-e[0], -e[1], -e[2]))
    try:
        site, turned = (surrounded(s, held, project.limits) for s in (site, turned))
        fits = [s for s in (site, turned) if like(s.back(bore.swing), bore.back)]
        placed = [s for s in fits if like(s.exit(bore.window.position), bore.exit)]
        return next(iter([*placed, *fits]), None)
    except ValueError:
        return None


def place_on(site: Site, old: Site, bore: Bore) -> float:
    """Where on a joint's line a bore of the old line lies (mm); the middle of a line across it."""
    if not runs_along(site, old):
        return site.reach[1] / 2
    exit = site.board.pose.local_point(old.board.pose.point(bore.exit))
    return dot(site.line, exit) - dot(site.line, site.reach[0])


def runs_along(site: Site, old: Site) -> bool:
    """Whether two joint lines have one direction in the piece, either way."""
    lines = (s.board.pose.direction(s.line) for s in (site, old))
    return abs(dot(*lines)) > 1 - _SAME


def from_face(site: Site, side: Side) -> Site:
    """The same joint, bored from another face of the same board at mid thickness."""
    return replace(site, pocket_face=side, exit_depth=None)


def sides_across(project: Project, bore: Bore) -> list[Side]:
    """Sides of the other board that look where the pocket face does, and do not show."""
    board, mate = project.board_named[bore.board], project.board_named[bore.mate]
    normal = board.pose.direction(board.face(bore.pocket_face).plane.normal)
    return [
        face.side
        for face in mate.faces
        if dot(mate.pose.direction(face.plane.normal), normal) > 1 - _SAME
        and face.side != bore.mate_face
        and face.seen != "exposed"
    ]


def sites_across(
    project: Project, bore: Bore, side: Side, *, fitting: bool = True
) -> Iterator[Site]:
    """The same joint, bored from a face of its other board, with each of the screws that fit.

    Args:
        project: placed.
        bore: of the joint.
        side: of the other board.
        fitting: else with the shortest screw alone, whether it fits or not.
    """
    board, mate = project.board_named[bore.board], project.board_named[bore.mate]
    kind, thread = screw_kinds()[bore.screw.gauge.lstrip("#")], thread_for(board.stock.kind)
    others = tuple(other for other in project.bores if other.name != bore.name)
    held = Held(others, project.board_named, crowd=project.crowd)
    thickness, depth = mate.across(side), board.across(bore.joint_face)
    cover, step = project.limits.tip_cover, STEPS[project.unit][-1]
    deep = min(depth, thickness)
    usual = bore.drill, kind, thread, thickness
    stocked = fastenings(*usual, deep, cover, step=step, unit=project.unit)
    plain = Site(
        mate,
        board,
        bore.mate_face,
        side,
        bore.joint_face,
        (1.0, 1.0, 1.0),
        "",
        bore.drill,
        bore.screw,
        bore.shoulder,
        beside=held.rods(mate, mate),
        ahead=held.rods(board, mate),
    )
    for fit in stocked if fitting else (shortest(*usual, project.unit),):
        site = fastened(plain, fit)
        yield surrounded(site.among(datum=start_of(site)), held, project.limits)


def with_drill(site: Site, row: DrillRow, limits: Limits, unit: Unit) -> Iterator[Site]:
    """The joint bored with another drill of the table, with each of the screws that fit."""
    kind = gauge_with(site, row)
    thickness = site.board.across(site.pocket_face)
    depth = min(site.mate.across(site.mate_face), thickness)
    drill, cover, step = drill_of(site, row), limits.tip_cover, STEPS[unit][-1]
    # Exits that were moved toward the pocket face have to stay there; others follow the screw.
    stated = site.depth if site.depth < thickness / 2 - _SAME else None
    thread = site.screw.thread
    for fit in fastenings(drill, kind, thread, thickness, depth, cover, stated, step, unit):
        yield fastened(replace(site, drill=drill), fit)


def drill_of(site: Site, row: DrillRow) -> Drill:
    """Another drill of the table, in the joint's guide and with its bit where they were stated."""
    usual = next((r.drill for r in drills().values() if r.drill.name == site.drill.name), None)
    stated = {
        name: getattr(site.drill, name)
        for name in _STATED
        if usual is None or getattr(site.drill, name) != getattr(usual, name)
    }
    return replace(row.drill, **stated)


def gauge_with(site: Site, row: DrillRow) -> ScrewKind:
    """The screw's own gauge where it fits a drill, else the thickest that does."""
    kind = screw_kinds().get(site.screw.gauge.lstrip("#"))
    return kind if kind and kind.gauge in row.gauges else screw_kinds()[row.gauges[-1]]


def nearest_window(bench: Bench, site: Site, swing: float, wish: float) -> Window | None:
    """The window with the pocket as near to the wished place as a pencil line allows.

    Its ends are worth knowing only where the pocket must move: else they are the tolerance's.

    Args:
        bench: what is gone by.
        site: the joint.
        swing: degrees.
        wish: mm from the datum.

    Raises:
        ValueError: the joint's faces share nothing on its line.
    """
    limits, tolerance = bench.limits, bench.limits.tolerance
    site = nearby(site, limits)
    if not any(open_ways(bench.known, [site], [swing], limits)):
        return None
    trials = np.array([wish - tolerance, wish, wish + tolerance])
    fine = margins(site, trials, np.full(3, swing), limits).values.min() >= 0
    if fine and 0 <= trials[0] and trials[2] <= site.reach[1]:
        return Window(site.datum, wish, wish - tolerance, wish + tolerance)
    layout = lay_out(bench, [site], [swing], Near(wish))
    return layout.windows[0] if layout and layout.wide(limits) else None


def like(a: Iterable[float], b: Iterable[float]) -> bool:
    """Whether two rows of numbers are the same to a millionth."""
    return all(abs(x - y) < _SAME for x, y in zip(a, b, strict=True))
