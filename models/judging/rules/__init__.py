"""The rules: one module each. A module with a `RULE` is found here; nothing else names it.

A code that something else reports (placement, say) has a module with a `PAGE` alone.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import import_module
from types import MappingProxyType
from typing import Literal

from ...piece.lever import Edit, Lever, Setting
from ...piece.project import Bore, Finding, Joint, Project, Severity
from ..measures import Wall
from ..study import Study

BORED = frozenset(
    (
        "usual", "move", "pockets", "screw", "screws", "stop", "swing", "drill", "face", "board",
        "limits", "stock",
    )
)  # fmt: skip
"""Every kind of change that may give a pocket another place."""
Measure = Literal["mm", "degrees", "x diameter", "N", "boards"]


@dataclass(frozen=True)
class Number:
    """What a rule measured on one bore, for whoever wants to look closer.

    Attributes:
        what: was measured.
        value: in `unit`.
        needed: least value that passes; None where the number only informs.
        unit: of both.
        says: more about it, or "".
    """

    what: str
    value: float
    needed: float | None = None
    unit: Measure = "mm"
    says: str = ""

    @property
    def margin(self) -> float | None:
        """Value less what is needed."""
        return None if self.needed is None else self.value - self.needed


@dataclass(frozen=True)
class Page:
    """What a code means.

    Attributes:
        code: what a finding carries.
        title: one line.
        page: what is checked, the formula, the source.
        kinds: of change that may cure it, of those that any joint, tool or stock allows.
        joint: whether it speaks of a joint as a whole, though it names one of its bores.
        hint: what a maker may do besides, or where no change of the recipe serves.
    """

    code: str
    title: str
    page: str
    kinds: frozenset[str] = field(default=frozenset(), kw_only=True)
    joint: bool = field(default=False, kw_only=True)
    hint: str = field(default="", kw_only=True)


@dataclass(frozen=True)
class Rule(Page):
    """One check.

    Attributes:
        check: from a study to findings.
        numbers: what it measures on one bore, if it can say.
        levers: what else may cure one of its findings.
        joints: that may be bored otherwise for it, besides the one that it names.
        on_solids: whether what it judges is measured on the solids as well, and judged again.
        adds_up: whether it counts what is alike in the whole project, copies of a piece as well.
    """

    check: Callable[[Study], Iterator[Finding]]
    numbers: Callable[[Study, Bore], Iterator[Number]] | None = None
    levers: Callable[[Study, Finding], Iterator[Lever]] | None = None
    joints: Callable[[Study, Finding], Iterator[Joint]] | None = None
    on_solids: bool = field(default=False, kw_only=True)
    adds_up: bool = field(default=False, kw_only=True)


@cache
def pages() -> Mapping[str, Page]:
    """The page of every code that a rule or placement reports, sorted."""
    found: dict[str, Page] = {}
    for module in sorted(m.name for m in pkgutil.iter_modules(__path__)):
        loaded = import_module(f"{__name__}.{module}")
        page = getattr(loaded, "RULE", None) or getattr(loaded, "PAGE", None)
        if isinstance(page, Page):
            found[page.code] = page
    return MappingProxyType(dict(sorted(found.items())))


@cache
def rules() -> Mapping[str, Rule]:
    """Every rule by code, sorted."""
    return MappingProxyType({k: page for k, page in pages().items() if isinstance(page, Rule)})


def wall_finding(study: Study, code: str, severity: Severity, message: str, wall: Wall) -> Finding:
    """A finding about a wall."""
    return Finding(
        code,
        severity,
        message,
        board=wall.board.name,
        joint=wall.bore.joint,
        bore=wall.bore.name,
        face=wall.name,
        measured=max(wall.gap, 0.0) if not wall.out else 0.0,
        needed=study.needed(wall),
        point=wall.point,
        solid=wall.solid,
    )


def wall_numbers(study: Study, bore: Bore, *, in_mate: bool) -> Iterator[Number]:
    """Every wall of a bore in its own board, or in the mating board."""
    for wall in study.walls:
        if wall.bore.name == bore.name and wall.in_mate == in_mate:
            whose = f" of the {wall.board.role}" if in_mate else ""
            says = "a lower bound" if wall.cut and not wall.exact else ""
            what = f"{wall.body} to the {wall.name}{whose}"
            yield Number(what, wall.gap, study.needed(wall), "mm", says)


def at_bores(project: Project, key: str, told: Mapping[str, tuple[str | None, str]]) -> Edit:
    """What is bored otherwise at some bores, in as few places as will do.

    Args:
        project: placed.
        key: of what is bored otherwise.
        told: what to write there and what that does, by the bore's name.
    """
    edit: list[Setting] = []
    for joint in project.joints:
        wanted = [told.get(bore.name) for bore in joint.bores]
        if joint.key and wanted and wanted[0] and wanted == wanted[:1] * len(wanted):
            edit += [Setting((*joint.key, key), *wanted[0])]
            edit += [Setting((*joint.pocket_key(bore), key), None) for bore in joint.bores]
        elif joint.key:
            edit += [
                Setting((*joint.pocket_key(bore), key), *one)
                for bore, one in zip(joint.bores, wanted, strict=True)
                if one
            ]
    return tuple(edit)
