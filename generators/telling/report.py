"""What findings and placements are in words: one line of each."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import get_args

from ...models.judging.copies import copies_of
from ...models.judging.study import study_of
from ...models.piece.board import Board
from ...models.piece.markout import mark_out
from ...models.piece.project import Bore, Bound, Finding, Project, Severity
from ...models.words.lengths import ABOUT, Unit, format_decimal, format_length

SEVERITIES: tuple[Severity, ...] = get_args(Severity)
_SAME = 1e-3  # mm; as near one end of a window as the other


def ordered(project: Project, findings: Iterable[Finding]) -> list[Finding]:
    """Sort findings by severity, then by the order of the boards in the project, then by rule."""
    place = {board.name: number for number, board in enumerate(project.boards)}
    return sorted(
        findings,
        key=lambda f: (
            SEVERITIES.index(f.severity),
            place.get(f.board, len(place)),
            f.rule,
            f.joint,
            f.bore,
            f.face,
            f.message,
        ),
    )


def exit_status(findings: Iterable[Finding]) -> int:
    """Return 1 when a finding fails, else 0."""
    return int(any(finding.severity == "fails" for finding in findings))


def length(mm: float, unit: Unit) -> str:
    """Print a length in the recipe's unit; in inches the decimals follow when it was rounded."""
    text = format_length(mm, unit)
    return f"{text} ({format_decimal(mm, unit)})" if text.startswith(ABOUT) else text


def counted(number: int, one: str, many: str = "") -> str:
    """Return `1 board` or `4 boards`."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def checked(project: Project) -> dict[str, int]:
    """Count what the verdict covers: the walls and distances are those of the closed form."""
    copies = copies_of(project)
    study = study_of(copies.unnamed)
    named = copies.unnamed.board_named
    return {
        "boards": len(project.boards),
        "joints": len(project.joints),
        "bores": len(project.bores),
        "screws": len(project.bores),
        "faces": sum(len(board.faces) for board in project.boards),
        "faces_that_show": sum(
            face.seen == "exposed" for board in project.boards for face in board.faces
        ),
        "walls": sum(copies.times(named[board]) for _, board, _ in study.closed),
        "distances_between_bores": sum(copies.times(near.board) for near in study.nearness),
    }


def outcome(findings: Sequence[Finding]) -> str:
    """Whether anything fails, and how much there is to read."""
    count = Counter(finding.severity for finding in findings)
    fails, warns, notes = (count[severity] for severity in SEVERITIES)
    told = [
        counted(fails, "finding fails", "findings fail") if fails else "nothing fails",
        counted(warns, "warning") if warns else "",
        counted(notes, "note") if notes else "",
    ]
    return f"{', '.join(filter(None, told))}."


def verdict(project: Project, findings: Sequence[Finding]) -> str:
    """The same of a project, in one line."""
    return f"{project.name}: {outcome(findings)}"


def looked_at(project: Project, how: str) -> str:
    """What was checked.

    Args:
        project: placed.
        how: the way the verdict was reached ("in closed form").
    """
    of = checked(project)
    return (
        f"Checked {how}: {counted(of['boards'], 'board')}, {counted(of['joints'], 'joint')}, "
        f"{counted(of['bores'], 'pocket')}; {counted(of['walls'], 'wall')} and "
        f"{counted(of['distances_between_bores'], 'distance')} between bores."
    )


def summary(project: Project, findings: Sequence[Finding], how: str) -> str:
    """The verdict and what was looked at, in one line."""
    return f"{verdict(project, findings)} {looked_at(project, how)}"


def finding_said(finding: Finding, unit: Unit) -> str:
    """What is wrong, and the numbers."""
    return finding.message + _measure(finding, unit)


def finding_line(finding: Finding, said: str) -> str:
    """How grave it is, its rule, and what is said of it."""
    return f"{finding.severity}  {finding.rule}  {said}"


@dataclass(frozen=True)
class Place:
    """Where one pocket sits, in words: its place, its room, how far it may be off."""

    at: str
    clear: str = ""
    off: str = ""

    @property
    def said(self) -> str:
        """In one go."""
        off = f"; may be off by {self.off}" if self.off else ""
        return f"{self.at} ({self.clear}{off})" if self.clear else self.at


def place_of(bore: Bore, unit: Unit) -> Place:
    """Say where one pocket sits, and how far it may be off."""
    window = bore.window
    at = f"{length(window.position, unit)} from the {window.datum}"
    if window.low > window.high:
        stops = dict.fromkeys(filter(None, (window.low_binds.says(), window.high_binds.says())))
        return Place(at, f"no place is clear: {', '.join(stops)}" if stops else "no place is clear")
    if window.low == window.high:
        return Place(at, "where the recipe puts it")
    if not math.isfinite(window.high - window.low):
        return Place(at)
    near_low = 2 * window.position - window.low - window.high <= _SAME
    stop = window.low_binds if near_low else window.high_binds
    off = length(window.margin, unit)
    off += f": {stop.says('the mating board')}" if stop != Bound() else ""
    return Place(at, f"clear from {length(window.low, unit)} to {length(window.high, unit)}", off)


def marked(board: Board, bore: Bore, unit: Unit) -> str:
    """What the tape says where that is another distance than the place, "" where it is the same."""
    try:
        mark = mark_out(board, bore)
    except ValueError:  # its joint face does not border its pocket face
        return ""
    if mark.start.name == bore.window.datum and abs(mark.run - bore.window.position) < 1e-6:
        return ""
    slanting = mark.line.side != bore.joint_face
    where = f"along the {mark.line.name}" if slanting else f"from the {mark.start.name}"
    return f", marked {length(mark.run, unit)} {where}"


def turn_of(bore: Bore) -> str:
    """How a pocket lies to its joint."""
    return f"swung {bore.swing:g} degrees" if bore.swing else "square to the joint"


def placement(bore: Bore, unit: Unit) -> str:
    """Say where one pocket sits, how far it may be off, and what goes into it."""
    return f"{place_of(bore, unit).said}, {turn_of(bore)}; {bore.screw.title}"


def without_piece(project: Project, text: str) -> str:
    """A text in which boards, joints and pockets lack the piece's name, where there is one."""
    piece = project.boards[0].piece if project.boards else ""
    if any(board.piece != piece for board in project.boards):
        return text
    named = [b.name for b in project.boards] + [j.name for j in project.joints]
    own = {name[len(piece) + 1 :] for name in named if name.startswith(f"{piece} ")}

    def bare(found: re.Match[str]) -> str:
        follows = found.string[found.end() :]
        return "" if any(follows.startswith(name) for name in own) else found[0]

    return re.sub(rf"\b{re.escape(piece)} ", bare, text)


def _measure(finding: Finding, unit: Unit) -> str:
    """What was measured and what is needed, unless the message says so itself."""
    measured, needed = finding.measured, finding.needed
    if measured is None or needed is None or needed <= 0 or not math.isfinite(measured):
        return ""
    if length(measured, unit) in finding.message:
        return ""
    where = " on the solid" if finding.solid else ""
    has = f"{length(measured, unit)}{where}, " if measured > 0 else ""
    return f": {has}{length(needed, unit)} needed"
