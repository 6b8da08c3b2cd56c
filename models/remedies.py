"""What to change: other places, swings, screws, drills and faces for a bore, each one tried.

A cure is looked for where the fault is one of the bore, in the order in which a maker would try it:
move it along the joint, take another screw, set the drill otherwise, swing it, take a smaller
drill, bore from the other face, bore from the other board. Each candidate is put to the same exact
windows that placement uses, so it keeps every wall and every distance to the other bores; a rule
adds what it wants besides.
"""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import Any, Literal, get_args

import numpy as np

from .board import OPPOSITE
from .geometry import dot
from .joints import Held, start_of
from .lengths import format_length
from .placement import Site, margins, promising_swings, windows
from .project import Bore, Change, Finding, Joint, Limits, Project, RecipePath, Window
from .recipe import PieceParams, Recipe, parse_recipe
from .screws import fastenings, longest_shoulder, usual_shoulder
from .tables import drills, screw_kinds, thread_for

Wants = Callable[[Bore], bool]
Kind = Literal["move", "screw", "stop", "swing", "drill", "face", "board"]
"""A place along the joint, a screw, the drill's stop, a swing, a drill, a face, the other board."""
KINDS: tuple[Kind, ...] = get_args(Kind)
MOST = 3
"""Cures that a finding names at most."""

_SAME = 1e-6
_SWING_STEP, _SWINGS = 3, 4  # degrees between the swings tried elsewhere, and how many are closed
_SEEN = {"show": 0, "concealed": 1, "hidden": 2}


@dataclass(frozen=True)
class _Trial:
    """A bore somewhere else: the kind of change, a site, a swing, and how it is said."""

    kind: Kind
    site: Site
    swing: float
    says: str


def cures(
    project: Project,
    bore: Bore,
    wants: Wants = lambda bore: True,
    kinds: Collection[Kind] = KINDS,
) -> tuple[Change, ...]:
    """Up to three ways to bore it otherwise that keep every wall and meet a wish.

    Args:
        project: placed.
        bore: one of its bores.
        wants: what the rule asks for besides, of the bore as it would be.
        kinds: of change that may help.
    """
    return tuple(islice(_cures(project, bore, wants, kinds), MOST))


def cured(finding: Finding, changes: Sequence[Change]) -> Finding:
    """The finding with its remedy, in words and for a program."""
    says = "; or ".join(change.says for change in changes)
    return replace(finding, remedy=says or finding.remedy, changes=tuple(changes))


def rebored(project: Project, bores: Iterable[Bore]) -> tuple[Joint, ...]:
    """The joints of some bores, with these in place of the bores of their names."""
    new = {bore.name: bore for bore in bores}
    names = {bore.joint for bore in new.values()}
    return tuple(
        replace(joint, bores=tuple(new.get(bore.name, bore) for bore in joint.bores))
        for joint in project.joints
        if joint.name in names
    )


# --- applied -------------------------------------------------------------------------------------


def with_joints(project: Project, change: Change) -> Project:
    """The project after a change that no key of the recipe rules."""
    new = {joint.name: joint for joint in change.joints}
    joints = tuple(new.get(joint.name, joint) for joint in project.joints)
    kept = tuple(f for f in project.findings if f.joint not in new)
    return replace(project, joints=joints, findings=kept)


def with_keys(recipe: Recipe, change: Change, models: Mapping[str, type[PieceParams]]) -> Recipe:
    """The recipe after a change of its keys, read again from the start.

    Raises:
        RecipeError: the change makes no recipe.
    """
    tree = copy.deepcopy(recipe.document.tree)
    for path, value in change.keys:
        _set(tree, path, value)
    # JSON is YAML too, and every scalar is read from its text.
    return parse_recipe(json.dumps(tree), str(recipe.path), models)


def _set(tree: Any, path: RecipePath, value: str) -> None:
    *above, last = path
    for step in above:
        if isinstance(tree, dict) and tree.get(step) is None:
            tree[step] = {}
        tree = tree[step]
    if value:
        tree[last] = value
    elif isinstance(tree, dict):
        tree.pop(last, None)


# --- looked for ----------------------------------------------------------------------------------


def site_of(project: Project, bore: Bore) -> Site | None:
    """The line of a bore's joint, with all other bores to keep clear of; None where it has none.

    Positions grow as those of the bore's window do.
    """
    board, mate = project.board_named[bore.board], project.board_named[bore.mate]
    others = tuple(other for other in project.bores if other.name != bore.name)
    held = Held(others, project.board_named)
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
        fits = [s for s in (site, turned) if _like(s.back(bore.swing), bore.back)]
        placed = [s for s in fits if _like(s.exit(bore.window.position), bore.exit)]
        return next(iter([*placed, *fits]), None)
    except ValueError:
        return None


