"""router/: operations, drill vectors, blank solids, drawings, programs and set-up sheets."""

from __future__ import annotations

from pathlib import Path

from ...models.piece.lie import Lying
from ..drawing.colours import stock_colour
from ..drawing.pdf import pdf
from ..router.cutters import Machine
from ..router.layout import dxf
from ..router.lists import OPERATIONS, VECTORS, operations, vectors
from ..router.moves import text
from ..router.routing import MARGIN, Routing, Run, route
from ..router.sheets import setup_sheets
from ..solids.kernel import cq
from ..solids.product import Product
from ..solids.solids import laid, unbored_solid
from ..solids.step import Part, write_part
from ..telling.csvfile import write_csv
from . import Writer


def write(product: Product, folder: Path) -> None:
    """Write the files."""
    project, machine = product.project, Machine()
    routing = route(project, machine)
    home = folder / "router"
    home.mkdir()
    write_csv(home / "operations.csv", OPERATIONS, operations(project, routing))
    write_csv(home / "drill-vectors.csv", VECTORS, vectors(project, routing))
    (home / "headings.txt").write_text(_headings(), encoding="utf-8")
    _blanks(routing, home)
    runs = (*routing.single, *(run for _, run in routing.sheets))
    for run in runs:
        if not run.proof.faults:
            _program(run, product, machine, home)
    faults = [finding.message for finding in routing.findings if finding.severity == "fails"]
    if faults:
        told = ["Programs that were not proven, and so are not here:", *faults, ""]
        (home / "not proven.txt").write_text("\n".join(told), encoding="utf-8")
    sheets = tuple(setup_sheets(product, routing, machine))
    (home / "set-up sheets.pdf").write_bytes(pdf(sheets, f"{project.name}: set-up sheets"))


def _blanks(routing: Routing, home: Path) -> None:
    """Each face up at +z, zero where the machine's is, before any pocket is cut."""
    for setups in routing.boards.values():
        for setup in setups:
            board = setup.lying.board
            name = f"{board.name} {board.face(setup.lying.side).name} up"
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


def _program(run: Run, product: Product, machine: Machine, home: Path) -> None:
    name, size = run.program.name, run.program.size
    unit = product.project.unit
    (home / f"{name}.ngc").write_text(text(run.program, machine, unit), encoding="ascii")
    (home / f"{name}.dxf").write_text(dxf(run.laid, size[:2]), encoding="utf-8")


def _headings() -> str:
    lines = ["operations.csv", *(f"    {c.name}: {c.about}" for c in OPERATIONS), ""]
    lines += ["drill-vectors.csv", *(f"    {c.name}: {c.about}" for c in VECTORS), ""]
    lines += [
        f"Programs and drawings: the stock is the board and {MARGIN:g} mm all round; zero is its",
        "front left corner on the upper face. Lists and drawings are in millimetres; a program",
        "says its unit. Layers of the drawings: the work and its depth; those that begin with",
        "not_cut are not cut.",
    ]
    return "\n".join([*lines, ""])


WRITER = Writer(
    "router",
    "router/operations.csv, router/drill-vectors.csv, router/headings.txt, router/NAME.step, "
    "router/NAME.dxf, router/NAME.ngc, router/set-up sheets.pdf",
    "programs, drawings and blank solids for the router, each with its set-up sheet",
    write,
)
