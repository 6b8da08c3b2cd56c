"""Screws near ends, edges and each other, where wood splits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ...piece.board import LEFT, OPPOSITE, RIGHT
from ...piece.grain import DENSE
from ...piece.lever import Lever
from ...piece.project import Bore, Finding
from ...wood.tables import species
from ...words.lengths import format_decimal, format_length
from ..study import Study
from . import Number, Rule, at_bores

CODE = "splitting"
# NDS-2018 Commentary, Table C12.1.5.7, wood side members, in diameters: (prebored, not prebored).
END = (5.0, 10.0)
EDGE = (2.5, 2.5)
SPACING = (10.0, 15.0)  # in a row along the grain
ROWS = (3.0, 5.0)  # between rows
# Common practice, no source.
_NEAR_END = 2.5  # diameters under which dense wood that is not prebored splits
_CENTRED = 1.0  # mm: a screw this near the middle of the stock cannot be moved to more wood


@dataclass(frozen=True)
class _Distance:
    what: str
    value: float
    advised: tuple[float, float]
    end: bool = False

    def lacks(self, bore: Bore) -> bool:
        return self.value < self.needed(bore) - 1e-6

    def needed(self, bore: Bore) -> float:
        return self.advised[0 if prebored(bore) else 1] * 2 * bore.screw.radius


def prebored(bore: Bore) -> bool:
    """Whether the pilot goes on along the whole screw."""
    return bore.pilot_into_mate >= bore.engagement - 1e-6


def distances(study: Study, bore: Bore) -> list[_Distance]:
    """From the screw to the mate's ends and edges and to the next screw there; none in sheets."""
    mate = study.project.board_named[bore.mate]
    if mate.stock.kind == "sheet" or bore.engagement <= 0:
        return []
    entry, tip = study.entries[bore.name]
    found = []
    for side in (LEFT, RIGHT):
        if side != bore.mate_face:
            face = mate.face(side)
            gap = min(face.plane.gap(entry), face.plane.gap(tip))
            found.append(_Distance(f"to the {face.name} of the {mate.role}", gap, END, True))
    for face in mate.faces:
        if face.side in (LEFT, RIGHT, bore.mate_face, OPPOSITE[bore.mate_face]):
            continue
        gap, other = face.plane.gap(entry), mate.face(OPPOSITE[face.side]).plane.gap(entry)
        if gap <= other - _CENTRED:
            found.append(_Distance(f"to the {face.name} of the {mate.role}", gap, EDGE))
    near: _Distance | None = None
    for other_bore in study.project.screwed[bore.mate]:
        if other_bore.mate_face != bore.mate_face or other_bore.name == bore.name:
            continue
        there, _ = study.entries[other_bore.name]
        apart = abs(there[0] - entry[0])
        across = max(abs(there[1] - entry[1]), abs(there[2] - entry[2]))
        rows = ROWS[0 if prebored(bore) else 1] * 2 * bore.screw.radius
        if across < rows and (near is None or apart < near.value):
            near = _Distance("to the next screw along the grain", apart, SPACING)
    return [*found, near] if near else found


def check(study: Study) -> Iterator[Finding]:
    """Less than the published guidance is noted once for like boards; next to an end it warns."""
    for bores in _alike(study):
        yield _finding(study, bores[0], len(bores))


def _alike(study: Study) -> Iterator[list[Bore]]:
    """Screws that stand too near something in like boards, the nearest first."""
    told: dict[tuple[object, ...], list[tuple[float, Bore]]] = {}
    for bore in study.project.bores:
        short = [d for d in distances(study, bore) if d.lacks(bore)]
        if not short:
            continue
        worst = min(short, key=lambda d: round(d.value / d.needed(bore), 6))
        mate = study.project.board_named[bore.mate]
        key = (mate.piece, mate.stock, bore.screw, _risky(study, bore), worst.advised)
        told.setdefault(key, []).append((worst.value, bore))
    for rows in told.values():
        yield [bore for _, bore in sorted(rows, key=lambda row: round(row[0], 6))]


def prebore(study: Study, finding: Finding) -> Iterator[Lever]:
    """The pilots of all that are alike drilled on into the mate, as deep as the screw goes."""
    (bores,) = (bores for bores in _alike(study) if bores[0].name == finding.bore)
    says = "drill the pilot on into the mating board, as deep as the screw goes"
    told = {bore.name: ("screw", says) for bore in bores if not prebored(bore)}
    yield Lever("pilot", [at_bores(study.project, "pilot", told)] if told else ())


def _risky(study: Study, bore: Bore) -> bool:
    """Dense wood, not prebored, right at an end."""
    wood = species().get(study.project.board_named[bore.mate].stock.material)
    dense = wood is not None and wood.kind == "hardwood" and wood.gravity_12 >= DENSE
    ends = [d.value for d in distances(study, bore) if d.end]
    near = min(ends, default=1e9) < _NEAR_END * 2 * bore.screw.radius - 1e-6
    return dense and near and not prebored(bore)


def _finding(study: Study, bore: Bore, alike: int) -> Finding:
    boards = study.project.board_named
    mate = boards[bore.mate]
    short = [d for d in distances(study, bore) if d.lacks(bore)]
    worst = min(short, key=lambda d: round(d.value / d.needed(bore), 6))
    risky = _risky(study, bore)
    verb = "stand" if alike > 1 else "stands"
    count = f"{alike} screws" if alike > 1 else "the screw"
    wood = f"{mate.stock.title}, which splits easily," if risky else mate.stock.title
    unit = study.project.unit
    has, advised = (format_length(mm, unit) for mm in (worst.value, worst.needed(bore)))
    return Finding(
        CODE,
        "warns" if risky else "notes",
        f"{count} {verb} in {wood} nearer than advised {worst.what}: {has}, {advised} advised",
        board=bore.board,
        joint=bore.joint,
        bore=bore.name,
        measured=worst.value,
        point=boards[bore.board].pose.point(bore.exit),
    )


def numbers(study: Study, bore: Bore) -> Iterator[Number]:
    """Every distance with what is advised."""
    for d in distances(study, bore):
        advised = format_decimal(d.needed(bore), study.project.unit)
        yield Number(d.what, d.value, None, "mm", f"{advised} advised")


RULE = Rule(
    CODE,
    "A screw is near an end, an edge or the next screw",
    """Measured in the mating board, from the screw's line to the ends (along the grain), to the
edges, and to the next screw in the same row along the grain, in diameters D of the shank. The NDS
only asks for enough to prevent splitting (12.1.5.7); its Commentary, Table C12.1.5.7, advises for
wood: edge 2.5 D; end 10 D, prebored 5 D (loaded toward the end 15 D and 10 D); in a row along the
grain 15 D, prebored 10 D; between rows 5 D, prebored 3 D. It is advice for loaded screws of any
size, and furniture often goes below it, so it is noted, the nearest of like
screws each time. In hardwood of 0.60
specific gravity and more, not prebored and nearer than 2.5 D to an end, it warns (common practice,
no source). A distance that no move can better, to both faces of the stock in whose middle the screw
stands, is left out. Sheet goods are left out: no guidance was read.""",
    check,
    numbers,
    prebore,
)