def _like(a: Iterable[float], b: Iterable[float]) -> bool:
    return all(abs(x - y) < 1e-6 for x, y in zip(a, b, strict=True))


def _cures(project: Project, bore: Bore, wants: Wants, kinds: Collection[Kind]) -> Iterator[Change]:
    site = site_of(project, bore)
    if site is None:
        return
    here = dot(site.line, bore.exit) - dot(site.line, site.reach[0])
    done: set[Kind] = set()
    for trial in _trials(project, bore, site, here, kinds, done):
        if trial.kind in done:
            continue
        try:
            same_line = _like(trial.site.line, site.line)
            wish = here if same_line else trial.site.reach[1] / 2
            # Where moving alone cures, nobody wants to move it and do something else besides.
            window = _window(project, trial, wish, only_there="move" in done)
        except ValueError:  # the faces do not meet on that line
            continue
        if window is None:
            continue
        moved = abs(window.position - wish) > 0.01 or not same_line
        new = replace(
            trial.site.bore(bore.name, bore.joint, trial.swing, window),
            pilot_into_mate=bore.pilot_into_mate,
        )
        if not (moved or trial.says) or not wants(new):
            continue
        done.add(trial.kind)
        where = _where(project, window) if moved else ""
        says = " and ".join(part for part in (trial.says, where) if part)
        yield Change(says, _keys(project, new, trial.kind), rebored(project, [new]))


def _keys(project: Project, new: Bore, kind: Kind) -> tuple[tuple[RecipePath, str], ...]:
    """The key that says it in the recipe, where one does."""
    stated = next(joint.stated for joint in project.joints if joint.name == new.joint)
    if kind == "face" and stated:
        face = project.board_named[new.board].face(new.pocket_face)
        return (((*stated, "pockets_in"), face.name),)
    return ()


def _window(project: Project, trial: _Trial, wish: float, only_there: bool) -> Window | None:
    """The window with the pocket as near to the wished place as a pencil line allows."""
    limits, site = project.limits, trial.site
    tolerance = limits.tolerance
    trials = np.array([wish - tolerance, wish, wish + tolerance])
    fine = margins(site, trials, np.full(3, trial.swing), limits).values.min() >= 0
    inside = 0 <= trials[0] and trials[2] <= site.reach[1]
    if only_there and not (fine and inside):
        return None
    # A window's ends are worth knowing only where the pocket must move.
    if fine and inside:
        return Window(site.datum, wish, wish - tolerance, wish + tolerance)
    found = [w for w in windows(site, trial.swing, limits) if w.high - w.low >= 2 * tolerance]
    near = (
        replace(w, position=min(max(wish, w.low + tolerance), w.high - tolerance)) for w in found
    )
    return min(near, key=lambda w: abs(w.position - wish), default=None)


def _where(project: Project, window: Window) -> str:
    place, low, high = (
        format_length(mm, project.unit) for mm in (window.position, window.low, window.high)
    )
    return f"set the pocket {place} from the {window.datum} ({low} to {high} is clear)"


def _trials(
    project: Project,
    bore: Bore,
    site: Site,
    here: float,
    kinds: Collection[Kind],
    done: Collection[Kind],
) -> Iterator[_Trial]:
    """Other ways to bore it, the easiest first; `done` is read as the search goes on."""

    def said(mm: float) -> str:
        return format_length(mm, project.unit)

    swing, limits = bore.swing, project.limits
    thickness = 2 * site.depth
    kind = screw_kinds().get(bore.screw.gauge.lstrip("#"))
    # A screw that is not stocked has no neighbours in the table; it is then left as it is.
    stocked = sorted(kind.lengths) if kind else []
    threaded = [kind.screw(length, bore.screw.thread) for length in stocked if kind]
    screws = [screw.titled(project.unit) for screw in threaded]
    if "move" in kinds:
        yield _Trial("move", site, swing, "")
    if "screw" in kinds:
        for screw in sorted(screws, key=lambda s: abs(s.length - bore.screw.length)):
            if screw.length > bore.shoulder and screw.length != bore.screw.length:
                says = f"use a {screw.title} screw"
                yield _Trial("screw", replace(site, screw=screw), swing, says)
    if "stop" in kinds:
        for shoulder in (
            usual_shoulder(bore.drill, thickness),
            longest_shoulder(bore.drill, thickness),
        ):
            if shoulder <= 0 or abs(shoulder - bore.shoulder) < 0.1:
                continue
            says = f"set the drill's stop so that {said(shoulder)} of pilot is left to the joint"
            yield _Trial("stop", replace(site, shoulder=shoulder), swing, says)
            for screw in reversed(screws):  # the longest first
                if screw.length > shoulder and screw.length != bore.screw.length:
                    both = replace(site, shoulder=shoulder, screw=screw)
                    yield _Trial("stop", both, swing, f"use a {screw.title} screw and {says}")
    if "swing" in kinds:
        yield from _swung(site, here, swing, limits, elsewhere="move" not in done)
    if "drill" in kinds:
        yield from _smaller(project, bore, site)
    other = site.board.face(OPPOSITE[bore.pocket_face])
    own = site.board.face(bore.pocket_face)
    if "face" in kinds and _SEEN[other.seen] >= max(1, _SEEN[own.seen]):
        turned = replace(site, pocket_face=other.side, exit_depth=None)
        yield _Trial("face", turned, 0.0, f"bore it from the {other.name}")
    if "board" in kinds:
        yield from _from_the_mate(project, bore)


