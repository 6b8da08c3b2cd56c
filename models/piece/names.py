"""What a piece calls its boards, joints, pockets and screws, so that no name is two things'."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal

from ..words.names import folded
from .board import Board
from .project import Joint


@dataclass(frozen=True)
class Named:
    """One thing by its name.

    Attributes:
        kind: what it is.
        name: in full.
        own: as its piece calls it, of a board; else "".
    """

    kind: Literal["board", "screw", "joint", "pocket"]
    name: str
    own: str = ""

    @property
    def key(self) -> tuple[bool, str]:
        """Different for all that files and recipes must tell apart.

        Boards and screws are parts of files; joints and pockets are named in a recipe.
        """
        return self.kind in ("board", "screw"), folded(self.name)


def names(boards: Iterable[Board], joints: Iterable[Joint]) -> Iterator[Named]:
    """Yield everything that has a name."""
    for board in boards:
        yield Named("board", board.name, board.role)
    for joint in joints:
        yield Named("joint", joint.name)
        for bore in joint.bores:
            yield Named("pocket", bore.name)
            yield Named("screw", f"{bore.name} screw")
