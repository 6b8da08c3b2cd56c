"""Boards as a recipe states them: size, mitred ends, names of faces, rebates, grooves."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Literal

from pydantic import Field

from ..maths.geometry import Vec
from ..piece.board import OPPOSITE, SIDES, Board, Cut, Seen, Side, cut
from ..piece.convex import pieces
from ..placing.shop import Shop
from ..recipe.params import Angle, Length, Name, Params, one_of
from ..words.lengths import quoted

BoardSide = Literal["top face", "bottom face", "front edge", "back edge", "left end", "right end"]


class PartRebate(Params):
    """A step along an edge or end of a face, over its whole length."""

    edge: BoardSide = Field(description="edge or end that it runs along")
    face: BoardSide = Field(description="face that it is cut into")
    width: Length = Field(description="from the edge")
    depth: Length = Field(description="from the face")


class PartGroove(PartRebate):
    """A groove along an edge or end, in a face, over its whole length."""

    width: Length = Field(description="of the groove")
    distance: Length = Field(description="from the edge to the groove")


class Part(Params):
    """A board, as it lies on the bench: its grain from left to right."""

    like: Name | None = Field(None, description="another part; what is not given here is its")
    stock: str | None = Field(None, description="label of the stock")
    length: Length | None = Field(None, description="along the grain, long point to long point")
    width: Length | None = Field(None, description="across the grain")
    left_mitre: Angle | None = Field(
        None, description="left end off square; positive leaves the front edge the longer one"
    )
    right_mitre: Angle | None = Field(None, description="right end off square, likewise")
    faces: dict[BoardSide, Name] | None = Field(
        None, description="what its faces are called here: `top face: outside`"
    )
    seen: dict[str, Seen] | None = Field(None, description="how its faces are seen")
    rebates: list[PartRebate] | None = Field(None, description="steps along an edge or end")
    grooves: list[PartGroove] | None = Field(None, description="grooves along an edge or end")


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
    try:
        board = shop.board(
            name, stock, part.length, part.width, names=faces, seen=seen,
            left_mitre=part.left_mitre or 0.0, right_mitre=part.right_mitre or 0.0,
        )  # fmt: skip
    except ValueError as error:
        raise shop.error(str(error), "parts", name) from None
    board = replace(board, cuts=tuple(_cuts(shop, part, board, name)))
    if not pieces(board):
        raise shop.error(f"the cuts of {name} leave nothing of it", "parts", name)
    return board


def _cuts(shop: Shop, part: Part, board: Board, name: str) -> Iterator[Cut]:
    for key, given in (("rebate", part.rebates or []), ("groove", part.grooves or [])):
        for i, one in enumerate(given):
            edge, face = board.face(one.edge).plane, board.face(one.face).plane
            at = ("parts", name, f"{key}s", i)
            if one.face in (one.edge, OPPOSITE[one.edge]):
                raise shop.error(f"the {one.edge} does not border the {one.face}", *at, "face")
            far = one.width + (one.distance if isinstance(one, PartGroove) else 0.0)
            for label, size, side in (("width", far, one.edge), ("depth", one.depth, one.face)):
                room = board.face(side).plane.offset + board.face(OPPOSITE[side]).plane.offset
                if size >= room:
                    raise shop.error(
                        f"the {key} takes {shop.length(size)} of {shop.length(room)}: nothing is "
                        "left",
                        *at, label,
                    )  # fmt: skip
            walls: dict[str, tuple[Vec, float]] = {
                "floor": (_minus(face.normal), one.depth - face.offset),
                "wall": (_minus(edge.normal), far - edge.offset),
            }
            if isinstance(one, PartGroove):
                walls["near wall"] = (edge.normal, edge.offset - one.distance)
            number = f" {i + 1}" if len(given) > 1 else ""
            yield cut("rebate" if key == "rebate" else "groove", f"{key}{number}", walls)


def _minus(v: Vec) -> Vec:
    return (-v[0] + 0.0, -v[1] + 0.0, -v[2] + 0.0)
