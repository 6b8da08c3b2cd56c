"""Boards as a recipe states them: size, sawn ends and edges, names of faces, work."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from pydantic import Field, create_model

from ..piece.board import SIDES, Board, BoardSide, Seen, Side
from ..piece.convex import pieces
from ..placing.shop import Shop
from ..recipe.params import Angle, Length, Name, Params, StockName
from ..words.lengths import quoted
from ..words.names import one_of
from ..work import Kind, WorkError, kinds
from ..work.end_cut import sawn

_SQUARE = 90.0  # degrees


class _Part(Params):
    """A board, as it lies on the bench: its grain from left to right."""

    like: Name | None = Field(None, description="another part; what is not given here is its")
    stock: StockName | None = Field(None, description="label of the stock")
    length: Length | None = Field(None, description="along the grain, long point to long point")
    width: Length | None = Field(None, description="across the grain")
    left_mitre: Angle | None = Field(
        None, description="left end off square; positive leaves the front edge the longer one"
    )
    right_mitre: Angle | None = Field(None, description="right end off square, likewise")
    left_bevel: Angle | None = Field(
        None, description="left end off square; positive leaves the bottom face the longer one"
    )
    right_bevel: Angle | None = Field(None, description="right end off square, likewise")
    front_bevel: Angle | None = Field(
        None, description="front edge off square; positive leaves the bottom face the wider one"
    )
    back_bevel: Angle | None = Field(None, description="back edge off square, likewise")
    faces: dict[BoardSide, Name] | None = Field(
        None, description="what its faces are called here: `top face: outside`"
    )
    seen: dict[str, Seen] | None = Field(None, description="how its faces are seen")


if TYPE_CHECKING:
    Part = _Part
else:
    Part = create_model(
        "Part",
        __base__=_Part,
        __doc__=_Part.__doc__,
        **{
            key: (list[kind] | None, Field(None, description=kind.about))
            for key, kind in kinds().items()
        },
    )


def whole_parts(parts: Mapping[str, Part], shop: Shop) -> dict[str, Part]:
    """Every part with what it takes over from the part that it is like.

    Raises:
        RecipeError: a part is like none of the parts, or like itself in the end.
    """
    whole: dict[str, Part] = {}
    for name in parts:
        waiting: dict[str, str] = {}  # each with the part that it is like
        while name not in whole and (model := parts[name].like) is not None:
            waiting[name] = model
            at = ("parts", name, "like")
            if model in waiting:
                raise shop.error(f"{quoted(model)} is like this part itself", *at)
            try:
                name = one_of(model, parts, "part")
            except ValueError as error:
                raise shop.error(str(error), *at) from None
        whole.setdefault(name, parts[name])
        for one, model in reversed(waiting.items()):
            given = {key: value for key, value in parts[one] if value is not None}
            whole[one] = whole[model].model_copy(update=given)
    return {name: whole[name] for name in parts}


def part_board(parts: Mapping[str, Part], shop: Shop, name: str) -> Board:
    """A part as it lies on the bench, of parts that are whole; its errors stand under `parts`.

    Raises:
        RecipeError: the part cannot be, at its place.
    """
    part = parts[name]
    for key in ("stock", "length", "width"):
        if getattr(part, key) is None:
            raise shop.error(f"key `{key}` is missing: {name} has to say it", "parts", name)
    assert part.stock is not None and part.length is not None and part.width is not None
    faces: Mapping[Side, str] = {side: called for side, called in (part.faces or {}).items()}
    printed = [faces.get(side, side) for side in SIDES]
    for side, called in faces.items():
        if printed.count(called) > 1:
            raise shop.error(
                f"two faces of {name} are called {quoted(called)}", "parts", name, "faces", side
            )
    seen: dict[Side, Seen] = {}
    for word, how in (part.seen or {}).items():
        try:
            one_of(word, dict.fromkeys([*printed, *SIDES]), f"face of {name}")
        except ValueError as error:
            raise shop.error(str(error), "parts", name, "seen", word) from None
        seen[SIDES[printed.index(word)] if word in printed else word] = how
    stock = shop.stock(part.stock, "parts", name, "stock")
    angles = {key: value for key, value in part if key.endswith(("_mitre", "_bevel"))}
    for key, angle in angles.items():
        if abs(angle or 0.0) >= _SQUARE:
            raise shop.error(f"{angle:g}: off square is less than 90 degrees", "parts", name, key)
    try:
        board = shop.board(
            name, stock, part.length, part.width, names=faces, seen=seen, work=sawn(**angles)
        )
    except ValueError as error:
        raise shop.error(str(error), "parts", name) from None
    board = replace(board, work=(*board.work, *_work(shop, part, board, name)))
    if not pieces(board):
        raise shop.error(f"the cuts of {name} leave nothing of it", "parts", name)
    return board


def _work(shop: Shop, part: Part, board: Board, name: str) -> Iterator[Kind]:
    """What the part says is done to it; without a name several of a kind are numbered."""
    called: set[str] = set()
    for key in kinds():
        given: list[Kind] = getattr(part, key) or []
        for i, one in enumerate(given):
            at = ("parts", name, key, i)
            unnamed = ((j, other.called) for j, other in enumerate(given) if other.name is None)
            alike = [j for j, called in unnamed if called == one.called]
            if i in alike and len(alike) > 1:
                one = one.model_copy(update={"name": f"{one.called} {alike.index(i) + 1}"})
            if one.called in called:
                raise shop.error(f"two things are called {quoted(one.called)}", *at, "name")
            called.add(one.called)
            try:
                one.refuse_unfit(board, shop.length)
            except WorkError as error:
                raise shop.error(str(error), *at, error.key) from None
            yield one
