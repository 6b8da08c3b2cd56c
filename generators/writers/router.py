"""router/: operations, drill vectors, blank solids, drawings, programs and set-up sheets."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from ...models.machine.router import Router
from ...models.piece.lie import Lying
from ...models.wood.cutters import router_of
from ...models.words.lengths import Unit
from ..drawing.colours import stock_colour
from ..drawing.pdf import pdf
from ..router.findings import routing_findings
from ..router.layout import dxf
from ..router.lists import OPERATIONS, VECTORS, operations, vectors
from ..router.moves import text
from ..router.routing import Routing, Run, route
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
    _blanks(routing, home)
    for run in routing.runs:
        if not run.proof.faults:
            _program(run, project.unit, router, home)
    sheets = tuple(setup_sheets(product, routing, router.machine))
    (home / "set-up sheets.pdf").write_bytes(pdf(sheets, f"{project.name}: set-up sheets"))


def _blanks(routing: Routing, home: Path) -> None:
    """Each face up at +z, zero where the machine's is, before any pocket is cut."""
    for setups in routing.boards.values():
        for setup in setups:
            board, name = setup.lying.board, setup.name
            solid = laid(unbored_solid(board), placing(setup.lying))
            write_part(home / f"{name}.step", Part(name, solid, stock_colour(board.stock)))


def placing(lying: Lying) -> cq.Location:
    """From the board's frame to the frame of the board as it lies."""
    right, _, up = lying.axes
    x0, y0, z0 = lying.origin
    away = lying.axes[1]
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
        "Programs and drawings: the stock is the board and as much all round as its set-up sheet",
        "says; zero is its front left corner. Lists and drawings are in millimetres; a program",
        "says its unit. Layers of the drawings: the work and its depth; those that begin with",
        "not_cut are not cut. A program that did not pass its proof is not here.",
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
