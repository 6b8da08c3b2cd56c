"""bores.csv: one row per pocket bore, to mark it out at the bench or to drill it on a machine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...models.piece.board import Board
from ...models.piece.groups import groups
from ...models.piece.markout import MarkOut, fraction, lie, mark_out, settings
from ...models.piece.project import Bore, Project
from ...models.words.lengths import Unit, format_length
from ..telling.csvfile import Cell, Column
from . import listing

FILE = "bores.csv"


@dataclass(frozen=True)
class Row:
    """A bore, its board, how it is marked out, how many boards are drilled like this one.

    `setting` is the number of the drill's setting, as the report counts them.
    """

    bore: Bore
    board: Board
    mark: MarkOut
    alike: int
    setting: int
    unit: Unit

    def own(self, mm: float) -> str:
        """A length in the recipe's unit."""
        return format_length(mm, self.unit)

    def marked(self, mm: float) -> str:
        """A distance to mark: to a finer fraction where rounding would spoil the place."""
        return format_length(mm, self.unit, fraction(self.board, self.bore, self.mark, self.unit))


def _slot_way(r: Row) -> Cell:
    """The board's own direction that a slot runs along most."""
    if r.bore.slot <= 0:
        return ""
    sizes = [abs(part) for part in r.bore.slot_along]
    return ("length", "width", "thickness")[sizes.index(max(sizes))]


def _has_window(r: Row) -> bool:
    return r.bore.window.low <= r.bore.window.high


def _guide(r: Row) -> float:
    return r.board.face(r.bore.pocket_face).plane.gap(r.bore.exit)


