"""A solid panel that what it is screwed to keeps from swelling and shrinking."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ...maths.geometry import Vec, dot
from ...piece.board import Board
from ...piece.lever import Lever, Setting, lever
from ...piece.project import Bore, Finding, Project
from ...wood.movement import GIVE, SLOT_STEP, movement_rate
from ...wood.tables import sheet_goods
from ...words.lengths import format_decimal, format_length, write_length
from ..study import Study
from . import Rule, at_bores

CODE = "cross-grain"
NARROW = 140.0
"""Up to this width (mm, 5-1/2 in) a board is fixed rigidly across its grain, as rails and aprons
are: common practice, no source."""
_PARALLEL = 0.999
_SLOT_STEP_INCH = 25.4 / 32  # mm


@dataclass(frozen=True)
class Hold:
    """A screw that holds a solid panel to what stands beside it.

    Attributes:
        bore: of the screw.
        point: where it crosses the joint, project's frame (mm).
        across: the same, measured across the panel's grain (mm).
        moves: how far the panel moves there across its grain, less what carries it (mm).
        play: how far it lets the panel move there, each way (mm).
    """

    bore: Bore
    point: Vec
    across: float
    moves: float
    play: float


@dataclass(frozen=True)
class _Link:
    """A screw between two panels or boards, each by the name of its first board."""

    bore: Bore
    bodies: tuple[str, str]
    point: Vec


def panels(project: Project) -> tuple[tuple[Board, ...], ...]:
    """Boards of solid wood, those glued edge to edge with their grain alongside taken as one."""
    solid = [board for board in project.boards if board.stock.kind != "sheet"]
    root = {board.name: board.name for board in solid}

    def find(name: str) -> str:
        while root[name] != name:
            name = root[name]
        return name

    for joint in project.joints:
        if joint.kind == "edge" and joint.first in root and joint.second in root:
            a, b = project.board_named[joint.first], project.board_named[joint.second]
            if abs(dot(a.pose.x, b.pose.x)) > _PARALLEL:
                root[find(b.name)] = find(a.name)
    found: dict[str, list[Board]] = {}
    for board in solid:
        found.setdefault(find(board.name), []).append(board)
    return tuple(tuple(boards) for boards in found.values())


_Ties = tuple[Mapping[str, str], Mapping[str, list[_Link]]]
"""By board its body's name, and by body the screws to others."""


def ties(project: Project) -> _Ties:
    """How panels and other boards are tied to each other."""
    first = {b.name: boards[0].name for boards in _bodies(project) for b in boards}
    links: dict[str, list[_Link]] = {}
    for bore in project.bores:
        bodies = first[bore.board], first[bore.mate]
        if bodies[0] != bodies[1]:
            point = project.board_named[bore.board].pose.point(bore.exit)
            for body in bodies:
                links.setdefault(body, []).append(_Link(bore, bodies, point))
    return first, links


def holds(project: Project, panel: Sequence[Board], tied_up: _Ties) -> list[list[Hold]]:
    """The screws that hold a panel: those together that something else than the panel ties up.

    What a screw is fixed to moves as well where its own grain runs as the panel's: from screw to
    screw, along what is joined, its movement is summed up, and what the panel moves beyond it
    counts.
    """
    first, links = tied_up
    own = first[panel[0].name]
    found: list[list[Hold]] = []
    left = {id(link.bore): link for link in links.get(own, ())}
    while left:
        start = next(iter(left.values()))
        carried = _carried(project, panel, start, links, own)
        tied = [link for link in left.values() if _other(link, own) in carried]
        found.append([_hold(project, panel, link, carried[_other(link, own)]) for link in tied])
        for link in tied:
            del left[id(link.bore)]
    return found


def _bodies(project: Project) -> Iterator[Sequence[Board]]:
    yield from panels(project)
    yield from ((board,) for board in project.boards if board.stock.kind == "sheet")


def _other(link: _Link, body: str) -> str:
    return link.bodies[link.bodies[0] == body]


