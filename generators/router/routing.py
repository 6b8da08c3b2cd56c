"""A project's router work: every different board by itself, sheet goods nested, all proven."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ...models.piece.board import Board, Stock
from ...models.piece.groups import groups
from ...models.piece.project import Finding, Project
from ...models.wood.tables import sheet_goods
from ..cutting.sheets import Part, SheetSize, plan_sheets
from .cutters import Cutter, Machine, cutters
from .moves import Pass, Program
from .proving import Place, Proof, proven
from .setup import Setup, moved, program, setups

MARGIN = 10.0  # mm of stock around a board that is cut by itself
_EDGE = 12.0  # mm that nested parts stay off the sheet's edge
_BETWEEN = 2.0  # mm between nested parts, more than the cutter's diameter
_SHEET_CELL = 1.0  # mm, of the map of heights of a whole sheet


@dataclass(frozen=True)
class Run:
    """A program with what lies on its stock, and its proof."""

    program: Program
    laid: tuple[tuple[Setup, Place], ...]
    proof: Proof


@dataclass(frozen=True)
class Routing:
    """All of a project's router work.

    Attributes:
        boards: per different board its faces, the first with the outline.
        single: a program for each of those faces that has any cut.
        sheets: a program for each nested sheet, by the title of its stock.
        findings: of the proofs, and of what no program makes.
    """

    boards: Mapping[str, tuple[Setup, ...]]
    single: tuple[Run, ...]
    sheets: tuple[tuple[Stock, Run], ...]
    findings: tuple[Finding, ...]


def route(project: Project, machine: Machine) -> Routing:
    """Plan and prove all programs of a project."""
    alike = groups(project)
    boards = {some[0].name: setups(project, some[0], machine) for some in alike}
    single = []
    for faces in boards.values():
        for setup in faces:
            made = program(setup, machine, MARGIN)
            if made is not None:
                laid = ((setup, (MARGIN, MARGIN)),)
                single.append(Run(made, laid, proven(made, laid)))
    first = {board.name: boards[some[0].name][0] for some in alike for board in some}
    sheets = tuple(_nested(project, first, machine))
    findings = [*_outside(project, single, machine)]
    for run in (*single, *(run for _, run in sheets)):
        findings += _faults(run)
    return Routing(boards, tuple(single), sheets, tuple(findings))


def _widest() -> Cutter:
    return max((c for c in cutters().values() if c.form == "flat"), key=lambda c: c.radius)


def _nested(
    project: Project, first: Mapping[str, Setup], machine: Machine
) -> Iterator[tuple[Stock, Run]]:
    """The sheets of each sheet stock, every board on one of them, grain along the sheet."""
    gap = 2 * _widest().radius + _BETWEEN
    for stock in dict.fromkeys(board.stock for board in project.boards):
        if stock.kind != "sheet":
            continue
        length, width = sheet_goods()[stock.material].sheet
        size = SheetSize(length, width, gap, _EDGE)
        boards = [b for b in project.boards if b.stock == stock and _can_nest(b, size)]
        by_name = {board.name: board for board in boards}
        parts = [Part(board.name, board.length, board.width) for board in boards]
        if not parts:
            continue
        for number, sheet in enumerate(plan_sheets(parts, size).sheets, start=1):
            laid = tuple((first[one.part.name], (one.rect.x, one.rect.y)) for one in sheet.laid)
            named = tuple(
                (replace(setup, lying=replace(setup.lying, board=by_name[one.part.name])), place)
                for (setup, place), one in zip(laid, sheet.laid, strict=True)
            )
            made = _sheet_program(stock, number, named, (length, width, stock.thickness))
            if made.passes:
                yield stock, Run(made, named, proven(made, named, _SHEET_CELL))


def _can_nest(board: Board, size: SheetSize) -> bool:
    room = (size.length - 2 * size.trim, size.width - 2 * size.trim)
    return board.length <= room[0] and board.width <= room[1]


def _sheet_program(
    stock: Stock, number: int, laid: Sequence[tuple[Setup, Place]], size: tuple[float, float, float]
) -> Program:
    """All boards' passes, cutter by cutter, the outlines last of all."""
    inner: list[Pass] = []
    outer: list[Pass] = []
    for setup, place in laid:
        for one in setup.routed:
            some = [moved(p, *place) for p in one.passes]
            some = [replace(p, about=f"{setup.lying.board.name}: {p.about}") for p in some]
            (outer if one.kind == "outline" else inner).extend(some)
    inner.sort(key=lambda p: p.cutter.number)
    notes = tuple(f"{setup.lying.board.name}, {_face(setup)} up" for setup, _ in laid)
    return Program(f"{stock.label} sheet {number}", size, (*inner, *outer), notes)


def _face(setup: Setup) -> str:
    return setup.lying.board.face(setup.lying.side).name


# --- findings ------------------------------------------------------------------------------------


def _faults(run: Run) -> Iterator[Finding]:
    for board, fault in run.proof.faults:
        x, y, z = fault.at
        yield Finding(
            "router-path",
            "fails",
            f"{run.program.name}: the cutter {fault.what} by {fault.by:.2f} mm at x {x:.1f}, "
            f"y {y:.1f}, z {z:.1f}",
            board or run.laid[0][0].lying.board.name,
            measured=fault.by,
            needed=0.0,
        )
    if run.proof.left > 1.0:
        yield Finding(
            "router-path",
            "warns",
            f"{run.program.name}: {run.proof.left:.0f} mm3 of wood are left where a cutter reaches",
            run.laid[0][0].lying.board.name,
        )


def _outside(project: Project, runs: Sequence[Run], machine: Machine) -> Iterator[Finding]:
    """Boards that are larger than the machine: they are left for the saw and the hand drill."""
    for run in runs:
        over = [a for a, b in zip(run.program.size, machine.travel, strict=True) if a > b]
        if over:
            board = run.laid[0][0].lying.board
            yield Finding(
                "router-size",
                "notes",
                f"{run.program.name}: its stock is larger than the machine's travel; leave it for "
                "the saw, or state the machine in the recipe",
                board.name,
                measured=max(over),
            )
