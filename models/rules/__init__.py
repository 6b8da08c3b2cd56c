"""The rules: one module each. A module with a `RULE` is found here; nothing else names it."""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from types import MappingProxyType

from ..project import Finding
from ..study import Study


@dataclass(frozen=True)
class Rule:
    """One check.

    Attributes:
        code: what a finding carries.
        title: one line.
        page: what is checked, the formula, the source.
        check: from a study to findings.
    """

    code: str
    title: str
    page: str
    check: Callable[[Study], Iterator[Finding]]


@cache
def rules() -> Mapping[str, Rule]:
    """Every rule by code, sorted."""
    found: dict[str, Rule] = {}
    for module in sorted(m.name for m in pkgutil.iter_modules(__path__)):
        rule = getattr(import_module(f"{__name__}.{module}"), "RULE", None)
        if isinstance(rule, Rule):
            found[rule.code] = rule
    return MappingProxyType(dict(sorted(found.items())))
