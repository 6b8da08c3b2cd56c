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

from ..maths.geometry import dot
from ..piece.board import OPPOSITE
from ..piece.project import Bore, Change, Finding, Joint, Limits, Project, RecipePath, Window
from ..placing.likeness import likeness, nearby
from ..placing.placement import Site, margins, pitch, promising_swings, windows
from ..placing.sites import (
    Known,
    from_face,
    nearest_window,
    place_on,
    runs_along,
    site_of,
    sites_across,
    with_drill,
)
from ..placing.spacing import settle, wished
from ..recipe.recipe import PieceParams, Recipe, parse_recipe
from ..wood.screws import longest_shoulder, usual_shoulder
from ..wood.tables import drills, screw_kinds
from ..words.lengths import format_length

Wants = Callable[[Bore], bool]
Kind = Literal["move", "screw", "stop", "swing", "drill", "face", "board"]
"""A place along the joint, a screw, the drill's stop, a swing, a drill, a face, the other board."""
KINDS: tuple[Kind, ...] = get_args(Kind)
MOST = 3
"""Cures that a finding names at most."""

_SAME = 1e-6
_SWING_STEP, _SWINGS = 3, 4  # degrees between the swings tried elsewhere, and how many are closed
_SHALLOWER = "drill the pilot into the mating board no deeper than the screw goes"
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
    known: Known | None = None,
) -> tuple[Change, ...]:
    """Up to three ways to bore it otherwise that keep every wall and meet a wish.

    Args:
        project: placed.
        bore: one of its bores.
        wants: what the rule asks for besides, of the bore as it would be.
        kinds: of change that may help.
        known: windows found before; it is added to.
    """
    return tuple(islice(_cures(project, bore, wants, kinds, known), MOST))


def turns(project: Project, joint: Joint, wants: Wants) -> tuple[Change, ...]:
    """The ways to bore a whole joint from another face or from its other board.

    Args:
        project: placed.
        joint: one of its joints, with pockets.
        wants: what the rule asks for besides, of every bore as it would be.
    """
    found = (rebored_all(project, joint, joint.bores, wants, kind) for kind in ("face", "board"))
    return tuple(change for some in found for change in some)


def rebored_all(
    project: Project, joint: Joint, bores: Sequence[Bore], wants: Wants, kind: Kind
) -> Iterator[Change]:
    """One kind of change for several bores of a joint, if it serves all of them."""
    after, says = project, ""
    keys: dict[RecipePath, str] = {}
    for bore in bores:
        found = next(_cures(after, bore, wants, (kind,)), None)
        if found is None:
            return
        says = says or found.says.partition(" and set the pocket")[0]
        keys |= dict(found.keys)
        after = with_joints(after, found)
    (new,) = (j for j in after.joints if j.name == joint.name)
    if kind == "face" and joint.key and len(bores) == len(joint.bores):
        # Placement lays a whole joint out anew from the other face.
        face = after.board_named[new.bores[0].board].face(new.bores[0].pocket_face).name
        pilots = {path: value for path, value in keys.items() if path[-1] == "pilot"}
        keys = {(*joint.key, "pockets_in"): face, **pilots}
    yield Change(says, tuple(keys.items()), (new,))


def with_fewer(project: Project, joint: Joint, count: int) -> Iterator[Change]:
    """A joint with fewer pockets, spaced as practice asks, if all find a place."""
    if not 1 <= count < len(joint.bores):
        return
    limits = project.limits
    others = tuple(replace(j, bores=()) if j.name == joint.name else j for j in project.joints)
    first = joint.bores[0]
    site = site_of(replace(project, joints=others), first)
    if site is None:
        return
    least = pitch(site, first.swing, limits)
    wishes = wished(joint.kind, site.reach[1], count, least + 2 * limits.tolerance)
    found = settle(windows(site, first.swing, limits), wishes, least, limits.tolerance)
    if not found or any(w.high - w.low < 2 * limits.tolerance for w in found):
        return
    bores = tuple(
        replace(bore, exit=site.exit(window.position), window=window)
        for bore, window in zip(joint.bores, found, strict=False)
    )
    says = f"{count} pocket{'s' if count > 1 else ''} instead of {len(joint.bores)}"
    keys = (((*joint.key, "pockets"), str(count)),) if joint.key else ()
    yield Change(says, keys, (replace(joint, bores=bores),))


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


def _cures(
    project: Project,
    bore: Bore,
    wants: Wants,
    kinds: Collection[Kind],
    known: Known | None = None,
) -> Iterator[Change]:
    site = site_of(project, bore)
    if site is None:
        return
    here = place_on(site, site, bore)
    done: set[Kind] = set()
    for trial in _trials(project, bore, site, here, kinds, done, known):
        if trial.kind in done:
            continue
        try:
            wish = place_on(trial.site, site, bore)
            # Where moving alone cures, nobody wants to move it and do something else besides.
            only_there = "move" in done
            window = nearest_window(
                trial.site, trial.swing, wish, project.limits, only_there=only_there, known=known
            )
        except ValueError:  # the faces do not meet on that line
            continue
        if window is None:
            continue
        # On another line, or counted from another board, the place has to be told anew.
        same_line = trial.kind != "board" and runs_along(trial.site, site)
        moved = abs(window.position - wish) > 0.01 or not same_line
        new = _with_pilot(trial.site.bore(bore.pocket, trial.swing, window), bore)
        shallower = _SHALLOWER if _has_shallower_pilot(bore, new) else ""
        if not (moved or trial.says or shallower) or not wants(new):
            continue
        done.add(trial.kind)
        where = _where(project, window) if moved else ""
        says = " and ".join(part for part in (trial.says, shallower, where) if part)
        yield Change(says, _keys(project, bore, new, moved), rebored(project, [new]))


