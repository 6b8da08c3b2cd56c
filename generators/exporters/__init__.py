"""Output formats, one file each: a module here with an `EXPORTER` is a format."""

from __future__ import annotations

import pkgutil
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from ...models.project import Finding, Project

if TYPE_CHECKING:  # the registry itself needs no kernel
    from ..solids import Solids


@dataclass(frozen=True)
class Product:
    """What every exporter is given.

    Attributes:
        project: boards, joints, bores and screws, placed.
        solids: their exact solids.
        findings: what rules and proof have to say.
    """

    project: Project
    solids: Solids
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Exporter:
    """One output format.

    Attributes:
        name: unique; exporters run in the order of their names.
        files: what it writes, relative to the output folder (`parts/NAME.stl`).
        about: one line for people.
        write: writes into a folder that exists.
    """

    name: str
    files: str
    about: str
    write: Callable[[Product, Path], None]


@cache
def exporters() -> tuple[Exporter, ...]:
    """Every format, sorted by name."""
    found = []
    for module in pkgutil.iter_modules(__path__):
        exporter = getattr(import_module(f"{__name__}.{module.name}"), "EXPORTER", None)
        if isinstance(exporter, Exporter):
            found.append(exporter)
    return tuple(sorted(found, key=lambda exporter: exporter.name))