def _smaller(project: Project, bore: Bore, site: Site) -> Iterator[_Trial]:
    """Smaller drills with the screws that fit them."""
    kind = screw_kinds().get(bore.screw.gauge.lstrip("#"))
    thickness = 2 * site.depth
    depth = min(site.mate.across(bore.mate_face), thickness)
    for row in drills().values():
        if row.drill.counterbore_radius >= bore.drill.counterbore_radius:
            continue
        gauge = kind if kind and kind.gauge in row.gauges else screw_kinds()[row.gauges[-1]]
        drill = replace(row.drill, slope=bore.drill.slope)
        cover = project.limits.tip_cover
        for fit in fastenings(drill, gauge, bore.screw.thread, thickness, depth, cover):
            smaller = replace(site, drill=drill, screw=fit.screw, shoulder=fit.shoulder)
            says = f"use the {row.title} and a {fit.screw.title} screw"
            yield _Trial("drill", smaller, bore.swing, says)


def _swung(
    site: Site, here: float, swing: float, limits: Limits, elsewhere: bool
) -> Iterator[_Trial]:
    """The smallest swing that serves in place, else those that may serve somewhere else."""
    turns = [float(t) for t in range(1, int(limits.max_swing) + 1)]
    both = [turn for t in turns for turn in (t, -t) if turn != swing]
    if not both:
        return
    spots = here + limits.tolerance * np.array([-1.0, 0.0, 1.0])
    rows = margins(site, np.tile(spots, len(both)), np.repeat(both, 3), limits).values
    fine = rows.reshape(len(both), -1).min(axis=1) >= 0
    serve = [turn for turn, good in zip(both, fine, strict=True) if good][:1]
    if not serve and elsewhere:
        coarse = [turn for turn in both if turn % _SWING_STEP == 0]
        serve = promising_swings(site, coarse, 2 * limits.tolerance, limits)[:_SWINGS]
    for turn in serve:
        yield _Trial("swing", site, turn, f"swing it {abs(turn):g} degrees {_toward(site, turn)}")


def _toward(site: Site, swing: float) -> str:
    """Which way a pocket leans, by the face that it leans to."""
    sign = 1.0 if swing > 0 else -1.0
    faces = [f for f in site.board.faces if f.side not in (site.joint_face, site.pocket_face)]
    face = max(faces, key=lambda f: sign * dot(f.plane.normal, site.line))
    return f"toward the {face.name}"


def _from_the_mate(project: Project, bore: Bore) -> Iterator[_Trial]:
    """The same joint, bored from the other board's face on the same side."""
    board, mate = project.board_named[bore.board], project.board_named[bore.mate]
    normal = board.pose.direction(board.face(bore.pocket_face).plane.normal)
    for face in mate.faces:
        alike = dot(mate.pose.direction(face.plane.normal), normal)
        if alike < 1 - _SAME or face.side == bore.mate_face or face.seen == "show":
            continue
        thickness, depth = mate.across(face.side), board.across(bore.joint_face)
        kind = screw_kinds().get(bore.screw.gauge.lstrip("#"))
        if kind is None:
            return
        fitting = fastenings(
            bore.drill,
            kind,
            thread_for(board.stock.kind),
            thickness,
            min(depth, thickness),
            project.limits.tip_cover,
        )
        others = tuple(other for other in project.bores if other.name != bore.name)
        held = Held(others, project.board_named)
        for fit in fitting:
            site = Site(
                mate,
                board,
                bore.mate_face,
                face.side,
                bore.joint_face,
                (1.0, 1.0, 1.0),
                "",
                bore.drill,
                fit.screw,
                fit.shoulder,
                None,
                held.rods(mate, mate),
                held.rods(board, mate),
            )
            site = replace(site, datum=start_of(site))
            says = f"bore it from the {face.name} of {mate.name}, with a {fit.screw.title} screw"
            yield _Trial("board", site, 0.0, says)
