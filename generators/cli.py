"""The `slantbore` command: arguments in, exit status out, and never a traceback.

Exit status: 0 nothing fails, 1 a finding fails, 2 the recipe, an argument or a file is wrong, 130
stopped by the user, 70 a defect of slantbore itself (EX_SOFTWARE in BSD's sysexits.h).
"""

from __future__ import annotations

import argparse
import io
import os
import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress
from typing import TextIO

from .. import __version__
from ..models.words.errors import RecipeError, SlantboreError
from .commands import commands

WRONG, DEFECT, STOPPED = 2, 70, 130
DEBUG = "SLANTBORE_DEBUG"


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Args:
        argv: arguments without the program's name; those of this process by default.

    Returns:
        The exit status.
    """
    for stream in (sys.stdout, sys.stderr):
        _print_anything(stream)
    try:
        args = parser().parse_args(argv)
        status: int = args.run(args)
        sys.stdout.flush()
    except SystemExit as stop:  # argparse has said what was wrong, or printed its help
        status = stop.code if isinstance(stop.code, int) else WRONG
    except KeyboardInterrupt:
        status = _say("stopped", STOPPED)
    except RecipeError as error:
        status = _say(str(error), WRONG, prefix="")
    except SlantboreError as error:
        status = _say(str(error), WRONG)
    except BrokenPipeError:
        status = _say("whoever read the output stopped reading", WRONG)
    except OSError as error:
        status = _say(_os_words(error), WRONG)
    except Exception as error:
        status = _say(_defect_words(error), DEFECT)
    return _closed(status)


def parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    whole = argparse.ArgumentParser(
        prog="slantbore",
        description="Furniture recipes to exact solids, every slanted pocket bore in its place.",
        epilog="Exit status: 0 nothing fails, 1 a finding fails, 2 a recipe or argument is wrong.",
        allow_abbrev=False,
    )
    whole.add_argument("--version", action="version", version=f"slantbore {__version__}")
    sub = whole.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for name, command in commands().items():
        one = sub.add_parser(
            name, help=command.SUMMARY, description=command.SUMMARY, allow_abbrev=False
        )
        command.add(one)
        one.set_defaults(run=command.run)
    return whole


def _print_anything(stream: TextIO) -> None:
    """Let a terminal that lacks a character show its code instead of ending the command."""
    if isinstance(stream, io.TextIOWrapper):
        stream.reconfigure(errors="backslashreplace")


def _say(message: str, status: int, prefix: str = "slantbore: ") -> int:
    if os.environ.get(DEBUG) == "1":
        traceback.print_exc()
    with suppress(OSError):
        print(f"{prefix}{message}", file=sys.stderr, flush=True)
    return status


def _os_words(error: OSError) -> str:
    named = ", ".join(str(name) for name in (error.filename, error.filename2) if name)
    why = error.strerror or str(error) or type(error).__name__
    return f"{named}: {why}" if named else why


def _defect_words(error: Exception) -> str:
    what = " ".join(str(error).split())
    return (
        f"a defect of slantbore, not of your recipe: {type(error).__name__}: {what}. "
        f"Run it again with {DEBUG}=1 in the environment and send what it prints, "
        "with the recipe, to the maintainers of your copy."
    )


def _closed(status: int) -> int:
    """Make sure that nothing is left to fail when the interpreter flushes at exit."""
    try:
        sys.stdout.flush()
    except OSError as error:
        if status < WRONG:
            status = _say(_os_words(error), WRONG)
        with suppress(OSError, ValueError):
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, sys.stdout.fileno())
            os.close(nowhere)
    return status
