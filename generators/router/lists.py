"""operations.csv and drill-vectors.csv: the router's work, and bores as a tilted head has them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from shapely.geometry import Polygon

from ...models.maths.geometry import Vec, along, dot
from ...models.piece.board import Board
from ...models.piece.bored import bores_in
from ...models.piece.groups import groups
from ...models.piece.lie import Lying
from ...models.piece.project import Bore, Project
from ..cutting.nesting import blank_name
from ..telling.csvfile import Cell, Column
from .operations import Operation
from .proving import Place
from .routing import Routing
from .setup import Setup


@dataclass(frozen=True)
class Row:
    """An operation of a set-up, with the file that it is in."""

    file: str
    board: Board
    quantity: int
    setup: Setup
    operation: Operation
    sequence: int
    sheets: tuple[str, ...]

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Least and greatest x and y of what it takes out of the board (mm)."""
        shape = self.operation.shape
        if not self.operation.diameter:  # a cutter runs out further than that
            shape = shape.intersection(Polygon(self.setup.lying.outline))
        x0, y0, x1, y1 = shape.bounds
        return x0, y0, x1, y1


OPERATIONS: tuple[Column[Row], ...] = (
    Column("file", "the program, the drawing and the solid that show it", lambda r: r.file),
    Column("board", "its name, as in every other file", lambda r: r.board.name),
    Column(
        "hand", "left or right, where the board is one of a mirrored pair", lambda r: r.board.hand
    ),
    Column("quantity", "how many boards are cut so", lambda r: r.quantity),
    Column("sequence", "in which order, counted in the file", lambda r: r.sequence),
    Column("face_up", "the face that lies up", lambda r: r.setup.face),
    Column("kind", "what is cut", lambda r: r.operation.kind),
    Column("name", "of the work or the pocket", lambda r: r.operation.name),
    Column("x_mm", "its left side, from the board's left side as it lies", lambda r: r.box[0], 3),
    Column("y_mm", "its front side, from the board's front side as it lies", lambda r: r.box[1], 3),
    Column("length_mm", "to the right", lambda r: r.box[2] - r.box[0], 3),
    Column("width_mm", "to the back", lambda r: r.box[3] - r.box[1], 3),
    Column("depth_mm", "below the face that lies up", lambda r: r.operation.depth, 3),
    Column("through", "yes where it goes through", lambda r: "yes" if r.operation.through else ""),
    Column("diameter_mm", "of a hole or a pocket", lambda r: r.operation.diameter or "", 3),
    Column("cutter", "number in the tool table; empty: left for the hand", lambda r: _number(r)),
    Column("left_for_the_hand", "what remains to be done, and how", lambda r: r.operation.left),
    Column(
        "board_x_mm",
        "from zero of the file to the board's left side: of program, drawing and solid",
        lambda r: r.setup.margin[0],
        3,
    ),
    Column("board_y_mm", "the same, to its front side", lambda r: r.setup.margin[1], 3),
    Column(
        "sheets",
        "the nested sheets that these boards are cut from, or the blanks of those worked on both "
        "faces",
        lambda r: "; ".join(r.sheets),
    ),
)


def _number(row: Row) -> Cell:
    return row.operation.cutter.number if row.operation.cutter else ""


def operations(project: Project, routing: Routing) -> Iterator[Row]:
    """Every operation of every different board."""
    alike = {some[0].name: some for some in groups(project)}
    count = {name: len(some) for name, some in alike.items()}
    for name, setups in routing.boards.items():
        named = {n for board in alike[name] for n in (board.name, blank_name(board))}
        sheets = tuple(
            run.program.name
            for run in routing.sheets
            if named & {setup.lying.board.name for setup, _ in run.laid}
        )
        for setup in setups:
            board = setup.lying.board
            file = setup.name
            for number, operation in enumerate(setup.operations, start=1):
                yield Row(file, board, count[name], setup, operation, number, sheets)


