"""Output formats, one file each: a module here with an `WRITER` is a format.

Imports models, telling, drawing, solids, page.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...models.piece.project import Finding, Project
from ...models.words.errors import SlantboreError
from ..telling.csvfile import Column

if TYPE_CHECKING:  # the registry itself needs no kernel
    from ..solids.solids import Solids


class NotWritten(SlantboreError, RuntimeError):
    """A file that cannot be written for want of something beside the recipe; the others can."""


@dataclass(frozen=True)
class Product:
    """What every writer is given.

    Attributes:
        project: boards, joints, bores and screws, placed.
        solids: their exact solids.
        findings: what rules and proof have to say, with what to change.
        stopped: after what the search for what to change was broken off, or "".
    """

    project: Project
    solids: Solids
    findings: tuple[Finding, ...]
    stopped: str = ""


@dataclass(frozen=True)
class Writer:
    """One output format.

    Attributes:
        name: unique; writers run in the order of their names.
        files: what it writes, relative to the output folder (`parts/NAME.stl`).
        about: one line for people.
        write: writes into a folder that exists; raises NotWritten, with nothing left behind, where
            this machine lacks what it takes.
        columns: of a list, with what each holds.
    """

    name: str
    files: str
    about: str
    write: Callable[[Product, Path], None]
    columns: Sequence[Column[Any]] = ()


@cache
def writers() -> tuple[Writer, ...]:
    """Every format, sorted by name."""
    found = []
    for module in pkgutil.iter_modules(__path__):
        writer = getattr(import_module(f"{__name__}.{module.name}"), "WRITER", None)
        if isinstance(writer, Writer):
            found.append(writer)
    return tuple(sorted(found, key=lambda writer: writer.name))
