"""A recipe with an edit, laid out and judged as a whole: what is gone, and what is new."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from ..judging.copies import copies_of
from ..judging.judge import of_screws
from ..judging.rules import pages, rules
from ..judging.study import study_of
from ..piece.lever import Edit, RecipePath, Setting
from ..piece.project import Finding, Project
from ..placing.joints import NO_PLACE, NoPlace
from ..placing.likeness import Known
from ..placing.shop import Stopped
from ..planning import plan
from ..recipe.edits import edited, telling, written
from ..recipe.stated import EVERY_JOINT, PieceParams, Recipe
from ..words.errors import RecipeError
from .budget import Budget

_GRAVITY = ("notes", "warns", "fails")


@dataclass(frozen=True)
class Trial:
    """A recipe as an edit makes it, laid out; judged when that is asked for.

    Attributes:
        edit: of the recipe.
        project: None where the edit makes no recipe, or one that cannot be laid out.
        lacks: whether it was given up because a joint in question still finds no place.
    """

    edit: Edit
    project: Project | None = None
    lacks: bool = False
    _said: dict[str, tuple[Finding, ...]] = field(default_factory=dict, compare=False)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What is to be said of the project."""
        if self.project is None:
            return ()
        ruled = (f for code in rules() for f in self._of(code))
        return tuple(of_screws(self.project, (*self.project.findings, *ruled)))

    def _of(self, code: str) -> tuple[Finding, ...]:
        """What one rule says of the project, looked at once."""
        if code not in self._said:
            rule = rules().get(code)
            found = rule.check(study_of(self.project)) if rule and self.project else ()
            self._said[code] = tuple(found)
        return self._said[code]

    @cached_property
    def faults(self) -> Counter[Hashable]:
        """How many findings fail, and how many fail or warn, by rule and joint or board."""
        return _faults(self.findings)

    def _by_rule(self) -> Iterator[Iterable[Finding]]:
        """What placement says, then what each rule does; the order, which takes longest, last."""
        assert self.project is not None
        yield self.project.findings
        for code in sorted(rules(), key=lambda code: code == "no-order"):
            yield of_screws(self.project, self._of(code))

    def cures(self, finding: Finding, before: Trial) -> bool:
        """Whether a finding is gone, and nothing fails or warns that did not before."""
        if self.project is None or self.has(finding):
            return False
        if finding.severity == "notes" and self._notes(finding) >= before._notes(finding):
            return False  # it is told of another place
        found = (fault for some in self._by_rule() for fault in _faults(some).items())
        return all(count <= before.faults[key] for key, count in found)

    def has(self, one: Finding) -> bool:
        """Whether a finding is still there, as grave or graver; of whichever board is bored.

        A bore that is no more, with fewer pockets say, does not take its joint's fault with it.
        """
        if self.project is None:
            return self.lacks
        alone = not pages()[one.rule].joint and one.bore in {b.name for b in self.project.bores}
        gravity, about = _GRAVITY.index(one.severity), (one.rule, one.joint or one.board, one.face)

        def among(findings: Iterable[Finding]) -> bool:
            return any(
                (other.rule, other.joint or other.board, other.face) == about
                and (other.bore == one.bore or not alone)
                and _GRAVITY.index(other.severity) >= gravity
                for other in findings
            )

        # What placement says needs no judging, and what one rule says no other rule.
        return among(self.project.findings) or among(self._of(one.rule))

    def _notes(self, like: Finding) -> int:
        return sum((f.rule, f.severity) == (like.rule, like.severity) for f in self.findings)


def _faults(findings: Iterable[Finding]) -> Counter[Hashable]:
    return Counter(
        (gravity, f.rule, f.joint or f.board)
        for f in findings
        for gravity in range(1, _GRAVITY.index(f.severity) + 1)
    )


