"""The order of assembly in pictures: what is there already is faint, what is new is dark.

A white arrow shows how a board comes, slim ones where its screws are driven. Numbers and words are
those that the order has everywhere; what is done as in earlier steps has words alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from ...models.judging.order import Step
from ...models.maths.geometry import Pose, Vec, along, dot
from ...models.piece.board import TOP
from ...models.piece.lie import Lying
from ...models.piece.markout import mark_out
from ...models.piece.project import Joint, Project
from ..drawing.fonts import wrapped
from ..drawing.marks import Drawing, Leader, Mark, Pen, Point, Polyline, Sheet, Text
from ..drawing.plain import extent
from ..solids.hidden import CORNER, Lines, Look, seen
from ..solids.product import Product
from ..telling.mating import footprint
from ..telling.steps import Stage, mind, stages
from . import Pages
from .flow import Block, Drawn, Flow, beside
from .frame import Room, centred, filling, lines
from .paper import Paper

_COLUMNS = 3
_PICTURE = 56.0  # mm of paper that a picture is high
_TEXT = 2.1
_BESIDE = 6.0
_AROUND = 6.0  # mm of paper about a picture for the arrows
_FURTHEST = 8.0  # mm of paper from the middle of a new board to its arrow, at most
_FACING = 0.15  # cosine to the eye from which on a pocket counts as seen
_WEDGE = 3.0  # mm of paper: length of a clamp's wedge
_HOW = (
    "Dark: what is new. White arrow: how it comes. Slim arrows: where screws are driven, and which "
    "way. Black wedges: a clamp. In brackets: what holds it meanwhile, and what sets it back."
)
_CORNERS: tuple[tuple[str, Look], ...] = (
    ("", CORNER),
    ("from the left", Look((-0.62, -1.0, 0.52))),
    ("from the back", Look((-0.62, 1.0, 0.52))),
    ("from the back and the left", Look((-1.0, 0.62, 0.52))),
    ("from below", Look((0.62, -1.0, -0.52))),
    ("from below and the back", Look((-0.62, 1.0, -0.52))),
)
"""Where a picture may be seen from, the usual one first."""


def make(product: Product, paper: Paper) -> Iterator[Sheet]:
    """Three pictures side by side, in the order's own numbers."""
    wide = (paper.wide - _BESIDE * (_COLUMNS - 1)) / _COLUMNS - 1e-6
    flow = Flow(paper, "Order of assembly")
    if stages(product.project):
        flow.add([_legend(paper)])
    blocks = [_block(product, stage, wide) for stage in stages(product.project)]
    for block in beside(blocks, paper.wide):
        flow.add([block])
    yield from flow.done()


def _legend(paper: Paper) -> Block:
    told = wrapped(_HOW, paper.wide, _TEXT)
    return Block(3.6 * len(told) + 4.0, lambda x, y: (tuple(lines((x, y), told, _TEXT)), ()))


def pictured(stage: Stage) -> bool:
    """Whether a line of the order has a picture: not where something is done once more."""
    return stage.again is None and stage.steps[0].way is not None


def _block(product: Product, stage: Stage, wide: float) -> Block:
    """A line of the order under its picture."""
    where, drawing = _picture(product, stage, wide) if pictured(stage) else ("", None)
    paragraphs = [f"{stage.number}. {stage.text}"]
    if drawing is not None and (cautions := mind(product.project, stage.steps)):
        paragraphs.append(f"Mind: {'; '.join(cautions)}.")
    if where:
        paragraphs.append(f"Seen {where}.")
    says = [line for one in paragraphs for line in wrapped(one, wide, _TEXT)]
    high = _PICTURE if drawing is not None else 0.0

    def draw(x: float, y: float) -> Drawn:
        marks: list[Text] = list(lines((x, y - high - 1.0), says, _TEXT))
        room = Room(x, y - high, wide, high)
        return marks, () if drawing is None else (centred(drawing, room),)

    return Block(high + 3.6 * len(says) + 6.0, draw, wide)


# --- pictures ------------------------------------------------------------------------------------


def _picture(product: Product, stage: Stage, wide: float) -> tuple[str, Drawing]:
    """Where the boards are seen from, and what is seen."""
    new = tuple(dict.fromkeys(name for step in stage.steps for name in step.boards))
    where, look, views = _in_sight(product, stage, new)
    marks: list[Mark] = []
    for name, view in views.items():
        pen: Pen = "outline" if name in new else "faint"
        marks += [Polyline(path, pen) for path in view.outline]
    bare = Drawing(f"step {stage.number}", tuple(marks))
    paths = [views[name] for name in stage.steps[0].boards]
    way = stage.steps[0].way
    ends = [p for one in paths for path in one.outline for p in path]
    drawing = filling(bare, wide - 2 * _AROUND, _PICTURE - 2 * _AROUND)
    for _ in range(4):  # arrows keep their size on paper: what reaches out makes the rest smaller
        arrows = [
            *_screws(product.project, stage.steps, look, drawing.scale),
            *_clamps(product.project, stage.steps, look, drawing.scale),
        ]
        if ends and way is not None:
            arrows += _arrow(ends, look.at(way), drawing.scale)
        drawing = replace(drawing, marks=(*marks, *arrows))
        (x0, y0), (x1, y1) = extent(drawing)
        share = min(wide / (x1 - x0), _PICTURE / (y1 - y0))
        if share >= 1.0:
            break
        drawing = replace(drawing, scale=0.97 * share * drawing.scale)
    return where, drawing