def _carried(
    project: Project,
    panel: Sequence[Board],
    start: _Link,
    links: Mapping[str, list[_Link]],
    own: str,
) -> dict[str, tuple[float, Vec]]:
    """By body that is joined to a screw, not through the panel: how far it moves, and where."""
    way = panel[0].pose.y
    carried = {_other(start, own): (0.0, start.point)}
    queue = deque(carried)
    while queue:
        body = queue.popleft()
        for link in links[body]:
            following = _other(link, body)
            if following != own and following not in carried:
                moved = _moved(project.board_named[body], project, way, carried[body], link.point)
                carried[following] = moved, link.point
                queue.append(following)
    return carried


def _moved(
    board: Board, project: Project, way: Vec, entered: tuple[float, Vec], point: Vec
) -> float:
    """How far a point of a board moves along a way (mm), from where it is carried."""
    moved, start = entered
    rate = movement_rate(board.stock, project.limits.moisture_change) or 0.0
    return moved + rate * (1 - dot(board.pose.x, way) ** 2) * (dot(point, way) - dot(start, way))


def _hold(
    project: Project, panel: Sequence[Board], link: _Link, entered: tuple[float, Vec]
) -> Hold:
    way, bore = panel[0].pose.y, link.bore
    bored, mate = project.board_named[bore.board], project.board_named[bore.mate]
    fixed = mate if bored in panel else bored
    across = dot(link.point, way)
    moves = _rate(panel, project.limits.moisture_change) * across
    moves -= _moved(fixed, project, way, entered, link.point)
    slot = abs(dot(bored.pose.direction(bore.slot_along), way)) * bore.slot / 2
    return Hold(bore, link.point, across, moves, slot + GIVE)


def check(study: Study) -> Iterator[Finding]:
    """A panel that no shift as a whole lets move at all its screws warns."""
    project = study.project
    points, tied_up = project.limits.moisture_change, ties(project)
    for panel in panels(project):
        if _width(panel) <= NARROW:
            continue
        unknown = [b for b in panel if movement_rate(b.stock, points) is None]
        for screws in holds(project, panel, tied_up):
            held = None if unknown else _worst(screws)
            if held is not None:
                yield _held(project, panel, *held)
            elif unknown and len(screws) > 1:
                yield _unknown(unknown[0], screws[0])


def _width(panel: Sequence[Board]) -> float:
    """Across the grain (mm)."""
    way = panel[0].pose.y
    ends = [dot(board.pose.origin, way) + end for board in panel for end in _reach(board, way)]
    return max(ends) - min(ends)


def _reach(board: Board, way: Vec) -> tuple[float, float]:
    width = board.width * dot(board.pose.y, way)
    return min(width, 0.0), max(width, 0.0)


def _rate(panel: Sequence[Board], points: float) -> float:
    """Fraction of its width that a panel moves, by the liveliest of its boards that is known."""
    rates = [movement_rate(board.stock, points) for board in panel]
    return max((rate for rate in rates if rate is not None), default=0.0)


def _worst(screws: Sequence[Hold]) -> tuple[Hold, Hold, float, float] | None:
    """What binds a panel most: at one joint where one does by itself, as that is plain to see."""
    joints: dict[str, list[Hold]] = {}
    for hold in screws:
        joints.setdefault(hold.bore.joint, []).append(hold)
    alone = [binding for some in joints.values() if (binding := _binding(some))]
    return max(alone, key=lambda b: b[2] - b[3]) if alone else _binding(screws)


def _binding(screws: Sequence[Hold]) -> tuple[Hold, Hold, float, float] | None:
    """Two screws that hold a panel, how far it moves between them, and how far they let it (mm).

    Each asks for what the panel moves there, less what it shifts as a whole; the screws whose
    bounds on that shift lie furthest apart decide.
    """
    first = max(screws, key=lambda h: -h.moves - h.play)
    last = min(screws, key=lambda h: -h.moves + h.play)
    moves, free = last.moves - first.moves, first.play + last.play
    return (first, last, moves, free) if moves > free + 1e-6 else None


