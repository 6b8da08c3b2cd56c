"""A joint's line in the bored board, along which its pockets may sit."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import Any

import numpy as np

from ..maths.clearance import Rods, rod_distances
from ..maths.geometry import Array, Plane, Vec, along, cross, dot, unit
from ..maths.walls import Blank
from ..piece.board import OPPOSITE, Board, Side
from ..piece.bodies import Body, Stretch, driver_rods, rods_of, screw_rods, sheath
from ..piece.convex import Convex
from ..piece.project import Bore, Bound, Drill, Limits, PocketId, Screw, Window
from ..wood.screws import Fastening

_Wall = tuple[int, int, float, Bound]
ANY_POCKET = PocketId("")
_LINE = ("_planes", "line", "depth", "reach", "woods")  # what other bores do not change


@dataclass(frozen=True)
class Trial:
    """A body of a bore that may sit anywhere on a joint.

    Attributes:
        body: which.
        stretch: along the axis from the exit.
        shift: from the bore's axis to the body's, at the ends of a slot (mm).
        mating: whether it is in the mate, not in the bored board.
        encloses: whether it stands for a slotted pilot in distances to cuts and other bores
            (True), only in walls (False), or in both (None).
    """

    body: Body
    stretch: Stretch
    shift: Vec = (0.0, 0.0, 0.0)
    mating: bool = False
    encloses: bool | None = None


@dataclass(frozen=True)
class Site:
    """A joint's line in the bored board, along which bores may sit.

            e  (positions, from the datum)
            ^
            |  ______________________
            | /         m
            |/ ------->          bored board, seen on its pocket face
            /________________________
        joint face

    Attributes:
        board: the bored board, placed.
        mate: the mating board, placed.
        joint_face: side of `board` that meets the mate.
        pocket_face: side of `board` that the drill enters.
        mate_face: side of `mate` that is met.
        toward: rough direction (board frame) in which positions grow from the datum.
        datum: what positions are measured from, for print.
        drill: stepped drill.
        screw: screw.
        shoulder: distance from exit to shoulder, mm.
        exit_depth: of the exit below the pocket face, mm; half the board's size there if None.
        beside: rods of other joints in the bored board, in its frame, to keep clear of.
        ahead: rods of other joints in the mate, in the bored board's frame.
        around: convex pieces of other boards near the line, each with its board's role, in the
            bored board's frame.
        driven_past: pieces of boards that the driver finds there, likewise.
        slot: how much longer than wide the pilots may have to be, mm.
        slot_along: unit vector in the joint plane that slots run along.
    """

    board: Board
    mate: Board
    joint_face: Side
    pocket_face: Side
    mate_face: Side
    toward: Vec
    datum: str
    drill: Drill
    screw: Screw
    shoulder: float
    exit_depth: float | None = None
    beside: Rods | None = None
    ahead: Rods | None = None
    around: tuple[tuple[str, Convex], ...] = ()
    driven_past: tuple[tuple[str, Convex], ...] = ()
    slot: float = 0.0
    slot_along: Vec = (0.0, 0.0, 0.0)

    @cached_property
    def _planes(self) -> tuple[Plane, Plane]:
        return self.board.face(self.joint_face).plane, self.board.face(self.pocket_face).plane

    @cached_property
    def line(self) -> Vec:
        """Unit direction e of the joint's line, board frame."""
        joint, pocket = self._planes
        e = unit(cross(joint.normal, pocket.normal))
        return e if dot(e, self.toward) >= 0 else (-e[0], -e[1], -e[2])

    @cached_property
    def depth(self) -> float:
        """Depth of the exit below the pocket face, mm."""
        if self.exit_depth is not None:
            return self.exit_depth
        pocket = self._planes[1]
        under = self.board.face(OPPOSITE[self.pocket_face]).plane
        return (pocket.offset + under.offset) / 2

    @cached_property
    def reach(self) -> tuple[Vec, float]:
        """Start of the joint's line (the datum) and its length (mm), where both boards' faces meet.

        Raises:
            ValueError: the two faces share nothing on that line.
        """
        joint, pocket = self._planes
        n, p = joint.normal, pocket.normal
        c = dot(n, p)
        a, b = joint.offset, pocket.offset - self.depth
        # The point on both planes that is nearest the origin.
        foot_n, foot_p = (a - c * b) / (1 - c * c), (b - c * a) / (1 - c * c)
        foot = along(along((0.0, 0.0, 0.0), n, foot_n), p, foot_p)
        low, high = -math.inf, math.inf
        fences = [f.plane for f in self.board.faces if f.side != self.joint_face]
        fences += [self.from_mate(f.plane) for f in self.mate.faces if f.side != self.mate_face]
        for plane in fences:
            lean, gap = dot(plane.normal, self.line), plane.gap(foot)
            if lean > 1e-9:
                high = min(high, gap / lean)
            elif lean < -1e-9:
                low = max(low, gap / lean)
            elif gap < -1e-6:
                high = low  # this fence shuts out the whole line
        if low >= high:
            raise ValueError(
                f"{self.board.name} and {self.mate.name} do not meet where the screws would leave"
            )
        return along(foot, self.line, low), high - low

    @property
    def meets(self) -> bool:
        """Whether the faces share anything on the line."""
        try:
            return self.reach[1] > 0
        except ValueError:
            return False

    def from_mate(self, plane: Plane) -> Plane:
        """A plane of the mate in the bored board's frame."""
        world = self.mate.pose.plane(plane)
        pose = self.board.pose
        normal = pose.local_direction(world.normal)
        return Plane(normal, world.offset - dot(world.normal, pose.origin))

    def back(self, swing: float) -> Vec:
        """Direction of the axis from the exit up to the pocket face, board frame.

        Args:
            swing: degrees, positive turns the pocket toward growing positions.
        """
        joint, pocket = self._planes
        n, p = joint.normal, pocket.normal
        c = dot(n, p)
        m = unit((c * p[0] - n[0], c * p[1] - n[1], c * p[2] - n[2]))
        t, b = math.radians(self.drill.slope), math.radians(swing)
        e = self.line
        plan = along(along((0.0, 0.0, 0.0), m, math.cos(b)), e, math.sin(b))
        return along(along((0.0, 0.0, 0.0), plan, math.cos(t)), p, math.sin(t))

    def exit(self, position: float) -> Vec:
        """The exit at a position along the joint (mm), board frame."""
        return along(self.reach[0], self.line, position)

    @cached_property
    def woods(self) -> tuple[Blank, Blank]:
        """The bored board and the mate, in the bored board's frame."""
        mate = self.mate.wood
        faces = tuple(self.from_mate(plane) for plane in mate.faces)
        cuts = tuple(tuple(self.from_mate(plane) for plane in cut) for cut in mate.cuts)
        return self.board.wood, Blank(faces, cuts)

    @cached_property
    def trial(self) -> Bore:
        """A bore at the datum, square to the joint."""
        return self.bore(ANY_POCKET, 0.0, Window(self.datum, 0.0, 0.0, 0.0))

    @cached_property
    def trials(self) -> list[Trial]:
        """The bodies of a bore anywhere on this joint."""
        trial = self.trial
        own = rods_of(trial, self.board)
        pilot, screw = own["pilot"], own["screw"]
        bodies = [Trial("counterbore", own["counterbore"])]
        if self.slot > 0:
            bodies += [Trial("pilot", pilot, shift, encloses=False) for shift in trial.pilot_shifts]
            bodies.append(Trial("pilot", sheath(trial, pilot), encloses=True))
        else:
            thicker: Body = "screw" if screw > pilot else "pilot"
            bodies.append(Trial(thicker, max(pilot, screw)))
        for body, stretch in rods_of(trial, self.mate, as_mate=True).items():
            bodies.append(Trial(body, stretch, mating=True))
        return bodies

    def questions(self, limits: Limits) -> list[_Wall]:
        """What must keep clear of what, for a bore anywhere on this joint.

        Per wall its body, the column of its face or cut in `walls` of the two woods, the limit and
        a label.
        """
        board, mate = self.board, self.mate
        found: list[_Wall] = []
        first_cut = max(len(board.faces), len(mate.faces))
        for which, part in enumerate(self.trials):
            name, mating = part.body, part.mating
            target = mate if mating else board
            leaves = [self.mate_face] if mating else [self.pocket_face]
            if name != "counterbore" and not mating:
                leaves.append(self.joint_face)
            whose = mate.role if mating else ""
            for column, face in enumerate(target.faces):
                if face.side not in leaves and part.encloses is not True:
                    need = limits.tip_cover if mating else limits.wall(face.seen)
                    found.append((which, column, need, Bound(name, face.name, whose)))
            for index, cut in enumerate(target.cuts if part.encloses is not False else ()):
                need = limits.tip_cover if mating else limits.wall(cut.seen)
                found.append((which, first_cut + index, need, Bound(name, cut.name, whose)))
        return found

    def among(self, **others: Any) -> Site:
        """The same line with other bores and boards to keep clear of; what it is like is kept."""
        site = replace(self, **others)
        site.__dict__.update((k, v) for k, v in self.__dict__.items() if k in _LINE)
        return site

    def turned(self) -> Site:
        """The same joint, bored from the same side of its other board; alone there."""
        return replace(
            self,
            board=self.mate,
            mate=self.board,
            joint_face=self.mate_face,
            mate_face=self.joint_face,
            beside=None,
            ahead=None,
            around=(),
        )

    def in_the_way(self) -> Iterator[tuple[Sequence[str], Sequence[Stretch], str, Convex]]:
        """What keeps clear of which piece of another board.

        The screw of every board; of one that stands there already, pocket and driver as well.

        Yields:
            What each is, the stretches of these, the other board's role and the piece.
        """
        screw = screw_rods(self.screw, self.shoulder)
        for role, piece in self.around:
            yield ["screw"] * len(screw), screw, role, piece
        for role, piece in self.driven_past:
            driver = driver_rods(self.trial, self.board).values()
            past = [rods_of(self.trial, self.board)["counterbore"], *driver]
            yield ["pocket", *["driver"] * len(driver)], past, role, piece

    def bore(self, pocket: PocketId, swing: float, window: Window) -> Bore:
        """The bore at the window's position."""
        return Bore(
            pocket,
            self.board.name,
            self.pocket_face,
            self.joint_face,
            self.mate.name,
            self.mate_face,
            self.exit(window.position),
            self.back(swing),
            self.drill.slope,
            swing,
            self.shoulder,
            self.drill,
            self.screw,
            window,
            slot=self.slot,
            slot_along=self.slot_along,
        )