def _in_sight(
    product: Product, stage: Stage, new: Sequence[str]
) -> tuple[str, Look, Mapping[str, Lines]]:
    """The best corner from which something of the new boards is in sight, and what is seen."""
    there = dict.fromkeys(name for step in stage.steps for name in step.onto)
    solids = {name: product.solids.board_solid(name) for name in dict.fromkeys((*there, *new))}
    stand = product.project.stand(product.project.board_named[new[0]].piece)
    corners = _corners(product.project, stage.steps, stand)
    for where, look in corners:
        views = seen(solids, look)
        if any(views[name].outline for name in new):
            return where, look, views
    return *corners[0], seen(solids, corners[0][1])


def _corners(project: Project, steps: Sequence[Step], stand: Pose) -> Sequence[tuple[str, Look]]:
    """First the corners from which most pockets, and the new board as it comes, face the eye."""

    def faced(look: Look) -> tuple[int, bool]:
        eye = look.frame[2]
        backs = (
            project.board_named[b.board].pose.direction(b.back)
            for step in steps
            for b in step.bores
        )
        return sum(dot(back, eye) > _FACING for back in backs), dot(way, eye) < _FACING

    way: Vec = steps[0].way or (0.0, 0.0, 0.0)
    all_ = [(where, look.on(stand)) for where, look in _CORNERS]
    open_ = [one for one in all_ if math.hypot(*one[1].at(way)) >= 0.3] or all_
    return sorted(open_, key=lambda one: faced(one[1]), reverse=True)


def _screws(project: Project, steps: Sequence[Step], look: Look, scale: float) -> Iterator[Mark]:
    """A slim arrow to each pocket, the way that its screw is driven."""
    for bore in (bore for step in steps for bore in step.bores):
        board = project.board_named[bore.board]
        mouth = look.at(board.pose.point(mark_out(board, bore).mouth))
        back = look.at(board.pose.direction(bore.back))
        size = math.hypot(*back)
        if size < 0.05:  # straight away from the eye: nothing to see
            continue
        long = 6.0 / scale
        tail = (mouth[0] + back[0] / size * long, mouth[1] + back[1] / size * long)
        yield Leader((mouth, tail), "")


def _clamps(
    project: Project, steps: Sequence[Step], look: Look, scale: float
) -> Iterator[Polyline]:
    """A pair of black wedges where a clamp presses: one for each kind of joint that is clamped."""
    kinds = {joint.kind: joint for step in reversed(steps) for joint in reversed(step.joints)}
    for joint in kinds.values():
        for point, way in pressed(project, joint):
            (x, y), (a, b) = look.at(point), look.at(way)
            size = math.hypot(a, b)
            if size < 0.3:  # nearly straight away from the eye: nothing to see
                continue
            ux, uy = a / size / scale, b / size / scale
            corners = ((0.0, 0.0), (-_WEDGE, 0.4 * _WEDGE), (-_WEDGE, -0.4 * _WEDGE))
            yield Polyline(
                tuple((x + p * ux - q * uy, y + p * uy + q * ux) for p, q in corners),
                None, True, 0.0,
            )  # fmt: skip


def pressed(project: Project, joint: Joint) -> Iterator[tuple[Vec, Vec]]:
    """Where the jaws of a clamp stand, and which way they press; in the project's frame (mm)."""
    board, mate = project.board_named[joint.first], project.board_named[joint.second]
    outline = footprint(project, joint)
    if len(outline) < 3 or joint.kind not in ("butt", "edge", "edging", "frame"):
        return
    x, y = (sum(p[i] for p in outline) / len(outline) for i in (0, 1))
    lying = Lying(mate, joint.second_face)
    middle = mate.pose.point(lying.on_board((x, y, 0.0)))
    if joint.kind == "frame":  # over both faces, flush
        normal = board.pose.direction(board.face(TOP).plane.normal)
        out, back = board.thickness / 2, board.thickness / 2
    else:
        normal = mate.pose.direction(mate.face(joint.second_face).plane.normal)
        out, back = board.across(joint.first_face), mate.across(joint.second_face)
    for far in (out, -back):
        way = along((0.0, 0.0, 0.0), normal, -math.copysign(1.0, far))
        yield along(middle, normal, far), way


def _arrow(ends: Sequence[Point], way: Point, scale: float) -> Iterator[Mark]:
    """Which way the new board comes: a white arrow that ends where the board begins."""
    size = math.hypot(*way)
    if size < 0.05:  # straight away from the eye: nothing to see
        return
    ux, uy = way[0] / size, way[1] / size
    along = [x * ux + y * uy for x, y in ends]
    xs, ys = [p[0] for p in ends], [p[1] for p in ends]
    x, y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    back = min(x * ux + y * uy - min(along), _FURTHEST / scale)
    outline = ((0.0, 0.0), (-4.0, 2.2), (-4.0, 1.0), (-9.0, 1.0))
    points = [*outline, *((a, -b) for a, b in outline[:0:-1])]
    placed = tuple(
        (x + (a / scale - back) * ux - b / scale * uy, y + (a / scale - back) * uy + b / scale * ux)
        for a, b in points
    )
    yield Polyline(placed, "mark", True, 1.0)


PAGES = Pages("Order of assembly", 40, make)
