"""A field's facts stand in one place: what reads, refuses, lists and shows it agrees on them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import jsonschema
import pytest
import yaml
from pydantic import BaseModel

from slantbore.models.designs import designs, piece_models
from slantbore.models.recipe.fields import Fact, Measure, StockLabel, facts
from slantbore.models.recipe.recipe import Header, fields_of, parse_recipe
from slantbore.models.recipe.schema import recipe_schema
from slantbore.models.words.errors import RecipeError

MIRROR = designs()["mitred-frame"].starter


def every(model: type[BaseModel], seen: set[type[BaseModel]]) -> Iterator[tuple[str, Fact]]:
    """Every field of a model and of what it is made of, each model once."""
    seen.add(model)
    for name, fact in facts(model).items():
        yield f"{model.__name__}.{name}", fact
        for part in fact.models:
            if part not in seen:
                yield from every(part, seen)


def all_facts() -> dict[str, Fact]:
    seen: set[type[BaseModel]] = set()
    models: list[type[BaseModel]] = [Header, *piece_models().values()]
    return dict(pair for model in models for pair in every(model, seen))


def test_every_field_says_what_it_is() -> None:
    known = all_facts()
    assert len(known) > 150
    assert [name for name, fact in known.items() if not fact.help] == []


def test_every_label_of_a_stock_is_marked_as_one() -> None:
    for name, fact in all_facts().items():
        assert (StockLabel() in fact.kinds) == ("label of the stock" in fact.help), name


@pytest.mark.parametrize("design", designs())
def test_the_labels_found_in_a_recipe_are_its_stock(design: str) -> None:
    recipe = parse_recipe(designs()[design].starter, "r.yaml", piece_models())
    tree: Any = recipe.document.tree
    labels = set()
    for path, fact in fields_of(tree, piece_models()).items():
        if StockLabel() in fact.kinds:
            node = tree
            for step in path:
                node = node[step]
            labels.add(node)
    assert labels == set(recipe.stock)


@pytest.mark.parametrize("name", sorted(n for n, f in all_facts().items() if f.measure))
def test_a_number_is_taken_to_both_ends_of_its_range_and_no_further(name: str) -> None:
    measure = all_facts()[name].measure
    assert isinstance(measure, Measure)
    step = 1 if measure.quantity == "count" else 0.001

    def taken(number: float) -> bool:
        text = f"{number:.3f} mm" if measure.quantity in ("length", "size") else f"{number:g}"
        try:
            measure.read(f"{text} x {text}" if measure.quantity == "size" else text, "inch")
        except ValueError:
            return False
        return True

    assert taken(measure.low) is not measure.above and taken(measure.low + step)
    assert taken(measure.high) and not taken(measure.high + step)
    assert not taken(measure.low - step)


WRONG = ["sides: 2", "sides: 13", "pockets: 3", "swing: 46", "swing: -1", "quantity: 0",
         "quantity: 101", "outside: 20 x 30", "seen: {back: conceled}",
         "at: {turn: 361}"]  # fmt: skip
RIGHT = ["sides: 3", "sides: 12", "pockets: 2", "swing: 45", "swing: auto", "quantity: 100",
         "at: {turn: -360}"]  # fmt: skip


def with_line(line: str) -> str:
    """The mirror with one key more, or another value of it."""
    key = line.partition(":")[0]
    kept = [known for known in MIRROR.splitlines() if not known.strip().startswith(f"{key}:")]
    return "\n".join([*kept, f"    {line}\n"])


@pytest.mark.parametrize(("line", "good"), [(w, False) for w in WRONG] + [(r, True) for r in RIGHT])
def test_the_schema_and_the_reader_refuse_the_same(line: str, good: bool) -> None:
    text = with_line(line)
    if "sides" in line and good:  # a frame of other sides is regular
        text = text.replace("16 x 24", "16 x 16")
    schema = jsonschema.Draft202012Validator(recipe_schema(piece_models()))
    assert schema.is_valid(yaml.safe_load(text)) is good
    try:
        parse_recipe(text, "r.yaml", piece_models())
    except RecipeError:
        assert not good
    else:
        assert good


def test_one_of_several_keys_is_asked_for_by_name() -> None:
    with pytest.raises(
        RecipeError, match="give exactly one of `sight`, `rebate_size` and `outside`"
    ):
        parse_recipe(with_line("outside: 20 x 30"), "r.yaml", piece_models())
