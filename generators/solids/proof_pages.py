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
cutter that does not cut at its centre, no drill that goes sideways, nothing outside the stock or
the machine's travel or too deep in the spoil board. Beside a wall the wood is looked at 0.05 mm
away from it. What is left standing where a cutter reaches, but for tabs or a skin, warns. A
program that fails is not written. The limits are common practice, no source.""",
    ),
    Page(
        "router-size",
        "A board or a sheet larger than the machine, or a part larger than the sheet",
        """The stock of a program, with its margin, is no larger than the machine's travel, and
rapid moves clear it; what is larger is left for the saw, and so is a part that a sheet has no room
for within its margins. Where the recipe states no router the travel is common practice, no
source.""",
    ),
    Page(
        "router-tool",
        "Work that no cutter at hand makes",
        """Each piece of work is given the widest cutter that goes into it and reaches deep enough:
a drill for a hole of its size, a flat cutter for grooves, rebates, openings and outlines, a
ball-nose cutter no wider than the bore for a pocket. What none of them makes is left for the hand,
and so are inside corners that a round cutter leaves round: common practice, no source.""",
    ),
    Page(
        "router-pocket",
        "How a router leaves the pockets",
        """On three axes a ball-nose cutter follows the axis of the bore from the air to the
shoulder. The slot's floor is the bore's own; the wood above the bore goes with it. From 100 mm3 of
it a pocket is told, from 400 mm3 it is left for the drill: limits of common practice, no source.
The pilot and the square shoulder are always left for the stepped drill.""",
    ),
)


LEFT_TO_SOLIDS = (
    "Left to build, on the solids: that every board comes out sound, that bores which break out "
    "do not part it, that both ways agree, and that no router program cuts what should stay."
)
"""What `check` does not look at, and why a build may still fail."""


def all_pages() -> Mapping[str, Page]:
    """The page of every code that a finding can carry, sorted."""
    found = {**pages(), **{page.code: page for page in (*PROOF_PAGES, *ROUTER_PAGES)}}
    return MappingProxyType(dict(sorted(found.items())))
