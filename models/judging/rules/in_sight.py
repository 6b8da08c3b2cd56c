"""A pocket in a face that is seen."""

from __future__ import annotations

from collections.abc import Iterator

from ...maths.geometry import Vec
from ...piece.board import Board, Face
from ...piece.project import Bore, Finding, Severity
from ..study import Study
from . import Rule

CODE = "pocket-in-sight"
_FACING = 0.7  # of a unit normal: within 45 degrees


def check(study: Study) -> Iterator[Finding]:
    """A pocket in a face that shows fails; in one that is seen at times it is noted."""
    project = study.project
    at_times: dict[tuple[str, str], list[Bore]] = {}
    for bore in project.bores:
        board = project.board_named[bore.board]
        face = board.face(bore.pocket_face)
        if face.seen == "exposed":
            yield _finding(study, bore, "in use", "fails")
        elif face.seen == "semi-exposed":
            said = f"at times: {_by_whom(board, face)}"
            at_times.setdefault((f"{board.piece} {face.name}", said), []).append(bore)
    for (_, said), bores in at_times.items():
        yield _finding(study, bores[0], said, "notes", len({bore.board for bore in bores}))


def _finding(study: Study, bore: Bore, when: str, severity: Severity, boards: int = 1) -> Finding:
    board = study.project.board_named[bore.board]
    face = board.face(bore.pocket_face)
    whose = f" of {boards} boards" if boards > 1 else ""
    return Finding(
        CODE,
        severity,
        f"pockets in the {face.name}{whose} are seen {when}",
        board=board.name,
        joint=bore.joint,
        bore=bore.name if severity == "fails" else "",
        face=face.name,
        point=board.pose.point(bore.seat),
    )


def _by_whom(board: Board, face: Face) -> str:
    """Who sees a face that is not in sight in use, by the way that it looks in the piece."""
    normal: Vec = board.pose.direction(face.plane.normal)
    if normal[2] < -_FACING:
        return "by whoever looks from below or turns the piece over"
    if normal[2] > _FACING:
        return "by whoever looks from above, with a drawer pulled out or a lid up"
    if normal[1] > _FACING:
        return "from behind, with a drawer pulled out or the piece away from the wall"
    return "with a drawer pulled out or a door opened"


RULE = Rule(
    CODE,
    "A pocket is seen in use, or at times",
    """Every face of a board is exposed (seen in use), semi-exposed (seen only with a drawer pulled
out, a door opened or the piece turned over) or concealed (never seen): the words of cabinet makers'
standards, from memory. The design decides, `seen` in the recipe overrides. A pocket in an exposed
face fails; in a semi-exposed one it is noted, with who sees it, judged by where the face looks.""",
    check,
    kinds=frozenset(("face", "board")),
    joint=True,
    hint="glue a slanting plug of the same wood into the pocket (common practice)",
)
