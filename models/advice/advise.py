"""What to change: levers pulled one after the other, each tried before it is named.

    findings -> causes (alike joints once) -> levers, the easiest first -> trials -> changes

Designs, rules and joints say what may be changed (`piece.lever.Lever`); only here is it looked
for, and a change is named only where with it the whole recipe has the finding no more, and nothing
fails or warns that did not.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain

from ..designs import designs, piece_models
from ..judging.copies import copies_of
from ..judging.rules import Rule, pages
from ..judging.study import study_of
from ..piece.lever import Change, Lever
from ..piece.project import Finding, Project
from ..placing.joints import NO_PLACE
from ..placing.likeness import Known
from ..placing.shop import Shop
from ..recipe.stated import Recipe
from ..words.lengths import format_length
from .budget import GLANCE, Budget
from .causes import Cause, causes
from .floor import fixing, place_levers
from .joints import Joints
from .sizes import size_levers
from .stock import stock_levers
from .trials import Bench, Trial
from .undone import bored_as_designed, unsaid, usual_again

_HEAD_START = 0.1  # of the budget
MOST = 3
"""Changes that a finding names at most."""


@dataclass(frozen=True)
class Advice:
    """What was found by looking.

    Attributes:
        findings: on every copy of every piece, with their changes.
        stopped: after what the search was broken off ("2 s"); "" where it came to its end.
    """

    findings: tuple[Finding, ...]
    stopped: str = ""


def advise(
    recipe: Recipe,
    project: Project,
    found: Sequence[Finding],
    budget: Budget,
    most: int = MOST,
    known: Known | None = None,
) -> Advice:
    """Look for what to change.

    Args:
        recipe: as read.
        project: planned from it.
        found: what `judge_once` says of it; what the rules do not know is left as it is.
        budget: what the search may take; it is used up.
        most: changes that a finding names.
        known: what was found along joints when the project was planned; it is added to.
    """
    known = {} if known is None else known
    copies = copies_of(project)
    bench = Bench(recipe, Trial((), copies.one), piece_models(), budget, known)
    findings = tuple(copies.of_first(found))
    cures: list[dict[str, Change]] = [{} for _ in findings]
    # First the gravest of each cause; then what is left of it; then, where nothing serves all that
    # are alike, single pockets.
    for alike in (True, True, False):
        left = [None if cures[i] else finding for i, finding in enumerate(findings)]
        _sought(bench, causes(recipe, copies.one, left, alike=alike), cures, most)
    told = [told_with(f, tuple(c.values())[:most]) for f, c in zip(found, cures, strict=True)]
    return Advice(copies.said(told), budget.said if budget.over else "")


def told_with(finding: Finding, changes: tuple[Change, ...] = ()) -> Finding:
    """The finding with its changes, in words as well, and with what helps besides."""
    page = pages().get(finding.rule)
    hint = finding.remedy or (page.hint if page and finding.severity != "notes" else "")
    says = [change.says for change in changes] + [hint] * bool(hint)
    return replace(finding, remedy="; or ".join(says), changes=changes)


def _sought(bench: Bench, asks: Sequence[Cause], cures: list[dict[str, Change]], most: int) -> None:
    """One change for each ask, then a second for each, then a third, while the budget lasts.

    All are searched side by side, a lever at a time, and of those that found nothing yet always
    the one that has taken least: what is found soon is not kept waiting. Joints without a place
    come first, since what else is wrong may hang on where their pockets will be.
    """
    searches = {n: _search(bench, ask, cures) for n, ask in enumerate(asks) if ask.index >= 0}
    for _ in range(most):
        taken = dict.fromkeys(searches, _HEAD_START * bench.budget.most)
        taken |= {n: 0.0 for n in searches if asks[n].wanted[0].rule in NO_PLACE}
        while taken and not bench.budget.over:
            least = min(taken, key=lambda n: taken[n])
            before = bench.budget.used
            if next(searches[least], True):
                del taken[least]
            else:
                taken[least] += bench.budget.used - before


def _search(bench: Bench, ask: Cause, cures: list[dict[str, Change]]) -> Iterator[bool]:
    """Pull levers for what an ask wants; say after each whether it served."""
    found: set[str] = set()

    def served(kind: str, trial: Trial) -> bool:
        found.add(kind)
        change = Change(trial.edit, _then(bench.before.project, trial.project, ask))
        for number in ask.numbers:
            if trial.cures(bench.before.findings[number], bench.before):
                cures[number].setdefault(kind, change)
        return True

    known = 0
    for lever in _levers(bench, ask, ask.wanted[0]):
        for kind, trial in bench.good[known:]:  # what cured something else may cure this as well
            if kind not in found and all(trial.cures(f, bench.before) for f in ask.wanted):
                yield served(kind, trial)
        known = len(bench.good)
        if lever.kind in found or (found and lever.resort):
            continue
        pull = _least if lever.least else _easiest
        cure = pull(bench, lever, ask)
        if cure is not None:
            bench.good.append((lever.kind, cure))
            known = len(bench.good)
        yield cure is not None and served(lever.kind, cure)
        if bench.budget.over:
            return


def _easiest(bench: Bench, lever: Lever, ask: Cause) -> Trial | None:
    """The first edit that serves."""
    tries = 0
    for edit in lever.edits:
        if edit is None:
            if not bench.budget.spend(GLANCE):
                return None
            continue
        trial = bench.cure(edit, ask.wanted, ask.index)
        if trial is not None:
            return trial
        tries += 1
        if tries == lever.tries or bench.budget.over:
            return None
    return None


def _least(bench: Bench, lever: Lever, ask: Cause) -> Trial | None:
    """The first edit that serves, of edits that do more and more: by doubling, then halving.

    One that does too little leaves the finding, or something less grave. Where none that was
    doubled to serves, the first that brings something else may have done too much. Of sizes, where
    the last does too little all do.
    """
    edits = [edit or () for edit in lever.edits]
    if lever.size and len(edits) > 2 and not bench.cure(edits[-1], ask.wanted, ask.index):
        if bench.budget.over or bench.leaves(edits[-1], ask.wanted, ask.index):
            return None
    probes = sorted({2**n - 1 for n in range(len(edits).bit_length())} | {len(edits) - 1})
    found: Trial | None = None
    low, high, before = -1, len(edits), -1
    for at in probes if edits else ():
        found = bench.cure(edits[at], ask.wanted, ask.index)
        if found:
            low, high = before, at
            break
        if bench.budget.over:
            return None
        if bench.leaves(edits[at], ask.wanted, ask.index):
            low, high = at, len(edits)
        else:
            high = min(high, at)
        before = at
    while high - low > 1 and high < len(edits) and not bench.budget.over:
        middle = (low + high) // 2
        trial = bench.cure(edits[middle], ask.wanted, ask.index)
        too_little = found or bench.leaves(edits[middle], ask.wanted, ask.index)
        low, high = (low, middle) if trial or not too_little else (middle, high)
        found = trial or found
    return found


def _then(before: Project | None, after: Project | None, ask: Cause) -> str:
    """Where the first of the pockets may lie after a change, if that is somewhere else."""
    if after is None or before is None or not ask.bores:
        return ""
    old = ask.bores[0]
    new = next((bore for bore in after.bores if bore.name == old.name), old)
    same = new.window == old.window and new.swing == old.swing
    if same or new.window.low > new.window.high:
        return ""
    low, high = (format_length(mm, after.unit) for mm in (new.window.low, new.window.high))
    swung = f"swung {new.swing:g} degrees, " if new.swing != old.swing else ""
    return f"{swung}the pocket may sit {low} to {high} from the {new.window.datum}"


# --- what is asked for ---------------------------------------------------------------------------


def _levers(bench: Bench, ask: Cause, finding: Finding) -> Iterator[Lever]:
    """All that may cure a finding, the easiest first."""
    recipe, project = bench.recipe, bench.before.project
    assert project is not None
    page, params = pages()[finding.rule], recipe.pieces[ask.index]
    shop, study = Shop.of(recipe, ask.index, params), study_of(project)
    own = [v for v in designs()[params.design].levers(params, shop) if finding.rule in v.cures]
    yield from (lever for lever in own if not lever.size)
    if isinstance(page, Rule) and page.levers:
        yield from page.levers(study, finding)
    if ask.bores and finding.severity != "notes":
        told = Joints(recipe, project, ask.joints, ask.bores, bench.known)
        yield from _bored_otherwise(told, ask, page.kinds)
    if isinstance(page, Rule) and page.joints:
        for joint in page.joints(study, finding):
            others = Joints(recipe, project, (joint,), joint.bores, bench.known).levers()
            for lever in (lever for lever in others if lever.kind in page.kinds):
                yield replace(lever, kind=f"{lever.kind} of {joint.name}")
    if "place" in page.kinds:
        yield from place_levers(recipe, project, finding)
    if "fixing" in page.kinds:
        yield fixing(recipe, ask.index)
    grave = finding.severity != "notes"
    if grave:
        yield from bored_as_designed(recipe, ask.index, ask.joints)
        yield from usual_again(recipe, ask.index, ("limits",))
    yield from (lever for lever in own if lever.size)
    if "stock" in page.kinds:
        yield from _stocks(recipe, project, ask, finding)
    if grave:
        yield from usual_again(recipe, ask.index, ("limits", "tools"))
        yield from unsaid(recipe, ask.index)
        yield from size_levers(recipe, ask.index)


def _bored_otherwise(told: Joints, ask: Cause, kinds: Collection[str]) -> Iterator[Lever]:
    """What may be bored otherwise, or with other tools, at the joints of an ask."""
    joints = told.project.joints
    every = sum(bool(j.bores) and j.key[:2] == ("build", ask.index) for j in joints)
    # What all pieces share is changed before single joints only where all of them ask for it.
    wide = every <= len(ask.joints)
    both = (told.tools(), told.levers()) if wide else (told.levers(), told.tools())
    yield from (lever for lever in chain([told.limits()], *both) if lever.kind in kinds)


def _stocks(recipe: Recipe, project: Project, ask: Cause, finding: Finding) -> Iterator[Lever]:
    """Other stock for the boards at fault, and for those that are joined to them."""
    labels = {board.name: board.stock.label for board in project.boards}
    ends = [name for j in ask.joints[:1] for name in (j.first, j.second)] or [finding.board]
    joined = [j for j in project.joints if ask.joints and {j.first, j.second} & set(ends)]
    own = dict.fromkeys(labels[name] for name in ends)
    near = dict.fromkeys(labels[name] for j in joined for name in (j.first, j.second))
    for label in own | near:
        yield from stock_levers(recipe, ask.index, label, thicker=label in own)
