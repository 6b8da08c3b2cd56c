"""Boards by what they are cut from, whatever the recipe calls it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from ...models.piece.board import Board, Stock
from ...models.piece.project import Project


def boards_by_stock(project: Project) -> Mapping[Stock, tuple[Board, ...]]:
    """Boards of one material, thickness and way of sawing, by the first stock that names it."""
    found: dict[Stock, list[Board]] = {}
    for board in project.boards:
        found.setdefault(replace(board.stock, label=""), []).append(board)
    return {boards[0].stock: tuple(boards) for boards in found.values()}
