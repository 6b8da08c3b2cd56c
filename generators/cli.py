"""The `slantbore` command: arguments in, exit status out, and never a traceback.

Exit status: 0 nothing fails, 1 a finding fails, 2 the recipe, an argument or a file is wrong, 130
stopped by Ctrl-C and 143 by SIGTERM (128 and the signal's number), 70 a defect of slantbore itself
(EX_SOFTWARE in BSD's sysexits.h).
"""

from __future__ import annotations

import argparse
import io
import os
import signal
import sys
import threading
import traceback
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, redirect_stderr, redirect_stdout, suppress
from typing import Any

from .. import __version__
from ..models.words.errors import RecipeError, SlantboreError
from .commands import commands
from .files.folder import FULL

WRONG, DEFECT, STOPPED = 2, 70, 130
DEBUG = "SLANTBORE_DEBUG"


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Args:
        argv: arguments without the program's name; those of this process by default.

    Returns:
        The exit status.
    """
    with _stoppable() as came, _streams():
        try:
            args = parser().parse_args(argv)
            status: int = args.run(args)
            sys.stdout.flush()
        except BaseException as error:
            # Whatever goes wrong after a signal is because of it: a module half loaded, say.
            status = _say("stopped", 128 + came[0]) if came else _told(error)
        return _closed(status)


def _told(error: BaseException) -> int:
    """Say what ended the command; return the exit status."""
    match error:
        case SystemExit():  # argparse has said what was wrong, or printed its help
            return error.code if isinstance(error.code, int) else WRONG
        case KeyboardInterrupt():
            return _say("stopped", STOPPED)
        case RecipeError():
            return _say(str(error), WRONG, prefix="")
        case SlantboreError():
            return _say(str(error), WRONG)
        case BrokenPipeError():
            return _say("whoever read the output stopped reading", WRONG)
        case OSError():
            return _say(_os_words(error), WRONG)
        case _:
            return _say(_defect_words(error), DEFECT)


@contextmanager
def _stoppable() -> Iterator[list[int]]:
    """Let the first signal that stops a command raise KeyboardInterrupt, so that it cleans up.

    A second one ends it at once. Yields the signals that came.
    """
    came: list[int] = []
    before: dict[int, Any] = {}

    def stop(number: int, frame: object) -> None:
        came.append(number)
        signal.signal(number, before[number])
        raise KeyboardInterrupt

    if threading.current_thread() is threading.main_thread():
        for name in ("SIGINT", "SIGTERM", "SIGHUP"):
            number = getattr(signal, name, None)  # Windows has no SIGHUP
            if number is not None and signal.getsignal(number) is not signal.SIG_IGN:
                before[number] = signal.signal(number, stop)
    try:
        yield came
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


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


@contextmanager
def _streams() -> Iterator[None]:
    """Let a terminal that lacks a character show its code, and a closed stream take anything."""
    with (
        open(os.devnull, "w", encoding="utf-8") as nowhere,
        redirect_stdout(sys.stdout or nowhere),
        redirect_stderr(sys.stderr or nowhere),
    ):
        for stream in (sys.stdout, sys.stderr):
            if isinstance(stream, io.TextIOWrapper):
                stream.reconfigure(errors="backslashreplace")
        yield


def _say(message: str, status: int, prefix: str = "slantbore: ") -> int:
    if os.environ.get(DEBUG) == "1":
        traceback.print_exc()
    with suppress(OSError):
        print(f"{prefix}{message}", file=sys.stderr, flush=True)
    return status


def _os_words(error: OSError) -> str:
    named = ", ".join(str(name) for name in (error.filename, error.filename2) if name)
    why = error.strerror or str(error) or type(error).__name__
    if not named and error.errno in FULL:  # whoever writes a file names it
        named = "standard output"
    if not named and isinstance(error, FileNotFoundError):  # of the working directory alone
        named = "the folder you are in"
    return f"{named}: {why}" if named else why


def _defect_words(error: BaseException) -> str:
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
