"""A solid top that its screws keep from swelling and shrinking."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ...maths.geometry import Vec, dot
from ...piece.board import Board
from ...piece.lever import Lever, Setting, lever
from ...piece.project import Bore, Finding, Project, at_bores
from ...wood.movement import GIVE, SLOT_STEP, movement_rate
from ...wood.tables import sheet_goods
from ...words.lengths import format_decimal, format_length, write_length
from ..study import Study
from . import Rule

CODE = "cross-grain"
_PARALLEL = 0.999


@dataclass(frozen=True)
class Hold:
    """A screw that holds a solid panel to what is below.

    Attributes:
        bore: of the screw.
        point: where it enters the panel, project's frame (mm).
        across: the same, measured across the panel's grain (mm).
        play: how far it lets the panel move there, each way (mm).
    """

    bore: Bore
    point: Vec
    across: float
    play: float


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


def holds(project: Project, panel: Sequence[Board]) -> list[Hold]:
    """The screws that come into a panel from what it lies on."""
    names = {board.name for board in panel}
    way = panel[0].pose.y
    found = []
    for joint in project.joints:
        for bore in joint.bores if joint.kind == "panel" else ():
            if bore.mate in names and bore.board not in names:
                pose = project.board_named[bore.board].pose
                point = pose.point(bore.exit)
                along = abs(dot(pose.direction(bore.slot_along), way)) * bore.slot / 2
                found.append(Hold(bore, point, dot(point, way), along + GIVE))
    return found


def check(study: Study) -> Iterator[Finding]:
    """A panel that no shift as a whole lets move at all its screws warns."""
    project = study.project
    points = project.limits.moisture_change
    for panel in panels(project):
        screws = holds(project, panel)
        if len(screws) < 2:
            continue
        rates = [movement_rate(board.stock, points) for board in panel]
        if None in rates:
            yield _unknown(panel[rates.index(None)], screws[0])
        held = _binding(screws, _rate(panel, points))
        if held is not None:
            yield _held(project, panel, *held)


def _rate(panel: Sequence[Board], points: float) -> float:
    """Fraction of its width that a panel moves, by the liveliest of its boards that is known."""
    rates = [movement_rate(board.stock, points) for board in panel]
    return max((rate for rate in rates if rate is not None), default=0.0)


def _binding(screws: Sequence[Hold], rate: float) -> tuple[Hold, Hold, float, float] | None:
    """Two screws that hold a panel, how far it moves between them, and how far they let it (mm).

    As it swells a screw at u asks for u * rate, less what the panel shifts as a whole; the screws
    whose bounds on that shift lie furthest apart decide.
    """
    first = max(screws, key=lambda h: -rate * h.across - h.play)
    last = min(screws, key=lambda h: -rate * h.across + h.play)
    moves = rate * (last.across - first.across)
    free = first.play + last.play
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
    screws = holds(project, panel)
    rate = _rate(panel, project.limits.moisture_change)
    middle = (min(h.across for h in screws) + max(h.across for h in screws)) / 2
    found = {}
    for hold in screws:
        moves = rate * abs(hold.across - middle)
        slot = max(0, math.ceil(2 * (moves - GIVE) / SLOT_STEP - 1e-9)) * SLOT_STEP
        if slot > 0:
            says = "slot the pilots across the panel's grain, each as far as it needs"
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
        board=a.bore.mate,
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
    "A solid top that cannot swell and shrink",
    """Solid wood swells and shrinks across its grain; a base whose grain runs the other way does
not. Between two screws that are d apart across the grain it moves d x C x (change of moisture
content): Wood Handbook, FPL-GTR-190 (2010), eq. 13-2, with the coefficients of its Table 13-5 for
flat-sawn or quarter-sawn boards (the stock says which) and the change that the recipe states under
limits. A slotted pilot lets the panel move by half its slot each way, a round one by 0.25 mm
(common practice, no source). The rule looks for one shift of the whole panel that suits all its
screws; boards glued edge to edge count as one panel, sheet goods are left out.""",
    check,
    levers=stiller,
)
