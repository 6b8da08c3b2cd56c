"""Findings by their cause: what one change is asked for, or cures.

findings           --causes--> asked for: of joints alike and at fault alike, or of one board
findings, advised  --causes--> cured: by the same change; the rest as before
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ..judging.rules import pages
from ..piece.lever import PLACE, Change
from ..piece.project import Bore, Finding, Joint, Project
from ..placing.joints import NO_PLACE
from ..recipe.edits import written
from ..recipe.stated import Recipe
from ..recipe.writing import Patch, WritingError, patches, rewritten
from .floor import piece_numbers

SEVERITIES = ("fails", "warns", "notes")


@dataclass(frozen=True)
class Cause:
    """Findings that have one cause.

    Attributes:
        findings: the gravest first.
        numbers: their places in the list of findings.
        index: of the piece in the recipe; -1 where no change is looked for.
        wanted: what a change must cure: the gravest that is said of the first joint or board.
        joints: that are alike; () where the findings are not about a joint.
        bores: those of the first joint that are at fault.
        cure: what cures all of them, where that is known.
        paste: the cure as lines of the recipe.
        place: where these stand, in words ("tools", "the piece mirror").
    """

    findings: tuple[Finding, ...] = ()
    numbers: tuple[int, ...] = ()
    index: int = -1
    wanted: tuple[Finding, ...] = ()
    joints: tuple[Joint, ...] = ()
    bores: tuple[Bore, ...] = ()
    cure: Change | None = None
    paste: tuple[Patch, ...] = ()
    place: str = ""

    @property
    def severity(self) -> str:
        """Of the gravest."""
        return self.findings[0].severity


def causes(
    recipe: Recipe, project: Project, findings: Sequence[Finding | None], *, alike: bool = True
) -> tuple[Cause, ...]:
    """Findings by their cause, the gravest first; every one but None is in one of them.

    Args:
        recipe: as read.
        project: planned from it.
        findings: judged on the project, with or without what to change; None is passed over.
        alike: whether joints that are alike are one cause; else each pocket is one.
    """
    subjects: dict[tuple[str, ...], list[tuple[int, Finding]]] = {}
    for number, finding in enumerate(findings):
        if finding is not None:
            subjects.setdefault(_subject(finding, alike), []).append((number, finding))
    at_joint: dict[str, list[Finding]] = {}
    for finding in filter(None, findings):
        at_joint.setdefault(finding.joint, []).append(finding)
    merged: dict[object, list[Cause]] = {}
    for subject, numbered in subjects.items():
        for some in _by_cure(numbered):
            key, cause = _cause(recipe, project, at_joint, subject, some, alike)
            merged.setdefault(key, []).append(cause)
    whole = [_sorted(_as_one(some)) for some in merged.values()]
    whole.sort(key=lambda cause: gravity((cause.numbers[0], cause.findings[0])))
    return tuple(_pasted(recipe, cause) for cause in whole)


def gravity(numbered: tuple[int, Finding]) -> tuple[int, bool, int]:
    """Failing first; what placement says of a whole joint before what is said of its walls."""
    number, finding = numbered
    return SEVERITIES.index(finding.severity), finding.rule not in NO_PLACE, number


def _subject(finding: Finding, alike: bool) -> tuple[str, ...]:
    """What is said of one joint or board; of neither, what is said in the same words."""
    about = "place" if finding.rule in PLACE else finding.rule
    name = finding.joint or finding.board
    if finding.rule not in pages() or not name:
        return about, name, finding.severity, finding.message
    return about, name, "" if alike else finding.bore


def _by_cure(numbered: list[tuple[int, Finding]]) -> list[list[tuple[int, Finding]]]:
    """What is said of one joint or board, by what cures it first."""
    numbered.sort(key=gravity)
    found: dict[object, list[tuple[int, Finding]]] = {}
    for number, finding in numbered:
        edit = finding.changes[0].edit if finding.changes else None
        found.setdefault(edit, []).append((number, finding))
    return list(found.values())


def _cause(
    recipe: Recipe,
    project: Project,
    at_joint: Mapping[str, Sequence[Finding]],
    subject: tuple[str, ...],
    numbered: Sequence[tuple[int, Finding]],
    alike: bool,
) -> tuple[object, Cause]:
    """The cause of what is said of one subject, and what it has in common with others."""
    numbers, found = zip(*numbered, strict=True)
    about, name, *_ = subject
    joint = project.joint_named.get(name)
    joint = joint if joint and joint.key else None
    board = project.board_named.get(found[0].board)
    index = joint.key[1] if joint else piece_numbers(recipe).get(board.piece) if board else None
    cure = found[0].changes[0] if found[0].changes else None
    if not isinstance(index, int) or found[0].rule not in pages():
        key: object = (about, found[0].severity, found[0].message)
        return key, Cause(found, numbers, cure=cure)
    wanted = [f for f in found if f.severity == found[0].severity]
    # What is graver at the joint is not to be left as it is.
    wanted += (f for f in at_joint.get(name, ()) if joint and _graver(f, found[0]))
    cause = Cause(
        found, numbers, index, tuple(wanted), (joint,) if joint else (), _at_fault(joint, found),
        cure,
    )  # fmt: skip
    if cure is not None:
        return ("cure", cure.edit), cause
    if not alike:
        return subject, cause
    said = frozenset((f.rule, f.severity, f.face) for f in found)
    like = _like(recipe, project, joint) if joint else board and board.role
    return (about, index, said, like), cause


def _as_one(some: Sequence[Cause]) -> Cause:
    """Causes that are one: the first, with what is found of all."""
    return replace(
        some[0],
        findings=tuple(finding for cause in some for finding in cause.findings),
        numbers=tuple(number for cause in some for number in cause.numbers),
        joints=tuple({joint.name: joint for cause in some for joint in cause.joints}.values()),
    )


def _graver(one: Finding, other: Finding) -> bool:
    return SEVERITIES.index(one.severity) < SEVERITIES.index(other.severity)


def _sorted(cause: Cause) -> Cause:
    """The gravest findings first."""
    pairs = sorted(zip(cause.numbers, cause.findings, strict=True), key=gravity)
    numbers, found = zip(*pairs, strict=True)
    return replace(cause, findings=found, numbers=numbers)


def _pasted(recipe: Recipe, cause: Cause) -> Cause:
    """With the lines of its cure."""
    if cause.cure is None:
        return cause
    text, edit = recipe.document.text, cause.cure.edit
    places = [
        f"the piece {recipe.pieces[path[1]].name}"
        if len(path) > 1 and isinstance(path[1], int)
        else str(path[0])
        for path in (setting.path for setting in edit)
    ]
    try:
        found = patches(text, rewritten(text, edit))
    except WritingError:
        return cause  # its words still say what to do
    return replace(cause, paste=found, place=" and ".join(dict.fromkeys(places)))


def _like(recipe: Recipe, project: Project, joint: Joint) -> object:
    """What alike joints have in common."""
    boards = [project.board_named[name] for name in (joint.first, joint.second)]
    bored = [
        (project.board_named[b.board].face(b.pocket_face).name, b.drill, b.screw, b.swing)
        for b in joint.bores
    ]
    stated = any(written(recipe, (*joint.pocket_key(b), "position")) for b in joint.bores)
    one = joint.name if stated else ""
    return joint.kind, tuple(b.stock.label for b in boards), tuple(bored), one


def _at_fault(joint: Joint | None, found: Sequence[Finding]) -> tuple[Bore, ...]:
    """The bores of a joint that its findings are about."""
    if joint is None:
        return ()
    names = {f.bore for f in found if not pages()[f.rule].joint}
    some = tuple(bore for bore in joint.bores if bore.name in names)
    return joint.bores if any(pages()[f.rule].joint for f in found) or not some else some