@dataclass
class Bench:
    """Where edits of one recipe are tried, each once.

    Attributes:
        recipe: as it is.
        before: its project and findings.
        models: the parameters of every design.
        budget: what may be spent.
        known: what was found along joints; it is added to.
        good: kinds of change with the trials that cured something.
    """

    recipe: Recipe
    before: Trial
    models: Mapping[str, type[PieceParams]]
    budget: Budget
    known: Known
    good: list[tuple[str, Trial]] = field(default_factory=list)
    _done: dict[_Key, Trial] = field(default_factory=dict)

    def cure(self, edit: Edit, wanted: Sequence[Finding], index: int) -> Trial | None:
        """The trial of an edit, if it cures some findings of a piece.

        What is said of several joints is said once of every joint, where that cures them as well.
        Where the recipe has other pieces or copies, the piece is tried alone first.
        """
        several = sum(piece.quantity for piece in self.recipe.pieces) > 1
        if several and not self._cures(edit, wanted, index):
            return None
        # Where few joints of many ask for it, it is said of these, unless it was said of all.
        said = written(self.recipe, ("build", index, "changes", EVERY_JOINT)) is not None
        many = said or 2 * len(_places(edit)) >= self._bored(index)
        wide = at_every_joint(edit) if many else ()
        if not several:
            trial = self._cures(edit, wanted, None)
            return trial and (self._cures(wide, wanted, None) or trial)
        whole = self._cures(wide, wanted, index) and self._cures(wide, wanted, None)
        return whole or self._cures(edit, wanted, None)

    def _bored(self, index: int) -> int:
        """How many joints of a piece have pockets."""
        project = self.before.project
        joints = project.joints if project else ()
        return sum(bool(j.bores) and j.key[:2] == ("build", index) for j in joints)

    def _cures(self, edit: Edit, wanted: Sequence[Finding], index: int | None) -> Trial | None:
        """The trial of an edit on the recipe, or on one piece of it, if it cures the findings."""
        edit = telling(self.recipe, edit)
        trial = self._tried(edit, index, wanted) if edit else None
        return trial if trial and all(trial.cures(f, self.before) for f in wanted) else None

    def leaves(self, edit: Edit, wanted: Sequence[Finding], index: int) -> bool:
        """Whether an edit that was tried does too little for some findings."""
        edit = telling(self.recipe, edit)
        keys = [key for which in (None, index) for key in _keys(edit, which, wanted)]
        done = [self._done[key] for key in keys if key in self._done]
        return not done or any(trial.has(finding) for trial in done for finding in wanted)

    def _tried(self, edit: Edit, index: int | None, wanted: Sequence[Finding]) -> Trial | None:
        """The recipe, or one piece of it, with an edit; None when the budget is used up.

        It is not laid out whole where a joint that is to get its place has none even then.
        """
        whole, part = keys = _keys(edit, index, wanted)
        done = next((self._done[key] for key in keys if key in self._done), None)
        if done is not None:
            return done
        if not self.budget.spend():
            return None
        try:
            recipe = edited(self.recipe, edit, self.models)
            stop, needed = lambda: not self.budget.spend(0), part[-1]
            project = plan(recipe, self.known, index, stop, needed)
            self._done[whole] = done = Trial(edit, copies_of(project).one)
        except Stopped:
            return None
        except NoPlace:
            self._done[part] = done = Trial(edit, lacks=True)
        except RecipeError:
            self._done[whole] = done = Trial(edit)
        return done


_Key = tuple[frozenset[tuple[RecipePath, str | None]], int | None, frozenset[str]]


def _keys(edit: Edit, index: int | None, wanted: Sequence[Finding]) -> tuple[_Key, _Key]:
    """What a trial is known by: laid out whole; or with joints whose place some findings need."""
    said = frozenset((s.path, s.value) for s in edit)
    needed = frozenset(f.joint for f in wanted if f.rule in NO_PLACE)
    return (said, index, frozenset()), (said, index, needed)


def _places(edit: Edit) -> set[RecipePath]:
    """The keys above those that an edit sets."""
    return {s.path[:-1] for s in edit if s.value is not None}


def at_every_joint(edit: Edit) -> Edit:
    """An edit that says the same of several joints, said once of every joint; () if it does not."""
    told = [s for s in edit if s.value is not None]
    places = _places(edit)
    if len(places) < 2 or any(place[2:3] != ("changes",) for place in places):
        return ()
    same = {(s.path[:2], s.path[-1]): s for s in told}
    if len({(s.path[:2], s.path[-1], s.value) for s in told}) > len(same):
        return ()
    once = [replace(s, path=(*s.path[:3], EVERY_JOINT, s.path[-1])) for s in same.values()]
    # What the recipe says of single joints and pockets would still stand.
    return (*once, *(Setting(s.path, None) for s in edit))