def _keys(
    project: Project, old: Bore, new: Bore, moved: bool
) -> tuple[tuple[RecipePath, str], ...]:
    """What to write in the recipe for a pocket to be bored so."""
    joint = next(joint for joint in project.joints if joint.name == new.joint)
    if not joint.key:
        return ()
    board = project.board_named[new.board]
    across = new.board != old.board
    turned = across or new.pocket_face != old.pocket_face
    told: dict[str, str] = {}
    if turned:
        face = board.face(new.pocket_face).name
        told["pockets_in"] = f"{board.role} / {face}" if across else face
    if new.swing != (0.0 if turned else old.swing):
        told["swing"] = f"{new.swing:g}"
    if new.drill != old.drill:
        told["drill"] = next(r.key for r in drills().values() if r.drill.name == new.drill.name)
    if new.screw != old.screw or across or "drill" in told:
        told["screw"] = f"{new.screw.length:.6g} mm"
    if new.shoulder != old.shoulder or across or "drill" in told:
        told["stop"] = f"{new.shoulder:.6f} mm"
    if moved:
        told["position"] = f"{new.window.position:.4f} mm"
    if _has_shallower_pilot(old, new):
        told["pilot"] = "screw"
    path = pocket_key(joint, new)
    return tuple(((*path, key), value) for key, value in told.items())


def _follows_screw(bore: Bore) -> bool:
    """Whether the pilot ends in the mate where the screw does, as `pilot: screw` asks."""
    return abs(bore.pilot_into_mate - bore.engagement) <= _SAME


def _with_pilot(new: Bore, old: Bore) -> Bore:
    """The new bore with the old one's pilot, no deeper than its screw: windows know no deeper."""
    deep = new.engagement if _follows_screw(old) else min(old.pilot_into_mate, new.engagement)
    return replace(new, pilot_into_mate=max(0.0, deep))


def _has_shallower_pilot(old: Bore, new: Bore) -> bool:
    """Whether the recipe has to say that the pilot is not as deep as it was."""
    return not _follows_screw(old) and new.pilot_into_mate < old.pilot_into_mate - _SAME


def pocket_key(joint: Joint, bore: Bore) -> RecipePath:
    """Where the recipe may say how one pocket of a joint is bored otherwise."""
    return (*joint.key[:-1], f"{joint.key[-1]}{bore.name.removeprefix(joint.name)}")


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
    known: Known | None,
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
            if bore.screw.length > shoulder:  # else it would not even reach the mate
                yield _Trial("stop", replace(site, shoulder=shoulder), swing, says)
            for screw in reversed(screws):  # the longest first
                if screw.length > shoulder and screw.length != bore.screw.length:
                    both = replace(site, shoulder=shoulder, screw=screw)
                    yield _Trial("stop", both, swing, f"use a {screw.title} screw and {says}")
    if "swing" in kinds:
        for turn in _swings(site, here, swing, limits, "move" not in done, known):
            says = f"swing it {abs(turn):g} degrees {_toward(site, turn)}"
            yield _Trial("swing", site, turn, says)
    if "drill" in kinds:
        yield from _smaller(project, bore, site)
    other = site.board.face(OPPOSITE[bore.pocket_face])
    own = site.board.face(bore.pocket_face)
    if "face" in kinds and _SEEN[other.seen] >= max(1, _SEEN[own.seen]):
        yield _Trial("face", from_face(site, other.side), 0.0, f"bore it from the {other.name}")
    if "board" in kinds:
        yield from _from_the_mate(project, bore)


def _smaller(project: Project, bore: Bore, site: Site) -> Iterator[_Trial]:
    """Smaller drills with the screws that fit them."""
    for row in drills().values():
        if row.drill.counterbore_radius >= bore.drill.counterbore_radius:
            continue
        for smaller in with_drill(site, row, project.limits):
            told = _titled(project, smaller)
            says = f"use the {row.title} and a {told.screw.title} screw"
            yield _Trial("drill", told, bore.swing, says)


def _swings(
    site: Site, here: float, swing: float, limits: Limits, elsewhere: bool, known: Known | None
) -> Sequence[float]:
    """The smallest swing that serves in place, else those that may serve somewhere else."""
    if known is None:
        return _swings_of(site, here, swing, limits, elsewhere)
    site = nearby(site, limits)
    key = ("swings", likeness(site, limits).key, round(here, 6), swing, elsewhere)
    if key not in known:
        known[key] = _swings_of(site, here, swing, limits, elsewhere)
    found: Sequence[float] = known[key]
    return found


def _swings_of(
    site: Site, here: float, swing: float, limits: Limits, elsewhere: bool
) -> Sequence[float]:
    turns = [float(t) for t in range(1, int(limits.max_swing) + 1)]
    both = [turn for t in turns for turn in (t, -t) if turn != swing]
    if not both:
        return []
    spots = here + limits.tolerance * np.array([-1.0, 0.0, 1.0])
    rows = margins(site, np.tile(spots, len(both)), np.repeat(both, 3), limits).values
    fine = rows.reshape(len(both), -1).min(axis=1) >= 0
    serve = [turn for turn, good in zip(both, fine, strict=True) if good][:1]
    if not serve and elsewhere:
        coarse = [turn for turn in both if turn % _SWING_STEP == 0]
        serve = promising_swings(site, coarse, 2 * limits.tolerance, limits)[:_SWINGS]
    return serve


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
        for site in sites_across(project, bore, face.side):
            site = _titled(project, site)
            says = f"bore it from the {face.name} of {mate.name}, with a {site.screw.title} screw"
            yield _Trial("board", site, 0.0, says)


def _titled(project: Project, site: Site) -> Site:
    return replace(site, screw=site.screw.titled(project.unit))
