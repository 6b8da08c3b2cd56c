"""What may be bored otherwise at some joints, the easiest first.

Another place, fewer pockets, another screw, the drill set otherwise, a swing, another drill,
another face, the other board. Each is looked at in closed form on one bore of the joints: what
finds no window there is left out, so that few recipes have to be laid out anew.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, field, replace
from functools import cached_property

from ..maths.geometry import dot
from ..piece.lever import Edit, Lever, Setting, lever
from ..piece.project import Bore, Joint, Limits, Project
from ..placing.layout import Bench
from ..placing.likeness import Known, no_hope, open_ways
from ..placing.meetings import HIDDEN_FIRST, pocket_faces
from ..placing.site import Site
from ..placing.sites import (
    from_face,
    nearest_window,
    place_on,
    sides_across,
    site_of,
    sites_across,
    with_drill,
)
from ..recipe.edits import written
from ..recipe.stated import Recipe
from ..wood.screws import longest_shoulder, usual_shoulder
from ..wood.tables import drills, screw_kinds
from ..words.lengths import format_decimal, write_length

_SAME = 1e-6
_SWINGS = range(5, 46, 5)  # beyond, the pull runs along the joint
_WALLS = ("show_wall", "hidden_wall", "tip_cover", "between")
_SHALLOWER = "drill the pilot into the mating board no deeper than the screw goes"

Keys = Mapping[str, tuple[str | None, str]]
"""Keys of what is bored otherwise: what to write (None: take it away), and what that does."""


@dataclass(frozen=True)
class _Way:
    """One way to bore a joint: what is told of any of its bores, and where the first one lies."""

    keys: Callable[[Bore], Keys]
    site: Site
    swing: float


@dataclass(frozen=True)
class Joints:
    """Joints of one piece that are alike, and at fault alike.

    Attributes:
        recipe: as it is.
        project: planned from it.
        joints: all that are alike.
        bores: those of the first joint that are at fault.
        known: what was found along joints; it is added to.
    """

    recipe: Recipe
    project: Project
    joints: tuple[Joint, ...]
    bores: tuple[Bore, ...]
    known: Known = field(default_factory=dict, compare=False, repr=False)

    def levers(self) -> Iterator[Lever]:
        """What may be changed; a lever's edits are made as they are asked for."""
        if self.site is None:
            return
        yield Lever("pockets", self._fewer(), least=True)
        if self._position is not None:
            here = _Way(_always({}), self.site, self.bore.swing)
            yield Lever("move", self._edits([here]))
        yield Lever("screw", self._edits(self._screws(self.site)))
        yield Lever("stop", self._edits(self._stops(self.site)))
        yield Lever("swing", self._edits(self._swings(self.site)))
        yield Lever("drill", self._edits(self._drills(self.site)))
        yield Lever("face", self._edits(self._faces(self.site)))
        yield Lever("board", self._edits(self._boards()))

    def limits(self) -> Lever:
        """The usual walls, where the recipe asks for more."""
        unit, usual = self.project.unit, asdict(Limits())
        says = "ask for no more than the usual {} of wood there"
        return Lever(
            "usual",
            [
                (
                    Setting(
                        ("limits", key),
                        None,
                        says.format(format_decimal(usual[key], unit)),
                    ),
                )
                for key in _WALLS
                if getattr(self.project.limits, key) > usual[key]
            ],
        )

    def tools(self) -> Iterator[Lever]:
        """What all pieces share: drill, screws, how far placement may swing a pocket."""
        if self.site is None:
            return
        yield Lever("screw", self._no_longer(self.site))
        yield Lever("drill", self._other_drills())
        if self.recipe.tools.screw_gauge is not None:
            yield lever("screws", ("tools", "screw_gauge"), "take the usual screws", [None])
        yield Lever("limits", self._more_swing(self.site))

    @property
    def bore(self) -> Bore:
        """The one that is looked at."""
        return self.bores[0]

    @cached_property
    def _bench(self) -> Bench:
        return Bench(self.project.limits, self.project.unit, self.known)

    @property
    def _mitre(self) -> bool:
        """Whether placement swings the pockets as far as it may."""
        return self.joints[0].kind == "mitre"

    @cached_property
    def site(self) -> Site | None:
        """Its line; None where it has none."""
        return site_of(self.project, self.bore)

    @cached_property
    def _position(self) -> object:
        """Where the recipe has the pocket; None where that is left to placement."""
        return written(self.recipe, (*self.joints[0].pocket_key(self.bore), "position"))

    # --- a way as an edit -----------------------------------------------------------------

    def _edits(self, ways: Iterable[_Way | None]) -> Iterator[Edit | None]:
        """For all pockets of the joints; then, where only some of one are at fault, for these.

        A pocket whose place the recipe states is told alone, with its new place.
        """
        serve: list[_Way] = []
        for way in ways:
            place = self._place(way) if way else None
            if way is None or place is None:
                yield None
            elif self._position is None:
                serve.append(way)
                yield tuple(s for joint in self.joints for s in self._at_joint(way, joint))
            else:
                moved = {"position": (place, f"set the pocket {{}} from the {way.site.datum}")}
                yield tuple(self._at_pocket(way, self.bore, moved if place else {}))
        for way in serve if len(self.bores) < len(self.joints[0].bores) else ():
            yield tuple(s for bore in self.bores for s in self._at_pocket(way, bore, {}))

    def _at_joint(self, way: _Way, joint: Joint) -> Iterator[Setting]:
        keys = self._keys(way, joint.bores[0])
        for key, told in keys.items():
            yield Setting((*joint.key, key), *told)
            # What the recipe says of a single pocket would still stand.
            for bore in joint.bores:
                yield Setting((*joint.pocket_key(bore), key), None)

    def _at_pocket(self, way: _Way, bore: Bore, more: Keys) -> Iterator[Setting]:
        for key, told in {**self._keys(way, bore), **more}.items():
            yield Setting((*self.joints[0].pocket_key(bore), key), *told)

    def _keys(self, way: _Way, bore: Bore) -> Keys:
        deep, goes = bore.pilot_into_mate, way.site.screw.length - way.site.shoulder
        if deep > goes + _SAME and abs(deep - bore.engagement) > _SAME:
            return {**way.keys(bore), "pilot": ("screw", _SHALLOWER)}
        return way.keys(bore)

    def _place(self, way: _Way) -> str | None:
        """Where the pocket goes, as a recipe has it; "" where it stays; None: it has no place."""
        assert self.site is not None
        try:
            wish = place_on(way.site, self.site, self.bore)
            window = nearest_window(self._bench, way.site, way.swing, wish)
        except ValueError:  # the faces do not meet on that line
            return None
        if window is None:
            return None
        return self._said(window.position) if abs(window.position - wish) > 0.01 else ""

    def _said(self, mm: float, *, exact: bool = False) -> str:
        """A length as a recipe has it; rounded down to what can be set, unless it is bought."""
        inch = self.project.unit == "inch"
        step = 25.4 / 32 if inch else 0.1
        set_to = mm if exact else math.floor(mm / step + _SAME) * step
        return write_length(set_to, self.project.unit)

    # --- the ways -------------------------------------------------------------------------

    def _fewer(self) -> list[Edit]:
        """Fewer pockets, where one that is alone on its joint has a place."""
        own, count = self.joints[0], len(self.joints[0].bores)
        single = replace(own, bores=(self.bore,))
        joints = tuple(single if joint == own else joint for joint in self.project.joints)
        alone = site_of(replace(self.project, joints=joints), self.bore)
        if alone is None or self._place(_Way(_always({}), alone, self.bore.swing)) is None:
            return []
        says = f"bore {{}} instead of {count} pockets"
        return [
            tuple(Setting((*joint.key, "pockets"), str(fewer), says) for joint in self.joints)
            for fewer in range(count - 1, 0, -1)
        ]

    def _lengths(self, shoulder: float) -> list[float]:
        """Stocked lengths of the screw that reach past a shoulder, the nearest first."""
        kind = screw_kinds().get(self.bore.screw.gauge.lstrip("#"))
        now = self.bore.screw.length
        lengths = [x for x in (kind.lengths if kind else ()) if x > shoulder and x != now]
        return sorted(lengths, key=lambda length: abs(length - now))

    def _screw(self, length: float) -> Keys:
        says = f"use a {self.bore.screw.gauge} screw {{}} long"
        return {"screw": (self._said(length, exact=True), says)}

    def _screws(self, site: Site) -> Iterator[_Way]:
        for length in self._lengths(site.shoulder):
            keys = self._screw(length)
            screw = replace(site.screw, length=length)
            yield _Way(_always(keys), replace(site, screw=screw), self.bore.swing)

    def _stops(self, site: Site) -> Iterator[_Way]:
        thick = 2 * site.depth
        found = usual_shoulder(site.drill, thick), longest_shoulder(site.drill, thick)
        for shoulder in found:
            if shoulder <= 0 or abs(shoulder - site.shoulder) < 0.1:
                continue
            says = "set the drill's stop so that {} of pilot is left to the joint"
            stop: Keys = {"wood_under_screw": (self._said(shoulder), says)}
            set_so = replace(site, shoulder=shoulder)
            if site.screw.length > shoulder:
                yield _Way(_always(stop), set_so, self.bore.swing)
            for length in sorted(self._lengths(shoulder), reverse=True):
                keys = {**stop, **self._screw(length)}
                screw = replace(site.screw, length=length)
                both = replace(set_so, screw=screw)
                yield _Way(_always(keys), both, self.bore.swing)

    def _swings(self, site: Site) -> Iterator[_Way | None]:
        limits = self.project.limits
        yield None
        if no_hope(self.known, site, [-_SWINGS[-1], _SWINGS[-1]], limits, 0.0):
            return
        for swing in _SWINGS:
            yield None  # on a long joint this takes its time
            for turn in (float(swing), -float(swing)):
                if turn == self.bore.swing:
                    continue
                says = f"swing it by {{}} degrees, toward the {_leaned_to(site, turn)}"
                yield _Way(_always({"swing": (f"{turn:g}", says)}), site, turn)

    def _drills(self, site: Site) -> Iterator[_Way]:
        for row in drills().values():
            if row.drill.counterbore_radius < self.bore.drill.counterbore_radius:
                keys: Keys = {
                    "drill": (row.key, f"use the {row.title}"),
                    "screw": (None, ""),
                    "wood_under_screw": (None, ""),
                }
                for smaller in list(with_drill(site, row, self.project.limits, self.project.unit))[
                    :1
                ]:
                    yield _Way(_always(keys), smaller, self.bore.swing)

    def _no_longer(self, site: Site) -> Iterator[Edit | None]:
        limits = self.project.limits
        turns = [float(s) for s in _SWINGS if self._mitre and s <= limits.max_swing]
        free = [self.bore.swing, *turns]
        for length in sorted(self._lengths(0.0), reverse=True):
            shorter = replace(site, screw=replace(site.screw, length=length))
            says, path = "use no screw longer than {}", ("tools", "longest_screw")
            if length < self.bore.screw.length:
                opens = any(open_ways(self.known, [shorter], free, limits))
                written = self._said(length, exact=True)
                yield (Setting(path, written, says),) if opens else None

    def _other_drills(self) -> Iterator[Edit]:
        tools = self.recipe.tools
        for row in drills().values():
            if row.drill.counterbore_radius < tools.drill.counterbore_radius:
                edit = (Setting(("tools", "drill"), row.key, f"use the {row.title}"),)
                fits = tools.screw_gauge in (None, *row.gauges)
                yield edit if fits else (*edit, Setting(("tools", "screw_gauge"), None))

    def _more_swing(self, site: Site) -> Iterator[Edit | None]:
        for swing in (s for s in _SWINGS if self._mitre and s > self.project.limits.max_swing):
            opens = self._place(_Way(_always({}), site, float(swing))) is not None
            setting = Setting(("limits", "max_swing"), f"{swing}", "allow a swing of {} degrees")
            yield (setting,) if opens else None

    def _faces(self, site: Site) -> Iterator[_Way]:
        now = HIDDEN_FIRST[site.board.face(site.pocket_face).seen]
        for side in pocket_faces(site.board, site.joint_face):
            seen = HIDDEN_FIRST[site.board.face(side).seen]
            if side == site.pocket_face or seen > min(now, 1):
                continue

            def keys(bore: Bore, side: str = side) -> Keys:
                return self._from(self.project.board_named[bore.board].face(side).name)

            yield _Way(keys, from_face(site, side), 0.0)

    def _boards(self) -> Iterator[_Way]:
        """From the face of the other board that looks where the pocket face does."""
        named = self.project.board_named
        for side in sides_across(self.project, self.bore):

            def keys(bore: Bore, side: str = side) -> Keys:
                mate = named[bore.mate]
                return self._from(f"{mate.role} / {mate.face(side).name}")

            for site in list(sites_across(self.project, self.bore, side))[:1]:
                yield _Way(keys, site, 0.0)

    def _from(self, face: str) -> Keys:
        away = dict.fromkeys(("swing", "position", "screw", "wood_under_screw"), (None, ""))
        return {"pockets_in": (face, "bore it from the {}"), **away}


def _always(keys: Keys) -> Callable[[Bore], Keys]:
    """The same keys for every bore."""
    return lambda bore: keys


def _leaned_to(site: Site, swing: float) -> str:
    """The face that a pocket leans to."""
    sign = 1.0 if swing > 0 else -1.0
    faces = [f for f in site.board.faces if f.side not in (site.joint_face, site.pocket_face)]
    return max(faces, key=lambda f: sign * dot(f.plane.normal, site.line)).name
