"""What all work through the thickness has in common."""

from __future__ import annotations

from ..piece.board import TOP, Side
from . import Kind


class Through(Kind):
    """Work through the thickness."""

    @property
    def done_from(self) -> Side:
        """The top face; it goes through."""
        return TOP
