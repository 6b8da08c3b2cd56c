"""What a project's router work has to say: faults of programs, and what is left for the hand."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from ...models.machine.router import Form, Router
from ...models.piece.project import Finding, Project, Severity
from ...models.wood.cutters import router_of
from ...models.words.lengths import Unit, format_length
from ..cutting.nesting import span
from .operations import ROOF_LEFT, ROOF_WARNS, Operation
from .routing import Routing, Run
from .setup import Setup

_LEFT = 1.0  # mm3 that a program may leave of what its cutter reaches
_CALLED: dict[Form, str] = {
    "flat": "a flat cutter", "ball-nose": "a ball-nose cutter", "drill": "a drill",
}  # fmt: skip


def routing_findings(project: Project, routing: Routing) -> tuple[Finding, ...]:
    """All of them; what the hand does is told as a note where the recipe states no router."""
    router = router_of(project)
    return tuple(
        (
            *(finding for run in routing.runs for finding in _faults(run, router)),
            *_too_large(project, routing, router),
            *_unfit(project, routing, router),
            *_pockets(routing, router),
        )
    )


def _faults(run: Run, router: Router) -> Iterator[Finding]:
    first = run.laid[0][0].lying.board.name
    for board, fault in run.proof.faults:
        x, y, z = map(router.told, fault.at)
        yield Finding(
            "router-path",
            "fails",
            f"{run.program.name}: the cutter {fault.what}, by {router.told(fault.by)}, at "
            f"x {x}, y {y}, z {z}; the program is not written",
            board or first,
            measured=fault.by,
            needed=0.0,
        )
    if run.proof.left > _LEFT:
        yield Finding(
            "router-path",
            "warns",
            f"{run.program.name}: {router.volume(run.proof.left)} of wood are left where a cutter "
            "reaches",
            first,
        )


def _severity(router: Router) -> Severity:
    """What a router cannot do matters where the recipe states one."""
    return "warns" if router.stated else "notes"


def _at(router: Router, key: str) -> str:
    place = router.place(key)
    return f" ({place})" if place else ""


def _size(sides: Sequence[float], unit: Unit) -> str:
    return " x ".join(format_length(side, unit) for side in sides)


def _too_large(project: Project, routing: Routing, router: Router) -> Iterator[Finding]:
    """Boards and sheets that machine or sheet are too small for."""

    def takes(stock: tuple[float, float, float]) -> str:
        way, travel = (_size(s, project.unit) for s in (router.way(stock), router.machine.travel))
        return f"takes {way} of travel, safe height included; the machine has {travel}{at}"

    at = _at(router, "machine")
    cure = "saw it, or state a machine that reaches further (router: machine: travel, height)"
    for faces in routing.boards.values():
        setup = faces[0]
        if not all(router.reaches(one.stock) for one in faces):
            yield Finding(
                "router-size",
                _severity(router),
                f"its stock {takes(setup.stock)}",
                setup.lying.board.name,
                remedy=cure,
            )
    for nest in routing.nests:
        whole = span(nest.size, nest.stock, router)
        if not router.reaches(whole):
            yield Finding(
                "router-size",
                _severity(router),
                f"a sheet of {nest.stock.title} {takes(whole)}: nothing is nested on it",
                nest.left_out[0].name,
                remedy="saw the sheet up: each part has a program of its own; or state a machine "
                "that reaches further (router: machine: travel, height)",
            )
            continue
        for board in nest.left_out:
            yield Finding(
                "router-size",
                _severity(router),
                f"it has no room on a sheet of {nest.stock.title} within its margins, "
                f"{_size(nest.room, project.unit)}{_at(router, 'sheet_margin')}",
                board.name,
                remedy="make it smaller, or the margin (router: sheet_margin)",
            )


def _unfit(project: Project, routing: Routing, router: Router) -> Iterator[Finding]:
    """Work that no cutter at hand makes, or that leaves corners round."""
    for faces in routing.boards.values():
        some = ((setup, one) for setup in faces for one in setup.operations)
        told = (f for setup, one in some for f in _unfit_one(setup, one, router, project.unit))
        yield from dict.fromkeys(told)


def _unfit_one(setup: Setup, one: Operation, router: Router, unit: Unit) -> Iterator[Finding]:
    board, want = setup.lying.board.name, one.wants
    plain = one.kind == one.name or one.diameter or one.kind == "outline"
    what = one.kind if plain else f"{one.kind} ({one.name})"
    if want is not None:
        size = ""
        if math.isfinite(want.widest):
            least = "of" if want.form == "drill" else "no wider than"
            size = f" {least} {format_length(want.widest, unit)}"
        cutter = f"{_CALLED[want.form]}{size} that cuts {format_length(want.deep, unit)} deep"
        yield Finding(
            "router-tool",
            _severity(router),
            f"no cutter at hand makes this {what}{_at(router, 'tools')}: it takes {cutter}",
            board,
            remedy=f"do it by hand, or add {cutter} (router: tools)",
        )
    elif one.cutter is not None and "stay round" in one.left:
        yield Finding(
            "router-tool",
            "notes",
            f"inside corners of the {what} stay round, {format_length(one.cutter.radius, unit)}, "
            f"as {one.cutter.title} leaves them{_at(router, 'tools')}: square them by hand where "
            "something goes in",
            board,
        )


def _pockets(routing: Routing, router: Router) -> Iterator[Finding]:
    """Which bores are cut on three axes, and which are left for the drill."""
    for faces in routing.boards.values():
        for setup in faces:
            pockets = [one for one in setup.operations if one.slot is not None]
            cut = [one for one in pockets if one.cutter is not None]
            far = [one for one in pockets if one.roof > ROOF_LEFT]
            board = setup.lying.board.name
            if cut:
                yield Finding(
                    "router-pocket",
                    "notes",
                    "its pockets are cut on three axes as ramped slots; pilot and shoulder are "
                    "left for the stepped drill, which runs down the slot",
                    board,
                )
            for few, limit, says in (
                ([o for o in cut if o.roof > ROOF_WARNS], ROOF_WARNS, "the slots show longer"),
                (far, ROOF_LEFT, "they are left for the hand drill"),
            ):
                if few:
                    yield Finding(
                        "router-pocket",
                        "notes",
                        f"slots for {len(few)} of its pockets would take more than "
                        f"{router.volume(limit)} of wood above the bore: {says}",
                        board,
                    )
