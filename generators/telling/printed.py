"""What `check` and `build` print, as lines and tables: the verdict, each cause with its cure, more.

By default what fits a screen; in full where each pocket goes and the order of assembly as well.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from ...models.advice.causes import Cause
from ...models.piece.markout import settings
from ...models.piece.project import Finding, Project
from ...models.words.names import named
from .cause import HEADINGS, cure_said, paste_said, place_said, said_of
from .report import (
    SEVERITIES,
    counted,
    finding_line,
    length,
    marked,
    place_of,
    summary,
    turn_of,
    verdict,
    without_piece,
)
from .steps import stages

VERDICT = "verdict.txt"
"""The file that holds all of it."""
CLOSED_FORM = "in closed form"
"""How a check reaches its verdict."""
WAYS = f"{CLOSED_FORM} and on the solids"
"""How a build reaches its verdict."""
_SCREEN = 32  # lines of causes where something fails
_GOOD = 17  # where nothing does: with what stands around them 25
PLACES = 6  # that a cause names
_PASTE = 12  # lines of a cure
_UNDER = 9


@dataclass(frozen=True)
class Line:
    """One line of text; `style` is how grave it is, `heading`, `paste`, or ""."""

    text: str
    indent: int = 0
    style: str = ""


@dataclass(frozen=True)
class Table:
    """Rows under a heading."""

    heading: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


Block = Sequence[Line | Table]


@dataclass(frozen=True)
class Told:
    """What is told of a recipe.

    Attributes:
        project: placed.
        findings: all of them.
        causes: the same by their cause.
        how: the way the verdict was reached ("in closed form").
        stopped: after what the search for what to change was broken off ("2 s"), or "".
        left: what was not looked at, or "".
    """

    project: Project
    findings: Sequence[Finding]
    causes: Sequence[Cause]
    how: str
    stopped: str = ""
    left: str = ""


def opening(project: Project, findings: Sequence[Finding]) -> list[Block]:
    """The first line: the verdict."""
    return [[Line(verdict(project, findings), style=worst(findings))]]


def brief(told: Told) -> list[Block]:
    """What comes after the first line, as far as a screen holds it."""
    fails = any(finding.severity == "fails" for finding in told.findings)
    room = _SCREEN if fails else _GOOD
    blocks: list[Block] = []
    for severity in ("fails", "warns"):
        lines, left = [Line(HEADINGS[severity], style="heading")], 0
        for cause in (c for c in told.causes if c.severity == severity):
            said = entry(told.project, cause)
            first = len(lines) == 1 and not blocks
            if left or (len(said) > room and not first):
                left += 1
            else:
                lines += said
                room -= len(said)
        if left:
            lines.append(Line(f"{more_causes(left)}; --full tells all", 2))
        if len(lines) > 1:
            blocks.append(lines)
    notes = sum(finding.severity == "notes" for finding in told.findings)
    more = f"{counted(notes, 'note')}, w" if notes else "W"
    more += "here each pocket goes and the order of assembly: --full; of one piece, board or joint:"
    return [*blocks, [Line(f"{more} --show NAME.")], list(_closing(told))]


def full(told: Told) -> list[Block]:
    """All of it: every cause with every place, each pocket, the order of assembly."""
    blocks: list[Block] = []
    for severity in SEVERITIES:
        some = [cause for cause in told.causes if cause.severity == severity]
        if some:
            lines = [Line(HEADINGS[severity], style="heading")]
            blocks.append(lines + [x for c in some for x in entry(told.project, c, full=True)])
    blocks += [*_pockets(told.project), *_settings(told.project), *_order(told.project)]
    blocks += [[Line(report)] for report in told.project.reports]
    return [*blocks, list(_closing(told))]


def shown(told: Told, name: str) -> list[Block]:
    """All that is told of one piece, board, joint or pocket.

    Raises:
        SlantboreError: there is none of that name.
    """
    boards, joints, bores = _named(told.project, name)
    blocks: list[Block] = []
    for severity in SEVERITIES:
        lines = [Line(HEADINGS[severity], style="heading")]
        for cause in (c for c in told.causes if c.severity == severity):
            if any(f.board in boards or f.joint in joints or f.bore in bores
                   for f in cause.findings):  # fmt: skip
                lines += entry(told.project, cause, full=True)
        blocks += [lines] if len(lines) > 1 else []
    blocks += [*_pockets(told.project, bores), *_order(told.project, boards)]
    return [*blocks, list(_closing(told))]


def entry(project: Project, cause: Cause, *, full: bool = False, cures: bool = True) -> list[Line]:
    """A cause: what is wrong, the numbers once, where, and what cures it."""
    lines = []
    for said in said_of(project, cause):
        lines += [Line(finding_line(one, text), 2, one.severity) for one, text in said.lines]
        places = [place_said(project, name, found) for name, found in said.places.items()]
        if len(places) > PLACES and not full:
            places = [*places[:PLACES], f"and {len(places) - PLACES} more"]
        where = "; ".join(filter(None, places))
        lines += [Line(f"at: {where}", _UNDER)] if where else []
    return lines + (list(_cure(cause, full)) if cures else [])


def _cure(cause: Cause, full: bool) -> Iterator[Line]:
    said = cure_said(cause)
    if said:
        yield Line(said, _UNDER)
    if sum(len(patch.lines) for patch in cause.paste) > _PASTE and not full:
        yield Line("it takes many lines: `slantbore cure` writes them, --full prints them", _UNDER)
        return
    for where, pasted in paste_said(cause):
        yield Line(where, _UNDER)
        yield from (Line(line, 0, "paste") for line in pasted)


def worst(findings: Iterable[Finding]) -> str:
    """How grave the gravest is; "notes" without any."""
    return min((f.severity for f in findings), key=SEVERITIES.index, default="notes")


def more_causes(left: int) -> str:
    """How many are not told."""
    return f"and {counted(left, 'more cause')}"


def closing(told: Told) -> list[str]:
    """What the search and the look left undone."""
    stopped = f"Stopped looking for what to change after {told.stopped}." if told.stopped else ""
    return [line for line in (stopped, told.left) if line]


def _closing(told: Told) -> Iterator[Line]:
    yield from map(Line, closing(told))
    yield Line(summary(told.project, told.findings, told.how), style=worst(told.findings))


def _pockets(project: Project, only: Collection[str] | None = None) -> Iterator[Block]:
    """Where each pocket goes; alike ones of a board in one row."""
    rows = []
    for board in project.boards:
        alike: dict[tuple[str, ...], list[str]] = {}
        for bore in project.bored[board.name]:
            if only is None or bore.name in only:
                spot = place_of(bore, project.unit)
                at = spot.at + marked(board, bore, project.unit)
                place = at, spot.clear, spot.off, turn_of(bore), bore.screw.title
                alike.setdefault(place, []).append(without_piece(project, bore.name))
        role = without_piece(project, board.name)
        rows += [(role, ", ".join(names), *place) for place, names in alike.items()]
    if rows:
        heading = ("in", "pocket", "place", "room", "may be off by", "turn", "screw")
        yield [Line("Where each pocket goes", style="heading"), Table(heading, tuple(rows))]


def _settings(project: Project) -> Iterator[Block]:
    """How often the drill is set anew, and to what."""
    found = settings(project)
    rows = [
        (
            f"{number}",
            setting.drill,
            *(length(mm, project.unit) for mm in (setting.stop, setting.guide)),
            counted(len(bores), "pocket"),
        )
        for number, (setting, bores) in enumerate(found.items(), start=1)
    ]
    if rows:
        heading = ("", "drill", "depth along the axis", "guide height", "for")
        said = f"{counted(len(rows), 'setting')} of the drill"
        yield [Line(said, style="heading"), Table(heading, tuple(rows))]


def _order(project: Project, only: Collection[str] | None = None) -> Iterator[Block]:
    """The order of assembly, numbered through."""
    lines = [
        Line(f"{stage.number}. {without_piece(project, stage.text)}", 2)
        for stage in stages(project)
        if only is None
        or any(b in only for step in stage.steps for b in (*step.boards, *step.onto))
    ]
    if lines:
        yield [Line("Order of assembly", style="heading"), *lines]


def _named(project: Project, name: str) -> tuple[set[str], set[str], set[str]]:
    """Boards, joints and pockets that a name stands for.

    Raises:
        SlantboreError: there is none of that name.
    """
    whole = {b.piece for b in project.boards} | set(project.board_named) | set(project.joint_named)
    whole |= {bore.name for bore in project.bores}
    known = {without_piece(project, one): one for one in sorted(whole)} | {n: n for n in whole}
    found = named(name, known, "piece, board, joint or pocket")
    boards = {b.name for b in project.boards if found in (b.piece, b.name)}
    pieces = {b.piece for b in project.boards}
    joints = {j.name for j in project.joints if j.name == found or {j.first, j.second} & boards}
    bores = {bore.name for bore in project.bores if bore.name == found or bore.joint in joints}
    if found not in pieces and found not in project.board_named:
        own = [bore for bore in project.bores if bore.name in bores]
        boards = {b for bore in own for b in (bore.board, bore.mate)}
    return boards, joints, bores


def plain(blocks: Iterable[Block]) -> str:
    """As text without colour, a blank line between blocks."""
    told = []
    for block in blocks:
        lines: list[str] = []
        for part in block:
            lines += _rows(part) if isinstance(part, Table) else [" " * part.indent + part.text]
        told.append("\n".join(lines))
    return "\n\n".join(told) + "\n"


def _rows(table: Table) -> list[str]:
    widths = [max(map(len, column)) for column in zip(table.heading, *table.rows, strict=True)]
    return [
        ("  " + "  ".join(f"{cell:<{w}}" for cell, w in zip(row, widths, strict=True))).rstrip()
        for row in (table.heading, *table.rows)
    ]
