"""Which boards a maker joins by themselves before they go into the piece.

Common practice, no source: what is glued up edge to edge is one board from then on; a frame whose
joints all lie the same way closes flat on the bench (two legs and the apron between them, two rails
and the divider between them); and what hangs together without the joints of one way closes before
those do, all at once (half a ring of mitres, a case before it goes onto its base).
"""

from __future__ import annotations

from collections import Counter

from ..piece.project import JointKind
from .obstacles import Assembly

GLUED_UP: frozenset[JointKind] = frozenset({"edge", "edging"})
_MOST_WAYS = 6  # more ways than that have no frames of their own; it keeps the search linear


def frames(assembly: Assembly) -> list[set[int]]:
    """The boards that may be joined by themselves, by their numbers; two at least, never all."""
    ways: list[tuple[float, ...]] = []
    for (x, y, z), _ in assembly.out:
        rounded = (round(x, 5) + 0.0, round(y, 5) + 0.0, round(z, 5) + 0.0)
        ways.append(max(rounded, tuple(-value + 0.0 for value in rounded)))
    joints = [j for j, joint in enumerate(assembly.joints) if joint.kind != "loose"]
    glued = [j for j in joints if assembly.joints[j].kind in GLUED_UP]
    count = len(assembly.boards)
    found = dict.fromkeys(_hanging(assembly, glued))
    for way, _ in Counter(ways[j] for j in joints).most_common(_MOST_WAYS):
        along = [j for j in joints if ways[j] == way]
        across = [j for j in joints if ways[j] != way]
        for kept in (along, across):
            found |= dict.fromkeys(_hanging(assembly, kept + glued))
    return [set(some) for some in found if 1 < len(some) < count]


def glued_up(assembly: Assembly) -> list[int]:
    """Per board the first board of what it is glued up with edge to edge; itself where none is."""
    joints = [j for j, joint in enumerate(assembly.joints) if joint.kind in GLUED_UP]
    first = list(range(len(assembly.boards)))
    for some in _hanging(assembly, joints):
        for board in some:
            first[board] = min(some)
    return first


def _hanging(assembly: Assembly, joints: list[int]) -> list[frozenset[int]]:
    """The boards that hang together by some joints."""
    links: list[set[int]] = [set() for _ in assembly.boards]
    for joint in joints:
        a, b = assembly.ends[joint]
        links[a].add(b)
        links[b].add(a)
    left = set(range(len(links)))
    found = []
    while left:
        fresh = [min(left)]
        group = {fresh[0]}
        while fresh:
            more = links[fresh.pop()] - group
            group |= more
            fresh += more
        found.append(frozenset(group))
        left -= group
    return found
