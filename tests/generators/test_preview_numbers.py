"""A recipe's numbers: found in its text, changed there, and not one other character."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from slantbore.models.designs import designs, piece_models
from slantbore.models.recipe.numbers import (
    Number,
    NumberError,
    changed,
    numbers_in,
    written_text,
)
from slantbore.models.recipe.reading import read_document
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError

from ..strategies import mangled

RECIPE = """\
# keep this comment
name: cabin mirror 12   # a name, no number
units: inch
stock:
  rails: {wood: red-oak, thickness: "3/4"}

build:
  - design: mitred-frame
    name: mirror
    stock:   rails
    rail_width:   2-1/2   # try 3 as well
    sight: 16 x 24 in
    rebate: {width: 9.5 mm, depth: '3/8'}
    pockets: 1
    swing: auto
    at: {x: 1' 6, y: -2}
"""


def found(text: str = RECIPE) -> dict[str, Number]:
    numbers = numbers_in(text, read_document(text, "recipe.yaml"), piece_models())
    assert len({n.id for n in numbers}) == len(numbers)
    return {n.label: n for n in numbers}


def test_every_number_and_nothing_else_is_found() -> None:
    said = {label: (n.kind, n.text, n.value) for label, n in found().items()}
    assert said == {
        "stock: rails thickness": ("length", "3/4", pytest.approx(19.05)),
        "mirror: rail width": ("length", "2-1/2", pytest.approx(63.5)),
        "mirror: sight, width": ("length", "16", pytest.approx(406.4)),
        "mirror: sight, height": ("length", "24 in", pytest.approx(609.6)),
        "mirror: rebate width": ("length", "9.5 mm", pytest.approx(9.5)),
        "mirror: rebate depth": ("length", "3/8", pytest.approx(9.525)),
        "mirror: pockets": ("count", "1", 1),
        "mirror: swing": ("angle", "auto", 0),
        "mirror: at x": ("length", "1' 6", pytest.approx(457.2)),
        "mirror: at y": ("length", "-2", pytest.approx(-50.8)),
    }


def test_a_number_of_a_change_is_called_after_its_joint() -> None:
    changes = "    changes: {every joint: {screw: 1-1/4}, corner 1 pocket: {swing: 5}}\n"
    labels = set(found(RECIPE + changes)) - set(found())
    assert labels == {"mirror: every joint, screw", "mirror: corner 1 pocket, swing"}


def test_places_are_those_of_the_text() -> None:
    for number in found().values():
        assert RECIPE[number.start : number.end] == number.text


def test_a_slider_stands_on_round_places_about_the_number() -> None:
    for number in found().values():
        assert number.low <= number.value <= number.high
        for end in (number.low, number.high):
            assert end / number.step == pytest.approx(round(end / number.step), abs=1e-6)
        if number.kind == "length" and number.value > 0:
            assert number.low > 0


def test_a_slider_of_an_odd_length_goes_in_whole_millimetres() -> None:
    text = RECIPE.replace("units: inch", "units: mm").replace("2-1/2 ", "64.1  ")
    number = found(text)["mirror: rail width"]
    places = [number.low + n * number.step for n in range(4)]
    assert [written_text(number, place) for place in places] == ["32", "33", "34", "35"]


@pytest.mark.parametrize(
    ("key", "low", "high"),
    [("sides: 4", 3, 12), ("pockets: 1", 1, 2), ("swing: auto", 0, 45), ("swing: 44", 0, 45),
     ("quantity: 2", 1, 12), ("quantity: 80", 1, 100)],
)  # fmt: skip
def test_a_slider_offers_what_the_field_may_hold(key: str, low: float, high: float) -> None:
    name = key.partition(":")[0]
    lines = [line for line in RECIPE.splitlines() if f"    {name}:" not in line]
    numbers = found("\n".join([*lines, f"    {key}\n"]))
    number = numbers[f"mirror: {name}"]
    assert (number.low, number.high) == (low, high)


def test_a_slider_tries_nothing_that_its_field_refuses() -> None:
    for design in designs().values():
        text = design.starter
        for number in found(text).values():
            for value in (number.low, number.high):
                after = changed(
                    text, tuple(found(text).values()), {number.id: written_text(number, value)}
                )
                try:
                    parse_recipe(after, "recipe.yaml", piece_models())
                except RecipeError as error:  # for another reason, in which several fields meet
                    assert "must be" not in str(error), number


@pytest.mark.parametrize(
    ("label", "value", "text"),
    [
        ("mirror: rail width", 76.2, "3"),
        ("mirror: rail width", 65.0, "2-9/16"),
        ("mirror: sight, height", 635.0, "25 in"),
        ("mirror: rebate width", 12.25, "12.25 mm"),
        ("mirror: at x", 500.0, "19-11/16 in"),
        ("mirror: at y", -25.4, "-1"),
        ("mirror: pockets", 2.0, "2"),
        ("mirror: swing", 12.5, "12.5"),
    ],
)
def test_a_value_is_written_in_the_recipes_manner(label: str, value: float, text: str) -> None:
    number = found()[label]
    assert written_text(number, value) == text
    after = changed(RECIPE, tuple(found().values()), {number.id: text})
    assert after == RECIPE[: number.start] + text + RECIPE[number.end :]


@given(st.data())
def test_any_change_keeps_every_other_character_and_reads_back(data: st.DataObject) -> None:
    numbers = found()
    picked = data.draw(st.lists(st.sampled_from(sorted(numbers)), unique=True))
    drafts = {}
    for label in picked:
        n = numbers[label]
        steps = data.draw(st.integers(0, round((n.high - n.low) / n.step)))
        drafts[n.id] = written_text(n, n.low + steps * n.step)
    after = changed(RECIPE, tuple(numbers.values()), drafts)
    again = found(after)
    rest, other = RECIPE, after
    for n in sorted(numbers.values(), key=lambda n: -n.start):
        rest = rest[: n.start] + "\0" + rest[n.end :]
    for n in sorted(again.values(), key=lambda n: -n.start):
        other = other[: n.start] + "\0" + other[n.end :]
    assert other == rest
    assert {n.id: n.text for n in again.values()} == {
        n.id: drafts.get(n.id, n.text) for n in numbers.values()
    }


BAD = ["", " 3", "3 # all gone", "3: 4", "a\nb", "[", '"', "&a 3", "x" * 41, "\t3", "| 3", "? 3"]


@pytest.mark.parametrize("text", BAD)
def test_text_that_would_be_more_than_a_value_is_refused(text: str) -> None:
    numbers = found()
    number = numbers["mirror: rail width"]
    with pytest.raises(NumberError, match="rail width"):
        changed(RECIPE, tuple(numbers.values()), {number.id: text})


@pytest.mark.parametrize("text", ["3, depth: 4", "3}", "}", "{", "3: 4", "]"])
def test_within_braces_too(text: str) -> None:
    numbers = found()
    number = numbers["mirror: rebate width"]
    with pytest.raises(NumberError, match="rebate width"):
        changed(RECIPE, tuple(numbers.values()), {number.id: text})


@pytest.mark.parametrize("text", ['3" x', '3", b: "4', "\\x41"])
def test_within_quotes_too(text: str) -> None:
    numbers = found()
    number = numbers["stock: rails thickness"]
    with pytest.raises(NumberError, match="thickness"):
        changed(RECIPE, tuple(numbers.values()), {number.id: text})


STARTERS = st.sampled_from(sorted(design.starter for design in designs().values()))
ATOMS = ["name", "units", "build", "design", "mitred-frame", "rail_width", "at", ": ", "- ", "\n",
         "  ", "{", "}", "[", "]", ",", "'", '"', "#", "|\n", "? ", "\t", "\r\n", "\u2028", "\x85",
         "\ufeff", "3/4", "16 x 24", "1' 6", "auto", "-1", "\u00e9", "\U0001d4b3"]  # fmt: skip
TEXTS = st.one_of(
    st.text(max_size=40),
    st.lists(st.sampled_from(ATOMS), max_size=14).map("".join),
    STARTERS.flatmap(mangled),
)


@example("name")
@example("- 3")
@example("stock: r?ed")  # two parsers of YAML disagree on this
@given(TEXTS)
def test_any_text_at_all_has_numbers_or_is_no_recipe(text: str) -> None:
    try:
        document = read_document(text, "recipe.yaml")
    except RecipeError:
        return
    text = text.removeprefix("\ufeff")
    numbers = numbers_in(text, document, piece_models())
    for number in numbers:
        assert text[number.start : number.end] == number.text
        try:
            after = changed(text, numbers, {number.id: written_text(number, number.low)})
        except NumberError:
            continue
        assert text[: number.start] == after[: number.start]
        assert text[number.end :] == after[len(after) - len(text) + number.end :]


def test_unknown_places_are_passed_over() -> None:
    assert changed(RECIPE, tuple(found().values()), {'["build", 7, "x"]': "3"}) == RECIPE


def test_the_changed_recipe_is_the_changed_piece() -> None:
    number = found()["mirror: rail width"]
    after = changed(RECIPE, tuple(found().values()), {number.id: "3-1/4"})
    piece = parse_recipe(after, "recipe.yaml", piece_models()).pieces[0]
    assert piece.model_dump()["rail_width"] == pytest.approx(82.55)


def test_metric_recipes_are_in_millimetres() -> None:
    text = RECIPE.replace("units: inch", "units: mm").replace("2-1/2 ", "64    ")
    number = found(text)["mirror: rail width"]
    assert (number.value, number.step, number.metric) == (64, 1, "mm")
    assert written_text(number, 66.0) == "66"