COLUMNS: tuple[Column[Row], ...] = (
    Column("board", "the board that is drilled", lambda r: r.board.name),
    Column(
        "boards_alike",
        "how many boards are drilled exactly like this one, itself included; each has its own rows",
        lambda r: r.alike,
    ),
    Column(
        "pocket_face",
        "face to mark and to drill into; it lies up on the bench",
        lambda r: r.board.face(r.bore.pocket_face).name,
    ),
    Column(
        "lie",
        "how the board lies on the bench, and which end is then worked on",
        lambda r: lie(r.board, r.bore, r.mark),
    ),
    Column(
        "run",
        "first distance to mark, in the recipe's unit, to the point where the drill's axis meets "
        "the pocket face; `about` when it was rounded",
        lambda r: r.marked(r.mark.run),
    ),
    Column(
        "run_from",
        "what it is measured from: an edge or an end; at a mitre along an edge, from its corner "
        "with the end",
        lambda r: r.mark.run_from,
    ),
    Column(
        "square",
        "second distance to the same point, square to what it is measured from",
        lambda r: r.marked(r.mark.square),
    ),
    Column("square_from", "what it is measured from", lambda r: r.mark.square_from),
    Column(
        "swing",
        "which way the drill's shank leans from square to the joint, as you look from the joint "
        "into the board with the pocket face up",
        lambda r: r.mark.leans,
    ),
    Column("drill", "the stepped drill", lambda r: r.bore.drill.name),
    Column(
        "setting",
        "which setting of the drill and its guide, as `check` numbers them: drill all of one first",
        lambda r: r.setting,
    ),
    Column(
        "depth",
        "how deep to drill: to the shoulder, along the axis from the pocket face",
        lambda r: r.own(r.mark.depth),
    ),
    Column(
        "guide",
        "how far below the pocket face the axis leaves at the joint: the height of the guide",
        lambda r: r.own(_guide(r)),
    ),
    Column(
        "pilot_into_mate",
        "how far the pilot goes on into the mate; empty: not at all",
        lambda r: r.own(r.bore.pilot_into_mate) if r.bore.pilot_into_mate > 0 else "",
    ),
    Column(
        "slot",
        "how much longer than wide the pilot is made at the joint face, half of it each way, so "
        "that the mate may swell and shrink; empty: a round pilot",
        lambda r: r.own(r.bore.slot) if r.bore.slot > 0 else "",
    ),
    Column("slot_along", "which way that is", _slot_way),
    Column("screw", "what goes in", lambda r: r.bore.screw.title),
    Column("mate", "the board that the screw goes into", lambda r: r.bore.mate),
    Column("joint", "the joint that it pulls together", lambda r: r.bore.joint),
    Column("bore", "its name, unique in the project", lambda r: r.bore.name),
    Column("piece", "the piece that the board belongs to", lambda r: r.board.piece),
    # From here on numbers, for programs.
    Column("joint_face", "face it comes out of", lambda r: r.board.face(r.bore.joint_face).name),
    Column("run_mm", "the first distance", lambda r: r.mark.run, 4),
    Column("square_mm", "the second distance", lambda r: r.mark.square, 4),
    Column("slope_deg", "between axis and pocket face", lambda r: r.bore.slope, 3),
    Column(
        "swing_deg",
        "the swing as a turn on the pocket face, counter-clockwise (to the left) counted positive",
        lambda r: r.mark.turn,
        3,
    ),
    Column("depth_mm", "the drilling depth", lambda r: r.mark.depth, 4),
    Column("guide_mm", "the height of the guide", _guide, 4),
    Column(
        "pilot_mm",
        "pilot from the shoulder along the axis to the joint face",
        lambda r: r.bore.shoulder,
        4,
    ),
    Column(
        "pilot_into_mate_mm",
        "how far the pilot goes on into the mate",
        lambda r: r.bore.pilot_into_mate,
        4,
    ),
    Column("slot_mm", "the slot's length beyond its width; 0: none", lambda r: r.bore.slot, 3),
    Column("counterbore_diameter_mm", "its step", lambda r: 2 * r.bore.drill.counterbore_radius, 4),
    Column(
        "pilot_diameter_mm",
        "its tip; of a slot the width",
        lambda r: 2 * r.bore.pilot_radius,
        4,
    ),
    Column("exit_x_mm", "exit of the axis on the joint face, x", lambda r: r.bore.exit[0], 4),
    Column("exit_y_mm", "the same, y", lambda r: r.bore.exit[1], 4),
    Column("exit_z_mm", "the same, z", lambda r: r.bore.exit[2], 4),
    Column(
        "axis_x",
        "unit vector along the axis, x: it points out of the wood, from the exit up through the "
        "pocket face to the drill's shank; the drill travels the other way",
        lambda r: r.bore.back[0],
        8,
    ),
    Column("axis_y", "the same, y", lambda r: r.bore.back[1], 8),
    Column("axis_z", "the same, z", lambda r: r.bore.back[2], 8),
    Column("mouth_x_mm", "where the axis meets the pocket face, x", lambda r: r.mark.mouth[0], 4),
    Column("mouth_y_mm", "the same, y", lambda r: r.mark.mouth[1], 4),
    Column("mouth_z_mm", "the same, z", lambda r: r.mark.mouth[2], 4),
    Column("window_from", "what the window is measured from", lambda r: r.bore.window.datum),
    Column(
        "window_low_mm",
        "least distance of the exit from there along the joint; empty when there is no window",
        lambda r: r.bore.window.low if _has_window(r) else "",
        3,
    ),
    Column("exit_at_mm", "where the exit is", lambda r: r.bore.window.position, 3),
    Column(
        "window_high_mm",
        "greatest distance; empty when there is no window",
        lambda r: r.bore.window.high if _has_window(r) else "",
        3,
    ),
)
"""In the order in which a maker reads a row aloud, then numbers for programs.

Points and directions are in the board's frame: x along the grain, y across, z through, mm.
"""


def rows(project: Project) -> Iterator[Row]:
    """Yield the bores joint by joint."""
    alike = {board.name: len(group) for group in groups(project) for board in group}
    numbered = enumerate(settings(project).values(), start=1)
    setting = {bore.name: number for number, bores in numbered for bore in bores}
    for bore in project.bores:
        board, number = project.board_named[bore.board], setting[bore.name]
        yield Row(bore, board, mark_out(board, bore), alike[board.name], number, project.unit)


WRITER = listing("pockets", FILE, "every bore, to mark out and to drill", COLUMNS, rows)
