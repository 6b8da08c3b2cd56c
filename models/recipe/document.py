"""A file as read: plain mappings, lists and text, and where each of them stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from ..words.errors import Location

Tree = str | list["Tree"] | dict[str, "Tree"]
NodePath = tuple[str | int, ...]


@dataclass(frozen=True)
class Document:
    """A file as read: the tree of mappings, lists and text, and the places of its nodes.

    Attributes:
        file: the name to print.
        tree: dict, list and str only.
        keys: where the key of a node stands, for the members of mappings.
        values: where the node itself stands.
        spans: where the text of each value begins and ends, quotes included, in characters after
            a byte order mark; in reading order.
        text: as it was read, a byte order mark included; "" of a tree that was changed.
    """

    file: str
    tree: Tree
    keys: Mapping[NodePath, Location]
    values: Mapping[NodePath, Location]
    spans: Mapping[NodePath, tuple[int, int]]
    text: str = ""

    def location(self, *path: str | int) -> Location:
        """Return where the value at `path` stands, or the nearest node above it that exists."""
        for end in range(len(path), -1, -1):
            if path[:end] in self.values:
                return self.values[path[:end]]
        return Location(self.file)

    def key_location(self, *path: str | int) -> Location:
        """Return where the key at `path` stands; for a member of a list, the member itself."""
        return self.keys.get(path) or self.location(*path)
