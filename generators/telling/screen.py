"""A terminal: colour and a bar where there is one, plain text elsewhere."""

from __future__ import annotations

import argparse
import sys
import textwrap
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager

from ...models.advice.budget import Budget
from .printed import Block, Table, Told, brief, full, plain, shown

Progress = Callable[[str, int, int], None]
_WIDTH = 100  # characters of a line of text
_STYLES = {
    "fails": "bold red", "warns": "yellow", "notes": "green", "heading": "bold", "paste": "cyan",
}  # fmt: skip


def add_how_much(parser: argparse.ArgumentParser) -> None:
    """Declare how much is printed."""
    much = parser.add_mutually_exclusive_group()
    much.add_argument(
        "--full",
        action="store_true",
        help="print every place, where each pocket goes and the order of assembly as well",
    )
    much.add_argument(
        "--show", metavar="NAME", help="print all that is told of one piece, board, joint or pocket"
    )


def asked(args: argparse.Namespace, told: Told) -> list[Block]:
    """As much as was asked for.

    Raises:
        SlantboreError: nothing has the name that is to be shown.
    """
    if args.show is not None:
        return shown(told, args.show)
    return full(told) if args.full else brief(told)


def listed(about: Mapping[str, str]) -> str:
    """Names, and beside them what is said of each, folded where that is long."""
    width = max(map(len, about)) + 2
    gap = " " * width
    return "\n".join(
        textwrap.fill(f"{name:<{width}}{said}", _WIDTH, subsequent_indent=gap)
        for name, said in about.items()
    )


def show(blocks: Sequence[Block]) -> None:
    """Print on standard output: in colour, and no wider than it is, where that is a terminal."""
    if not sys.stdout.isatty():
        sys.stdout.write(plain(blocks))
        sys.stdout.flush()
        return
    from rich.console import Console
    from rich.padding import Padding
    from rich.table import Table as Grid
    from rich.text import Text

    console = Console(highlight=False, soft_wrap=False)
    for number, block in enumerate(blocks):
        if number:
            console.print()
        for part in block:
            if isinstance(part, Table):
                grid = Grid(box=None, padding=(0, 2, 0, 0), header_style="bold")
                for name in part.heading:
                    grid.add_column(name)
                for row in part.rows:
                    grid.add_row(*map(Text, row))
                console.print(Padding(grid, (0, 0, 0, 2)))
                continue
            text = Text(part.text, style=_STYLES.get(part.style, ""))
            if part.style == "paste":  # it is pasted as it stands: never wrapped
                console.print(text, soft_wrap=True)
            else:
                console.print(Padding(text, (0, 0, 0, part.indent), expand=False))


@contextmanager
def bar() -> Iterator[Progress | None]:
    """A bar on standard error when that is a terminal."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (BarColumn(), TextColumn("{task.description}", markup=False))
    with Bar(*columns, console=Console(stderr=True), transient=True) as line:
        task = line.add_task("", total=None)

        def progress(what: str, done: int, total: int) -> None:
            line.update(task, description=what, completed=done, total=total)

        yield progress


def timed(most: float, progress: Progress | None) -> Budget:
    """A budget of the computer's seconds; a bar shows how they go."""
    start = time.process_time()

    def elapsed() -> float:
        gone = time.process_time() - start
        if progress:
            progress("looking for what to change", round(100 * min(gone, most)), round(100 * most))
        return gone

    return Budget(most, elapsed)
