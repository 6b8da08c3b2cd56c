"""A part of sheet goods that no sheet is large enough for."""

from __future__ import annotations

from collections.abc import Iterator

from ...piece.project import Finding
from ...wood.tables import sheet_of
from ...words.lengths import format_length
from ..study import Study
from . import Rule

CODE = "sheet-size"


def check(study: Study) -> Iterator[Finding]:
    """A part longer or wider than the sheet that it is cut from warns."""
    unit = study.project.unit
    for board in study.project.boards:
        if board.stock.kind != "sheet":
            continue
        long, wide = sheet_of(board.stock)
        if board.length <= long and board.width <= wide:
            continue
        sheet, part = (
            f"{format_length(one, unit)} x {format_length(other, unit)}"
            for one, other in ((long, wide), (board.length, board.width))
        )
        bought = "stated" if board.stock.sheet else "sold"
        how = "is larger than its sheet"
        if board.length <= wide and board.width <= long:
            how = "fits its sheet only with the face grain running across it"
        yield Finding(
            CODE,
            "warns",
            f"the part, {part}, {how}: {board.stock.title} is {bought} as {sheet}",
            board=board.name,
            point=board.pose.point((board.length / 2, board.width / 2, board.thickness / 2)),
        )


RULE = Rule(
    CODE,
    "A part larger than the sheet that it is cut from",
    """A part of sheet goods is no longer and no wider than a full sheet of them, its length along
the sheet's: the face grain runs that way. The sizes are those of the recipe, else of the
reference table, by these sources: for plywood the tolerance pages of Voluntary Product Standard
PS 1, 48 x 96 in; for birch multi-ply what a mill publishes, 1220 x 2440 mm, read second hand.
What the saw takes and a damaged edge are not counted. Larger sheets are sold: where one is
ordered the warning does not matter.""",
    check,
    hint="make the part smaller, join it from two, or order a larger sheet (stock: sheet_size)",
)
