"""Parts of a free-form piece that are like other parts."""

from __future__ import annotations

import pytest

from slantbore.models.designs import piece_models
from slantbore.models.designs._parts import part_board, whole_parts
from slantbore.models.designs.free_form import FreeForm
from slantbore.models.piece.board import Board
from slantbore.models.placing.shop import Shop
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError

HEAD = """\
name: lake cabin
units: mm
stock:
  oak: {wood: red-oak, thickness: 19}
build:
  - design: free-form
    name: bench
    parts:
"""


def boards(parts: list[str]) -> dict[str, Board]:
    recipe = parse_recipe(
        HEAD + "".join(f"      {one}\n" for one in parts), "p.yaml", piece_models()
    )
    (params,) = recipe.pieces
    assert isinstance(params, FreeForm)
    shop = Shop.of(recipe, 0, params)
    whole = whole_parts(params.parts, shop)
    return {name: part_board(whole, shop, name) for name in whole}


def test_a_part_may_be_like_the_next_a_thousand_times_over() -> None:
    """Each takes over what it does not say, from whichever side of it the model stands."""
    chain = [f"p{i}: {{like: p{i + 1}}}" for i in range(990)]
    chain[500] = "p500: {like: p501, width: 70}"
    made = boards([*chain, "p990: {stock: oak, length: 300, width: 50}"])
    assert list(made) == [f"p{i}" for i in range(991)]
    assert {board.length for board in made.values()} == {300.0}
    assert [made[f"p{i}"].width for i in (0, 500, 501, 990)] == [70.0, 70.0, 50.0, 50.0]


def test_a_long_ring_of_likes_is_told_where_it_closes() -> None:
    ring = [f"p{i}: {{like: p{(i + 1) % 990}}}" for i in range(990)]
    with pytest.raises(RecipeError) as caught:
        boards(ring)
    assert str(caught.value) == "p.yaml:998:20: `p0` is like this part itself"
