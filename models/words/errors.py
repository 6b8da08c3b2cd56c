"""Errors that a user can cause, each with its place in the recipe.

A `Location` rides on every recipe node and on what is built from it, so that an error found late
still names file, line and column.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Location:
    """A place in a text file; line and column count from 1.

    Line 1, column 1 of a file stands for the file as a whole where nothing nearer is known.
    """

    file: str
    line: int = 1
    column: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@dataclass(frozen=True, order=True)
class Problem:
    """One thing wrong at one place; the message says what may stand there."""

    location: Location
    message: str

    def __str__(self) -> str:
        return f"{self.location}: {self.message}"


class SlantboreError(Exception):
    """Root of the errors that end a command with a message instead of a traceback."""


class RecipeError(SlantboreError, ValueError):
    """A recipe that cannot be read or built; holds every problem found, in reading order.

    Attributes:
        problems: one or more problems, sorted by place, no two alike.
    """

    problems: tuple[Problem, ...]

    def __init__(self, problems: Problem | Iterable[Problem]) -> None:
        found = (problems,) if isinstance(problems, Problem) else problems
        self.problems = tuple(sorted(set(found)))
        if not self.problems:
            raise ValueError("a RecipeError needs at least one problem")
        super().__init__("\n".join(map(str, self.problems)))

    @classmethod
    def at(cls, location: Location, message: str) -> RecipeError:
        """Return the error for a single problem."""
        return cls(Problem(location, message))
