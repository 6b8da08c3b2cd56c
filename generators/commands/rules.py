"""`slantbore rules [CODE]`: what each finding means, how it is measured, and by what source."""

from __future__ import annotations

import argparse
import textwrap

from ...models.words.names import named
from ..solids.proof_pages import all_pages
from ..telling.screen import listed

SUMMARY = "Explain what is checked, or one finding by its name."
_WIDTH = 96


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the argument."""
    parser.add_argument(
        "code", metavar="CODE", nargs="?", help="what stands before a finding; all without it"
    )


def run(args: argparse.Namespace) -> int:
    """Print the list, or one page."""
    known = all_pages()
    if args.code is None:
        print(listed({page.code: page.title for page in known.values()}))
        print("\nOne page: slantbore rules CODE")
        return 0
    page = named(args.code, known, "finding")
    text = " ".join(page.page.split())
    print(f"{page.code}: {page.title}", "", textwrap.fill(text, _WIDTH), sep="\n")
    return 0