# --- drill vectors -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Vector:
    """One step of a bore as a drill that tilts has it.

    Attributes:
        bore: which.
        board: the bored board.
        step: `counterbore` or `pilot`.
        entry: where its axis meets the pocket face, board's frame (mm).
        into: unit direction into the wood, board's frame.
        depth: from the entry along the axis (mm).
        diameter: mm.
        lying: the board with its pocket face up.
        sheet: name of the nested sheet, or "".
        place: of the board on that sheet (mm).
    """

    bore: Bore
    board: Board
    step: str
    entry: Vec
    into: Vec
    depth: float
    diameter: float
    lying: Lying
    sheet: str = ""
    place: Place = (0.0, 0.0)

    @property
    def lies(self) -> Vec:
        """The entry with the pocket face up, from the front left corner (mm)."""
        return self.lying.at(self.entry)

    @property
    def on_sheet(self) -> Vec | None:
        """The entry on the sheet, where the board is nested with this face up (mm)."""
        if not self.sheet:
            return None
        x, y, z = self.lies
        return (x + self.place[0], y + self.place[1], z)

    @property
    def tilt(self) -> str:
        """How a head stands for it, in words."""
        x, y, z = self.lying.way(self.into)
        lean = math.degrees(math.acos(min(1.0, -z)))
        turn = math.degrees(math.atan2(y, x)) % 360.0
        return (
            f"spindle {lean:.3f} degrees from upright; the drill travels {turn:.3f} degrees "
            "counter-clockwise from the right, seen from above"
        )


def vectors(project: Project, routing: Routing) -> Iterator[Vector]:
    """Two steps for each bore."""
    nested: Mapping[str, tuple[str, Place, str]] = {
        setup.lying.board.name: (run.program.name, place, setup.lying.side)
        for run in routing.sheets
        for setup, place in run.laid
    }
    for board in project.boards:
        for bore in bores_in(project, board):
            lying = Lying(board, bore.pocket_face)
            up = board.face(bore.pocket_face).plane
            reach = up.gap(bore.exit) / dot(up.normal, bore.back)
            entry = along(bore.exit, bore.back, reach)
            into = (-bore.back[0], -bore.back[1], -bore.back[2])
            sheet, place, side = nested.get(board.name, ("", (0.0, 0.0), ""))
            sheet = sheet if side == bore.pocket_face else ""
            for step, depth, diameter in (
                ("counterbore", reach - bore.shoulder, 2 * bore.drill.counterbore_radius),
                ("pilot", reach + bore.pilot_into_mate, 2 * bore.pilot_radius),
            ):
                yield Vector(bore, board, step, entry, into, depth, diameter, lying, sheet, place)


def _sheet(v: Vector, axis: int) -> Cell:
    return v.on_sheet[axis] if v.on_sheet else ""


VECTORS: tuple[Column[Vector], ...] = (
    Column("bore", "its name, as in every other file", lambda v: v.bore.name),
    Column("board", "the board that it is drilled into", lambda v: v.board.name),
    Column("step", "counterbore or pilot; each is drilled from the entry", lambda v: v.step),
    Column("face_up", "the pocket face", lambda v: v.board.face(v.bore.pocket_face).name),
    Column("entry_x_mm", "axis on the pocket face, board's frame, x", lambda v: v.entry[0], 7),
    Column("entry_y_mm", "the same, y", lambda v: v.entry[1], 7),
    Column("entry_z_mm", "the same, z", lambda v: v.entry[2], 7),
    Column(
        "into_x",
        "unit direction of drilling, into the wood, board's frame, x",
        lambda v: v.into[0],
        9,
    ),
    Column("into_y", "the same, y", lambda v: v.into[1], 9),
    Column("into_z", "the same, z", lambda v: v.into[2], 9),
    Column("depth_mm", "from the entry along the axis", lambda v: v.depth, 5),
    Column("diameter_mm", "of this step", lambda v: v.diameter, 4),
    Column(
        "lying_x_mm",
        "entry with the face up, from the front left corner, x",
        lambda v: v.lying.at(v.entry)[0],
        5,
    ),
    Column("lying_y_mm", "the same, y", lambda v: v.lying.at(v.entry)[1], 5),
    Column("head", "how a head that tilts stands for it", lambda v: v.tilt),
    Column("sheet", "the nested sheet on which this face lies up", lambda v: v.sheet),
    Column("sheet_x_mm", "entry on that sheet, x", lambda v: _sheet(v, 0), 5),
    Column("sheet_y_mm", "the same, y", lambda v: _sheet(v, 1), 5),
)