def fastened(site: Site, fit: Fastening) -> Site:
    """The joint with a screw, its stop and the depth of its exits."""
    if fit == Fastening(site.screw, site.shoulder, site.depth):
        return site
    change = site.among if fit.exit_depth == site.depth else partial(replace, site)
    return change(screw=fit.screw, shoulder=fit.shoulder, exit_depth=fit.exit_depth)


def footprint(site: Site, swing: float) -> float:
    """What a pocket takes of the board's width along the joint (mm)."""
    return 2 * site.drill.counterbore_radius / _across(site, swing)


def pitch(site: Site, swing: float, limits: Limits) -> float:
    """Least distance between two equal bores side by side on one joint (mm).

    Their axes are parallel, so it is the distance across the axis that counts.
    """
    widest = max(site.drill.counterbore_radius, site.trial.pilot_radius + site.slot / 2)
    return (2 * widest + limits.between) / _across(site, swing)


def _across(site: Site, swing: float) -> float:
    """Distance across the axis per distance along the joint."""
    c = dot(site.back(swing), site.line)
    return math.sqrt(1 - c * c)


def crossing_pitch(site: Site, swing: float, limits: Limits) -> float:
    """Least distance along a mitre (mm) between two pockets that are bored from either member.

    The second pocket is the first one's mirror image in the plane of the joint. How near their
    rods come depends on the distance along the joint alone, and is convex in it.
    """
    normal = site.board.face(site.joint_face).plane.normal
    back = site.back(swing)
    mirrored = along(back, normal, -2 * dot(back, normal))
    bore = site.trial
    stretches = [
        (bore.shoulder, bore.run_out(site.board) - 1.0, site.drill.counterbore_radius),
        (-bore.engagement, bore.shoulder, max(site.screw.radius, site.drill.pilot_radius)),
    ]

    first, second = np.divmod(np.arange(4), 2)
    low, high, radius = np.array(stretches).T

    def room(distances: Array) -> Array:
        """What is left between the two pockets, (N,) for distances (N,), mm."""
        count = len(distances)

        def rods(points: Array, axis: Vec, which: Array) -> Rods:
            axes = np.broadcast_to(np.array(axis), points.shape)
            rows = np.tile(which, count)
            return Rods(points, axes, low[rows], high[rows], radius[rows])

        there = np.repeat(distances[:, None] * np.array(site.line), 4, axis=0)
        gaps, _ = rod_distances(
            rods(np.zeros_like(there), back, first), rods(there, mirrored, second)
        )
        least: Array = gaps.reshape(count, 4).min(axis=1)
        return least - limits.between

    # Convex and even in the distance, so it grows with it: one place where there is room enough.
    close, far = 0.0, 50.0
    while room(np.array([far]))[0] < 0:
        close, far = far, far * 2
    while far - close > 1e-6:
        steps = np.linspace(close, far, 33)
        fits = room(steps) >= 0
        fits[-1] = True
        at = int(fits.argmax())
        close, far = float(steps[max(at - 1, 0)]), float(steps[at])
    return far
