"""A project's router work: every different board by itself, sheet goods nested, all proven."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ...models.machine.router import Router
from ...models.piece.board import Board
from ...models.piece.groups import groups
from ...models.piece.project import Project
from ...models.wood.cutters import router_of
from ..cutting.nesting import Nest, nests
from .moves import Pass, Program
from .proving import CELL, Place, Proof, Targets, proven
from .setup import Setup, moved, on_sheet, program, setups

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
        nests: the sheets of each sheet stock.
        sheets: a program for each of those sheets.
    """

    boards: Mapping[str, tuple[Setup, ...]]
    single: tuple[Run, ...]
    nests: tuple[Nest, ...]
    sheets: tuple[Run, ...]

    @property
    def runs(self) -> tuple[Run, ...]:
        """All programs."""
        return (*self.single, *self.sheets)


def route(project: Project) -> Routing:
    """Plan and prove all programs of a project."""
    router, alike, targets = router_of(project), groups(project), Targets()
    boards = {some[0].name: _within(setups(project, some[0], router), router) for some in alike}
    single = [
        Run(made, laid, proven(made, laid, router.machine, CELL, targets))
        for faces in boards.values()
        for setup in faces
        if (made := program(setup)) is not None
        for laid in [((setup, setup.margin),)]
    ]
    cut = {b.name: _named(boards[some[0].name][0], b) for some in alike for b in some}
    cut = {name: on_sheet(project, setup, router) for name, setup in cut.items()}
    nested = tuple(nests(project))
    return Routing(boards, tuple(single), nested, tuple(_sheets(nested, cut, router, targets)))


def _within(faces: tuple[Setup, ...], router: Router) -> tuple[Setup, ...]:
    """A board's set-ups; left for the hand where its stock is larger than the machine."""
    if all(router.reaches(setup.stock) for setup in faces):
        return faces
    why = "its stock is larger than the machine's travel: saw and drill it by hand"
    return tuple(setup.by_hand(why) for setup in faces)


def _named(setup: Setup, board: Board) -> Setup:
    """The set-up of a board that is like the one that it was made for."""
    return replace(setup, lying=replace(setup.lying, board=board))


def _sheets(
    nested: Sequence[Nest], cut: Mapping[str, Setup], router: Router, targets: Targets
) -> Iterator[Run]:
    for nest in nested:
        size = (nest.size.length, nest.size.width, nest.stock.thickness)
        for number, sheet in enumerate(nest.sheets, start=1):
            laid = tuple((cut[one.part.name], (one.rect.x, one.rect.y)) for one in sheet.laid)
            made = _sheet_program(f"{nest.stock.label} sheet {number}", laid, size)
            if made.passes:
                proof = proven(made, laid, router.machine, _SHEET_CELL, targets)
                yield Run(made, laid, proof)


def _sheet_program(
    name: str, laid: Sequence[tuple[Setup, Place]], size: tuple[float, float, float]
) -> Program:
    """All boards' passes, cutter by cutter, the outlines last of all."""
    inner: list[Pass] = []
    outer: list[Pass] = []
    for setup, place in laid:
        for one in setup.routed:
            some = [moved(p, *place) for p in one.passes]
            some = [replace(p, about=f"{setup.lying.board.name}: {p.about}") for p in some]
            (outer if one.kind == "outline" else inner).extend(some)
    last = {one.cutter for one in outer}
    inner.sort(key=lambda p: (p.cutter in last, p.cutter.number))
    notes = tuple(f"{setup.lying.board.name}, {setup.face} up" for setup, _ in laid)
    return Program(name, size, (*inner, *outer), notes)
