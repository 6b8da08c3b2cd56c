"""bores.csv: one row per pocket bore, to mark it out at the bench or to drill it on a machine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from ...models.piece.board import Board
from ...models.piece.groups import groups
from ...models.piece.markout import MarkOut, lie, mark_out
from ...models.piece.project import Bore, Project
from ...models.words.lengths import Unit, format_length
from ..telling.csvfile import Cell, Column, write_csv
from . import Product, Writer

FILE = "bores.csv"


@dataclass(frozen=True)
class Row:
    """A bore, its board, how it is marked out, and how many boards are drilled like this one."""

    bore: Bore
    board: Board
    mark: MarkOut
    alike: int
    unit: Unit

    def own(self, mm: float) -> str:
        """A length in the recipe's unit."""
        return format_length(mm, self.unit)


def _marking(r: Row) -> Cell:
    end, edge = r.mark.end.name, r.mark.edge.name
    if r.mark.mitre < 1e-6:
        return f"square from the {end} and square from the {edge}"
    if r.bore.joint_face == r.mark.end.side:
        return f"from the corner at the {edge} along the mitre, then in square to the mitre"
    return f"from the corner at the {end} along the {edge}, then in square to the {edge}"


def _swing(r: Row) -> Cell:
    turn = r.mark.turn
    if abs(turn) < 1e-6:
        return "none"
    return f"{abs(turn):.4g} degrees to the {'left' if turn > 0 else 'right'}"


def _slot_way(r: Row) -> Cell:
    """The board's own direction that a slot runs along most."""
    if r.bore.slot <= 0:
        return ""
    sizes = [abs(part) for part in r.bore.slot_along]
    return ("length", "width", "thickness")[sizes.index(max(sizes))]


def _has_window(r: Row) -> bool:
    return r.bore.window.low <= r.bore.window.high


COLUMNS: tuple[Column[Row], ...] = (
    Column("bore", "its name, unique in the project", lambda r: r.bore.name),
    Column("joint", "the joint that it pulls together", lambda r: r.bore.joint),
    Column("board", "the board that it is drilled into", lambda r: r.board.name),
    Column("piece", "the piece that the board belongs to", lambda r: r.board.piece),
    Column(
        "boards_alike",
        "how many boards are drilled exactly like this one, itself included; each has its own rows",
        lambda r: r.alike,
    ),
    Column("mate", "the board that the screw goes into", lambda r: r.bore.mate),
    Column("pocket_face", "face to drill into", lambda r: r.board.face(r.bore.pocket_face).name),
    Column("joint_face", "face it comes out of", lambda r: r.board.face(r.bore.joint_face).name),
    Column("end", "end to measure from", lambda r: r.mark.end.name),
    Column("edge", "edge to measure from", lambda r: r.mark.edge.name),
    Column(
        "end_mark",
        "which end that is as the board lies on the bench",
        lambda r: lie(r.board, r.bore, r.mark),
    ),
    Column("marking", "how the two distances are measured on the pocket face", _marking),
    Column(
        "from_end",
        "first distance, in the recipe's unit, from the end to the point where the drill's axis "
        "meets the pocket face: square to the end (to the mitre); for a joint at an edge, along "
        "that edge; `~` when it was rounded",
        lambda r: r.own(r.mark.from_end),
    ),
    Column(
        "from_edge",
        "second distance, in the recipe's unit, from the edge to the same point: along the end "
        "(along the mitre, from its long point); for a joint at an edge, square to it",
        lambda r: r.own(r.mark.from_edge),
    ),
    Column("from_end_mm", "the first distance", lambda r: r.mark.from_end, 4),
    Column("from_edge_mm", "the second distance", lambda r: r.mark.from_edge, 4),
    Column("slope_deg", "between axis and pocket face", lambda r: r.bore.slope, 3),
    Column(
        "swing",
        "which way the drill's shank leans from square to the joint, as you look from the joint "
        "into the board with the pocket face up",
        _swing,
    ),
    Column(
        "swing_deg",
        "the same as a turn on the pocket face, counter-clockwise (to the left) counted positive",
        lambda r: r.mark.turn,
        3,
    ),
    Column(
        "depth_mm",
        "drilling depth to the shoulder: along the axis from the pocket face",
        lambda r: r.mark.depth,
        4,
    ),
    Column("depth", "the same in the recipe's unit", lambda r: r.own(r.mark.depth)),
    Column(
        "exit_below_mm",
        "how far below the pocket face the axis leaves at the joint: the height of the guide",
        lambda r: r.board.face(r.bore.pocket_face).plane.gap(r.bore.exit),
        4,
    ),
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
    Column(
        "slot_mm",
        "how much longer than wide the pilot is made at the joint face, half of it each way, so "
        "that the mate may swell and shrink; 0: a round pilot",
        lambda r: r.bore.slot,
        3,
    ),
    Column(
        "slot_along",
        "which way that is",
        _slot_way,
    ),
    Column("drill", "the stepped drill", lambda r: r.bore.drill.name),
    Column("counterbore_diameter_mm", "its step", lambda r: 2 * r.bore.drill.counterbore_radius, 4),
    Column(
        "pilot_diameter_mm",
        "its tip; of a slot the width",
        lambda r: 2 * r.bore.pilot_radius,
        4,
    ),
    Column("screw", "what goes in", lambda r: r.bore.screw.title),
    Column("exit_x_mm", "exit of the axis on the joint face, x", lambda r: r.bore.exit[0], 4),
    Column("exit_y_mm", "the same, y", lambda r: r.bore.exit[1], 4),
    Column("exit_z_mm", "the same, z", lambda r: r.bore.exit[2], 4),
    Column(
        "axis_x",
        "unit vector along the axis from the exit up out of the pocket face, x; the drill travels "
        "the other way",
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
"""Points and directions are in the board's frame: x along the grain, y across, z through, mm."""


def rows(project: Project) -> Iterator[Row]:
    """Yield the bores joint by joint."""
    alike = {board.name: len(group) for group in groups(project) for board in group}
    for bore in project.bores:
        board = project.board_named[bore.board]
        yield Row(bore, board, mark_out(board, bore), alike[board.name], project.unit)


def write(product: Product, folder: Path) -> None:
    """Write the file."""
    write_csv(folder / FILE, COLUMNS, rows(product.project))


WRITER = Writer("bores", FILE, "every bore, to mark out and to drill", write)
