"""router/: operations, drill vectors, blank solids, drawings, programs and set-up sheets."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from ...models.machine.router import Machine, Router
from ...models.wood.cutters import router_of
from ...models.words.lengths import Unit
from ..drawing.colours import stock_colour
from ..drawing.pdf import pdf
from ..router.findings import routing_findings
from ..router.layout import dxf
from ..router.lists import OPERATIONS, VECTORS, operations, vectors
from ..router.moves import text
from ..router.operations import CHORD
from ..router.routing import Routing, Run, route
from ..router.setup import Setup
from ..router.sheets import setup_sheets
from ..solids.kernel import cq
from ..solids.product import Product
from ..solids.solids import laid, unbored_solid
from ..solids.step import Part, write_part
from ..telling.csvfile import headings, write_csv
from . import Ready, Writer


def ready(product: Product) -> Ready:
    """Plan all programs and prove them."""
    routing = route(product.project)
    return Ready(routing_findings(product.project, routing), partial(_write, routing))


def write(product: Product, folder: Path) -> None:
    """Write the files."""
    _write(route(product.project), product, folder)


def _write(routing: Routing, product: Product, folder: Path) -> None:
    project, router = product.project, router_of(product.project)
    home = folder / "router"
    home.mkdir()
    write_csv(home / "operations.csv", OPERATIONS, operations(project, routing))
    write_csv(home / "drill-vectors.csv", VECTORS, vectors(project, routing))
    (home / "headings.txt").write_text(_headings(), encoding="utf-8")
    _blanks(routing, router.machine, home)
    for run in routing.runs:
        if not run.proof.faults:
            _program(run, project.unit, router, home)
    sheets = tuple(setup_sheets(product, routing, router.machine))
    (home / "set-up sheets.pdf").write_bytes(pdf(sheets, f"{project.name}: set-up sheets"))


def _blanks(routing: Routing, machine: Machine, home: Path) -> None:
    """Each before any pocket is cut."""
    for setups in routing.boards.values():
        for setup in setups:
            board, name = setup.lying.board, setup.name
            solid = laid(unbored_solid(board), placing(setup, machine))
            write_part(home / f"{name}.step", Part(name, solid, stock_colour(board.stock)))


def placing(setup: Setup, machine: Machine) -> cq.Location:
    """From the board's frame to the machine's: its face up at +z, zero where the program's is."""
    lying = setup.lying
    right, away, up = lying.axes
    x0, y0, z0 = (o - m for o, m in zip(lying.origin, (*setup.margin, 0.0), strict=True))
    if machine.zero == "spoil board":
        z0 -= lying.size[2]
    origin = tuple(x0 * r + y0 * a + z0 * u for r, a, u in zip(right, away, up, strict=True))
    plane = cq.Plane(cq.Vector(*origin), cq.Vector(*right), cq.Vector(*up))
    return cq.Location(plane).inverse


def _program(run: Run, unit: Unit, router: Router, home: Path) -> None:
    name, size = run.program.name, run.program.size
    (home / f"{name}.ngc").write_text(text(run.program, router.machine, unit), encoding="ascii")
    drawn = f"{name} mm" if router.drawing == "R12" else name  # R12 does not say its unit
    drawing = dxf(run.laid, size[:2], router.drawing)
    (home / f"{drawn}.dxf").write_text(drawing, encoding="utf-8")


def _headings() -> str:
    lines = ["operations.csv", "", *headings(OPERATIONS), ""]
    lines += ["drill-vectors.csv", "", *headings(VECTORS), ""]
    lines += [
        "Programs, drawings and solids: zero is the front left corner of the stock, which reaches",
        "beyond the board by board_x_mm to the left and right and board_y_mm to front and back.",
        "Lists and drawings are in millimetres; a program says its unit. Layers of the drawings:",
        "the work and its depth; those that begin with not_cut are not cut. What is open at a side",
        "of the board is drawn out over it, as far as a cutter runs out; lists have its own size.",
        f"Circles are circles; other curves are drawn in straight lines, {CHORD:g} mm off at most.",
        "A program that did not pass its proof is not here, nor is its drawing.",
    ]
    return "\n".join([*lines, ""])


WRITER = Writer(
    "router",
    "router/operations.csv, router/drill-vectors.csv, router/headings.txt, router/NAME.step, "
    "router/NAME.dxf, router/NAME.ngc, router/set-up sheets.pdf",
    "programs, drawings and blank solids for the router, each with its set-up sheet",
    write,
    ready=ready,
)
