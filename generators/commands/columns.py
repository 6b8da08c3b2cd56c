"""`slantbore columns [FILE]`: what stands under each heading of a list."""

from __future__ import annotations

import argparse

from ...models.words.names import named
from ..telling.screen import listed

SUMMARY = "Say what stands under each heading of a list."


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
        print(listed({writer.files: writer.about for writer in lists.values()}))
        print("\nOne list: slantbore columns FILE")
        return 0
    columns = named(args.file, lists, "list").columns
    print(listed({column.name: column.about for column in columns}))
    return 0