def stiller(study: Study, finding: Finding) -> Iterator[Lever]:
    """Slots at all the panel's screws, slower wood, or none that moves."""
    project = study.project
    (panel,) = (p for p in panels(project) if finding.board in {board.name for board in p})
    slots = _slots(project, panel)
    yield Lever("slot", [at_bores(project, "slot", slots)] if slots else ())
    labels = {board.stock.label: board.stock for board in panel}
    for label, stock in labels.items():
        at = ("stock", label)
        if stock.sawn == "flat":
            says = f"take boards for {label} that are {{}}-sawn"
            yield lever("sawn", (*at, "sawn"), says, ["quarter"])
    if len(labels) == 1:
        rows = [r for r in sheet_goods().values() if r.thinnest <= stock.thickness <= r.thickest]
        rows.sort(key=lambda row: abs(row.thickness - stock.thickness))
        away = tuple(Setting((*at, key), None) for key in ("wood", "sawn"))
        yield Lever(
            "sheet",
            [
                (Setting((*at, "sheet"), row.key, f"take {row.title} for {label}"), *away)
                for row in rows
            ],
        )


def _slots(project: Project, panel: Sequence[Board]) -> dict[str, tuple[str, str]]:
    """How long each pilot must be slotted so that the panel's middle stays, where it must be."""
    says = "slot the pilots across the panel's grain, each as far as it needs"
    step = SLOT_STEP if project.unit == "mm" else _SLOT_STEP_INCH
    found = {}
    for screws in holds(project, panel, ties(project)):
        middle = (min(h.moves for h in screws) + max(h.moves for h in screws)) / 2
        for hold in screws:
            moves = abs(hold.moves - middle)
            slot = max(0, math.ceil(2 * (moves - GIVE) / step - 1e-9)) * step
            if slot > 0:
                found[hold.bore.name] = (write_length(slot, project.unit), says)
    return found


def _held(
    project: Project, panel: Sequence[Board], a: Hold, b: Hold, moves: float, free: float
) -> Finding:
    def said(mm: float) -> str:
        return format_length(mm, project.unit)

    points = project.limits.moisture_change
    moved, let = (format_decimal(mm, project.unit) for mm in (moves, free))
    return Finding(
        CODE,
        "warns",
        f"solid {panel[0].stock.title} moves {moved} between {a.bore.name} and "
        f"{b.bore.name}, {said(abs(b.across - a.across))} apart across its grain, when its "
        f"moisture content changes by {points:g} points; the screws let it move {let}",
        board=panel[0].name if a.bore.mate not in {board.name for board in panel} else a.bore.mate,
        joint=a.bore.joint,
        bore=a.bore.name,
        measured=free,
        needed=moves,
        point=a.point,
    )


def _unknown(board: Board, screw: Hold) -> Finding:
    return Finding(
        CODE,
        "notes",
        f"no shrinkage of {board.stock.title} was published where we looked: how far it moves is "
        "not checked; common practice is to slot the pilots as for a similar wood",
        board=board.name,
        joint=screw.bore.joint,
        point=screw.point,
    )


RULE = Rule(
    CODE,
    "A solid panel that cannot swell and shrink",
    """Solid wood swells and shrinks across its grain; a frame or a board whose grain runs the other
way does not. Between two screws that are d apart across the grain a panel moves d x C x (change of
moisture content): Wood Handbook, FPL-GTR-190 (2010), eq. 13-2, with the coefficients of its Table
13-5 for flat-sawn or quarter-sawn boards (the stock says which) and the change that the recipe
states under limits. What the screws are fixed to may move as well: where its grain runs as the
panel's it goes along, which is counted from screw to screw. A slotted pilot lets the panel move by
half its slot each way, a round one by 0.25 mm (common practice, no source). The rule looks for one
shift of the whole panel that suits all its screws, whatever the joints are called; boards glued
edge to edge count as one panel. Sheet goods are left out, and boards up to 140 mm or 5-1/2 in wide,
which are fixed rigidly as rails and aprons are (common practice, no source).""",
    check,
    levers=stiller,
)
