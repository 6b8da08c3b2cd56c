"""A block that guides the stepped drill: its bore lies on the pocket's axis, fences hold it there.

As it is used: the block lies on the pocket face, a fence hooks over the joint face, and where the
pocket's place counts to the millimetre (at a mitre, or swung) a second fence hooks over the edge
that its place is measured from. It is printed upside down, on its flat top.

           ______________
          |    _.-'      |  block
     _____|_.-'__________|________  pocket face
    | |_.-'
    |f|      bored board             f: fence on the joint face
    |_|___________________________
"""

from __future__ import annotations

from collections.abc import Iterator

from ...models.maths.geometry import Plane, Vec, along, cross, dot
from ...models.piece.board import Board
from ...models.piece.markout import mark_out
from ...models.piece.project import Bore, Project
from ...models.words.lengths import format_length
from ..solids.kernel import cq
from ..solids.solids import laid, one_solid, polytope, turned_solid
from . import Aid, Aids

# Common practice, no source: what a drill needs to run freely, and what holds it straight.
_PLAY = 0.1  # mm between drill and bore, on the radius
_HELD = 25.0  # mm of the bore that is closed all round
_WALL = 8.0  # mm of block beside the bore, and of the fences
_OVER = 12.0  # mm that a fence reaches down the board, at most
_FAR = 400.0


def make(project: Project) -> Iterator[Aid]:
    """A block for every slope, swing, height and drill, and for every place that counts."""
    found: dict[tuple[object, ...], str] = {}
    for bore in project.bores:
        board = project.board_named[bore.board]
        placed = abs(bore.swing) > 1e-6 or mark_out(board, bore).mitre > 1e-6
        solid, key = guide(board, bore, placed=placed)
        if key in found:
            continue
        name = f"drill guide {len(found) + 1}"
        found[key] = name
        yield Aid(name, solid, _about(project, board, bore, placed), _marks(board, bore))


def guide(board: Board, bore: Bore, *, placed: bool) -> tuple[cq.Shape, tuple[object, ...]]:
    """The block as it is printed, and what tells it from others.

    Args:
        board: the bored board.
        bore: one of its bores.
        placed: whether a second fence holds it along the joint.
    """
    frame = _Frame(board, bore)
    big = bore.drill.counterbore_radius
    sine, cosine = dot(bore.back, frame.up), dot(bore.back, frame.inward)
    high = _HELD * sine + 2 * big * (1 - sine * sine) ** 0.5
    top = frame.pocket + high
    reach = (top - frame.exit[2] + big) / sine
    side = abs(dot(bore.back, frame.aside)) * reach + big + _WALL
    down = frame.pocket - min(_OVER, 0.8 * frame.thick)
    ends = (0.0, cosine * reach + _WALL)
    block = [
        Plane((0.0, 0.0, 1.0), top), Plane((0.0, 0.0, -1.0), -frame.pocket),
        Plane((-1.0, 0.0, 0.0), _WALL), Plane((1.0, 0.0, 0.0), ends[1]),
        Plane((0.0, 1.0, 0.0), frame.exit[1] + side), Plane((0.0, -1.0, 0.0), side - frame.exit[1]),
    ]  # fmt: skip
    floor, joint = Plane((0.0, 0.0, -1.0), -down), Plane((1.0, 0.0, 0.0), 0.0)
    fence = [block[0], floor, block[2], joint, *block[4:]]
    parts = [polytope(block, "drill guide"), polytope(fence, "drill guide's fence")]
    edge = frame.edge if placed else None
    if edge is not None:
        # From the block to the edge and over it.
        sign = 1.0 if edge.normal[1] > 0 else -1.0
        out = Plane(edge.normal, edge.offset + _WALL)
        across = Plane((0.0, -sign, 0.0), -sign * frame.exit[1])
        arm = [*block[:4], out, across]
        hook = [block[0], floor, *block[2:4], out, _turned(edge)]
        parts += [polytope(arm, "drill guide's arm"), polytope(hook, "drill guide's hook")]
    whole: cq.Shape = parts[0].fuse(*parts[1:]).clean()
    axis = (dot(bore.back, frame.inward), dot(bore.back, frame.aside), dot(bore.back, frame.up))
    drill = turned_solid(frame.exit, axis, [(-_FAR, big + _PLAY), (_FAR, big + _PLAY)])
    bored = one_solid(whole.cut(drill), "drill guide")
    over = cq.Location(cq.Vector(0.0, 0.0, top), cq.Vector(1.0, 0.0, 0.0), 180.0)
    solid = laid(bored, over)
    numbers = (*axis, frame.pocket - frame.exit[2], big, high, down - frame.pocket)
    where = (frame.exit[1], *edge.normal, edge.offset) if edge else ()
    return solid, tuple(round(n, 4) for n in (*numbers, *where))


class _Frame:
    """The joint's own frame: x into the bored board, y along the joint, z out of the pocket face.

    The origin lies on the joint face at z of the board's own frame turned so; `edge` is the face
    that the pocket's place is measured from.
    """

    def __init__(self, board: Board, bore: Bore):
        joint = board.face(bore.joint_face).plane
        pocket = board.face(bore.pocket_face).plane
        mark = mark_out(board, bore)
        self.up = pocket.normal
        self.inward = (-joint.normal[0], -joint.normal[1], -joint.normal[2])
        self.aside = cross(self.up, self.inward)
        start = along((0.0, 0.0, 0.0), joint.normal, joint.offset)
        off = (bore.exit[0] - start[0], bore.exit[1] - start[1], bore.exit[2] - start[2])
        # Along the joint the exit itself is the origin, so that like places give like blocks.
        self.exit: Vec = (0.0, 0.0, dot(off, self.up) + dot(start, self.up))
        self.pocket = pocket.offset
        self.thick = board.across(bore.pocket_face)
        face = mark.edge if mark.end.side == bore.joint_face else mark.end
        normal = face.plane.normal
        self.edge = Plane(
            (dot(normal, self.inward), dot(normal, self.aside), dot(normal, self.up)),
            face.plane.gap(bore.exit),
        )
        turned = self.edge.normal
        self.edge = Plane(turned, self.edge.offset + turned[2] * self.exit[2])


def _turned(plane: Plane) -> Plane:
    x, y, z = plane.normal
    return Plane((-x, -y, -z), -plane.offset)


def _about(project: Project, board: Board, bore: Bore, placed: bool) -> str:
    swing = f", swung {abs(bore.swing):g} degrees" if bore.swing else ""
    wide = format_length(2 * bore.drill.counterbore_radius, project.unit)
    how = (
        f"Hold its fences against the joint face and the edge of the {board.role}: the pocket is "
        f"then where {bore.name} belongs."
        if placed
        else "Hold its fence against the joint face, its bore over the pencil mark."
    )
    return (
        f"Guides a {wide} stepped drill at {bore.slope:g} degrees{swing}. {how} Clamp it; wear eye "
        "protection. Printed on its flat top; the bore's roof is bridged, all else stands upright."
    )


def _marks(board: Board, bore: Bore) -> tuple[tuple[str, object], ...]:
    return (
        ("bore", bore.name),
        ("slope", bore.slope),
        ("swing", bore.swing),
        ("board", board.name),
    )


AIDS = Aids(make)
