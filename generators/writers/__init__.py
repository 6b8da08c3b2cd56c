"""Output formats, one file each: a module here with an `WRITER` is a format.

Imports models, telling, drawing, cutting, solids, papers, aids, router, page.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from typing import Any, TypeVar

from ...models.piece.project import Finding, Project
from ...models.words.errors import SlantboreError
from ...models.words.names import one_of
from ..solids.product import Product
from ..telling.csvfile import Column, write_csv

R = TypeVar("R")


class NotWritten(SlantboreError, RuntimeError):
    """A file that cannot be written for want of something beside the recipe; the others can."""


@dataclass(frozen=True)
class Ready:
    """What a format has made before any file is written.

    Attributes:
        findings: of its own proofs.
        write: writes it.
    """

    findings: tuple[Finding, ...]
    write: Callable[[Product, Path], None]


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
        group: of formats that are left out together; "" for one by itself.
        ready: of a format that is proven: makes it first, so that all formats tell what it found.
        rows: of a list, what stands in it.
    """

    name: str
    files: str
    about: str
    write: Callable[[Product, Path], None]
    columns: Sequence[Column[Any]] = ()
    group: str = ""
    ready: Callable[[Product], Ready] | None = None
    rows: Callable[[Project], Iterable[Any]] | None = None

    def made(self, product: Product) -> Ready:
        """What has to be made before any file is written; nothing for most formats."""
        return self.ready(product) if self.ready else Ready((), self.write)


def listing(
    name: str,
    file: str,
    about: str,
    columns: Sequence[Column[R]],
    rows: Callable[[Project], Iterable[R]],
) -> Writer:
    """A list of a project: a CSV file, and a sheet of the workbook."""

    def write(product: Product, folder: Path) -> None:
        write_csv(folder / file, columns, rows(product.project))

    return Writer(name, file, about, write, columns, "lists", rows=rows)


@cache
def writers() -> tuple[Writer, ...]:
    """Every format, sorted by name."""
    found = []
    for module in pkgutil.iter_modules(__path__):
        writer = getattr(import_module(f"{__name__}.{module.name}"), "WRITER", None)
        if isinstance(writer, Writer):
            found.append(writer)
    return tuple(sorted(found, key=lambda writer: writer.name))


def writers_without(left_out: Collection[str]) -> tuple[Writer, ...]:
    """Every format but some, named by themselves or by their group, blanks as hyphens.

    Raises:
        SlantboreError: there is no such format or group.
    """
    words = {one: {one.name.replace(" ", "-"), one.group} - {""} for one in writers()}
    for word in left_out:
        try:
            one_of(word, sorted(set().union(*words.values())), "format or group of formats")
        except ValueError as error:
            raise SlantboreError(f"--without {error}") from None
    return tuple(one for one in writers() if not words[one] & set(left_out))
