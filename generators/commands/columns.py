"""`slantbore columns [FILE]`: what stands under each heading of a list."""

from __future__ import annotations

import argparse
import textwrap

from ...models.words.errors import SlantboreError
from ...models.words.names import one_of

SUMMARY = "Say what stands under each heading of a list."
_WIDTH = 96


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the argument."""
    parser.add_argument(
        "file", metavar="FILE", nargs="?", help="a list, such as bores.csv; all without it"
    )


def run(args: argparse.Namespace) -> int:
    """Print the lists, or the columns of one."""
    from ..writers import writers  # some of them load the kernel

    lists = {writer.files: writer for writer in writers() if writer.columns}
    if args.file is None:
        width = max(map(len, lists))
        for writer in lists.values():
            print(f"{writer.files:<{width}}  {writer.about}")
        print("\nOne list: slantbore columns FILE")
        return 0
    try:
        columns = lists[one_of(args.file, lists, "list")].columns
    except ValueError as error:
        raise SlantboreError(str(error)) from None
    width = max(len(column.name) for column in columns)
    for column in columns:
        gap = " " * (width + 2)
        print(
            textwrap.fill(f"{column.name:<{width}}  {column.about}", _WIDTH, subsequent_indent=gap)
        )
    return 0
