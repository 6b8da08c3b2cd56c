"""What the codes of the proof on solids mean: kept apart, so that telling it needs no kernel."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ...models.judging.rules import Page, pages

PROOF_PAGES = (
    Page(
        "disagreement",
        "The closed form and the solids do not agree",
        """Every wall is known twice: in closed form, which placed the pockets, and as an exact
distance on the very solids that are exported; so is the distance between two bores of a board, or
of a bore and a round hole, that come near each other. The closed form must never say more wood
than the solid has, beyond 0.000001 mm. It is a fault of the program, and no verdict of that build
can be trusted.""",
    ),
)

ROUTER_PAGES = (
    Page(
        "router-path",
        "A router's program cuts what should stay, or moves as it must not",
        """Every program is run on a map of the stock's heights, swept in closed form, and held
against the solid of the board with slots in place of its pockets: no cut more than 0.1 mm into wood
that should stay, no rapid move through wood, no pass deeper than the cutter's, no plunge of a
cutter that does not cut at its centre. A program that fails is not written. The limits are common
practice, no source.""",
    ),
    Page(
        "router-size",
        "A board larger than the machine",
        """The stock of a program, with its margin, is no larger than the machine's travel; what is
larger is left for the saw. The travel is common practice, no source: check your machine.""",
    ),
)


LEFT_TO_SOLIDS = (
    "Left to build, on the solids: that every board comes out sound, that bores which break out "
    "do not part it, and that both ways agree."
)
"""What `check` does not look at, and why a build may still fail."""


def all_pages() -> Mapping[str, Page]:
    """The page of every code that a finding can carry, sorted."""
    found = {**pages(), **{page.code: page for page in (*PROOF_PAGES, *ROUTER_PAGES)}}
    return MappingProxyType(dict(sorted(found.items())))
