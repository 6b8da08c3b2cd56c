"""Plugs that fill a pocket: cut to the slope, flush with the pocket face, short of the screw."""

from __future__ import annotations

from collections.abc import Iterator

from ...models.maths.geometry import along, dot, unit
from ...models.piece.board import Board
from ...models.piece.project import Bore, Project
from ...models.words.lengths import format_length
from ..solids.kernel import cq
from ..solids.solids import blank_solid, laid, one_solid, turned_solid
from . import Aid, Aids

_PLAY = 0.1  # mm on the radius, for glue
_CLEAR = 0.5  # mm between the plug and the screw's head


def make(project: Project) -> Iterator[Aid]:
    """One for each kind of pocket."""
    found: set[tuple[float, ...]] = set()
    for bore in project.bores:
        board = project.board_named[bore.board]
        depth = board.face(bore.pocket_face).plane.gap(bore.exit)
        key = (round(depth, 3), round(bore.shoulder, 3), bore.slope, bore.drill.counterbore_radius)
        if key in found:
            continue
        found.add(key)
        solid = plug(board, bore)
        if solid is None:
            continue
        wide = format_length(2 * bore.drill.counterbore_radius, project.unit)
        about = (
            f"Fills a pocket of a {wide} drill, as {bore.name}. Its flat side is flush with the "
            "pocket face; glue it in when the screw is driven, and sand it. Printed on that side "
            "its flanks overhang: turn supports on, or saw it off a dowel."
        )
        yield Aid(f"pocket plug {len(found)}", solid, about)


def plug(board: Board, bore: Bore) -> cq.Shape | None:
    """The plug, its flat side on z = 0; None where the head leaves no room for one."""
    radius = bore.drill.counterbore_radius - _PLAY
    start = bore.shoulder + bore.screw.head_height + _CLEAR
    up = board.face(bore.pocket_face).plane
    if start * dot(bore.back, up.normal) >= up.gap(bore.exit) + radius:
        return None
    rod = turned_solid(bore.exit, bore.back, [(start, radius), (bore.run_out(board), radius)])
    solid = one_solid(rod.intersect(blank_solid(board)), "pocket plug")
    # The pocket face downward, on z = 0, the plug along x.
    lean = dot(bore.back, up.normal)
    x = unit(along(bore.back, up.normal, -lean))
    plane = cq.Plane(
        cq.Vector(*along(bore.exit, up.normal, up.gap(bore.exit))),
        cq.Vector(*x),
        cq.Vector(*along((0.0, 0.0, 0.0), up.normal, -1.0)),
    )
    return laid(solid, cq.Location(plane).inverse)


AIDS = Aids(make)
