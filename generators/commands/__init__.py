"""The commands, one module each: `SUMMARY`, `add(parser)` for its arguments and `run(args)`.

Imports every room above it.

A module's name is the command's. Another command is another file; nothing else names it. `run`
returns the exit status. What is slow to import, the CAD kernel above all, is imported inside it.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from importlib import import_module
from pkgutil import iter_modules
from typing import Protocol, cast


class Command(Protocol):
    """What a module here offers."""

    SUMMARY: str

    def add(self, parser: argparse.ArgumentParser) -> None:
        """Declare the command's arguments."""

    def run(self, args: argparse.Namespace) -> int:
        """Do it and return the exit status."""


def commands() -> Mapping[str, Command]:
    """Return every command by name, in alphabetical order."""
    names = sorted(module.name for module in iter_modules(__path__))
    return {name: cast(Command, import_module(f".{name}", __name__)) for name in names}
