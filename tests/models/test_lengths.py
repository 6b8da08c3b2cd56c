import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slantbore.models.words.lengths import (
    ABOUT,
    LARGEST_MM,
    LengthError,
    Unit,
    Usual,
    format_decimal,
    format_length,
    parse_length,
    parse_size,
    write_length,
)

from ..strategies import UNITS, written_inches, written_metric

INCH = Fraction(254, 10)  # 25.4 mm exactly: international yard and pound agreement of 1959


@pytest.mark.parametrize(
    ("text", "inch", "mm"),
    [
        ("3/4", 19.05, 0.75),
        ("1-1/2", 38.1, 1.5),
        ('1 1/2"', 38.1, 38.1),
        ("2' 6-1/2\"", 774.7, 774.7),
        ("2'6\"", 762.0, 762.0),
        ("2'-6 1/2\"", 774.7, 774.7),
        ("2 ft 6 in", 762.0, 762.0),
        ("2 ft 6", 762.0, 762.0),
        ("2'", 609.6, 609.6),
        ("0.75 in", 19.05, 19.05),
        ("12 in.", 304.8, 304.8),
        (".75", 19.05, 0.75),
        ("19", 482.6, 19.0),
        ("19 mm", 19.0, 19.0),
        ("19MM", 19.0, 19.0),
        ("1.9 cm", 19.0, 19.0),
        ("0.019 m", 19.0, 19.0),
        ("-3/4", -19.05, -0.75),
        ("\u22123/4", -19.05, -0.75),
        ("+3/4", 19.05, 0.75),
        ("1\u00bd\u2033", 38.1, 38.1),
        ("\u00be", 19.05, 0.75),
        ("1 \u00bd in", 38.1, 38.1),
        ("2\u2032 6\u00bd\u2033", 774.7, 774.7),
        ("1 1\u20442", 38.1, 1.5),
        ("  3/4  ", 19.05, 0.75),
        ("0", 0.0, 0.0),
    ],
)
def test_every_form_in_both_units(text: str, inch: float, mm: float) -> None:
    assert parse_length(text, "inch") == inch
    assert parse_length(text, "mm") == mm


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "abc", "3/4/5", "1e3", "inf", "nan", "1_0", "0x10", "1 2", "1--1/2", "1 - 1/2",
        "19 km", "3/-4", "--3", "1/2 3", "\u0663", "\u00b2", "1:6", "6\" 2'", "mm", "'",
        "1 1/2 1/2",
    ],
)  # fmt: skip
def test_bad_text_says_what_is_accepted(text: str) -> None:
    with pytest.raises(LengthError, match="a length is a number"):
        parse_length(text, "inch")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("3/0", "over nought"),
        ("1-5/4", "5/4 is not less than one"),
        ("1,5", "not a comma"),
        ("100.1 m", "more than 100 m"),
        ("9" * 50, "more than 100 m"),
        ("9" * 500, r"`9{57}\.\.\.` is not a length"),
    ],
)
def test_bad_text_names_the_mistake(text: str, message: str) -> None:
    with pytest.raises(LengthError, match=message):
        parse_length(text, "mm")


@given(written_inches(), UNITS)
def test_inches_are_exact(written: tuple[str, Fraction], unit: Unit) -> None:
    text, inches = written
    assert parse_length(text, unit) == float(inches * INCH)


@given(written_metric(), UNITS)
def test_metric_is_exact(written: tuple[str, Fraction], unit: Unit) -> None:
    text, mm = written
    if mm <= LARGEST_MM:
        assert parse_length(text, unit) == float(mm)


@given(st.text(max_size=40), UNITS)
def test_any_text_is_a_length_or_a_length_error(text: str, unit: Unit) -> None:
    try:
        mm = parse_length(text, unit)
    except LengthError:
        return
    assert math.isfinite(mm) and abs(mm) <= LARGEST_MM


@given(st.text(alphabet="0123456789/-.' \"mcinftx", max_size=14), UNITS)
def test_nearly_lengths_are_lengths_or_length_errors(text: str, unit: Unit) -> None:
    for read in (parse_length, parse_size):
        try:
            read(text, unit)
        except LengthError as error:
            assert "\n" not in str(error)


@given(st.integers(-(10**5), 10**5), st.sampled_from([16, 32, 64]))
def test_printed_inches_read_back_exactly(steps: int, denominator: int) -> None:
    mm = float(Fraction(steps, denominator) * INCH)
    if abs(mm) <= LARGEST_MM:
        printed = format_length(mm, "inch", denominator)
        assert ABOUT not in printed
        assert parse_length(printed, "mm") == mm


@given(st.floats(-5000, 5000))
def test_printed_inches_are_near_and_say_when_rounded(mm: float) -> None:
    printed = format_length(mm, "inch")
    back = parse_length(printed.removeprefix(ABOUT), "mm")
    assert abs(back - mm) <= float(INCH) / 64 + 1e-9
    assert printed.startswith(ABOUT) == (abs(back - mm) > 1e-6)


@given(st.floats(-5000, 5000))
def test_printed_millimetres_are_near(mm: float) -> None:
    assert abs(parse_length(format_length(mm, "mm"), "inch") - mm) <= 0.005 + 1e-9


@pytest.mark.parametrize(
    ("mm", "inch", "metric"),
    [
        (38.1, '1-1/2"', "38.1 mm"),
        (19.05, '3/4"', "19.05 mm"),
        (304.8, '12"', "304.8 mm"),
        (20.0, 'about 25/32"', "20 mm"),
        (0.0, '0"', "0 mm"),
        (-0.001, 'about 0"', "0 mm"),
        (-38.1, '-1-1/2"', "-38.1 mm"),
        (25.3, 'about 1"', "25.3 mm"),
        (43.6412, 'about 1-23/32"', "43.64 mm"),
    ],
)
def test_printed_forms(mm: float, inch: str, metric: str) -> None:
    assert format_length(mm, "inch") == inch
    assert format_length(mm, "mm") == metric


@pytest.mark.parametrize(
    ("text", "unit", "pair"),
    [
        ("16 x 24", "inch", (406.4, 609.6)),
        ("16x24", "mm", (16.0, 24.0)),
        ("1' 4\" \u00d7 24", "inch", (406.4, 609.6)),
        ("400 x 600 mm", "inch", (400.0, 600.0)),
        ("40 cm X 600 mm", "inch", (400.0, 600.0)),
        ("15-3/4 x 24 in", "mm", (400.05, 609.6)),
        ("400 mm x 24", "inch", (400.0, 609.6)),
    ],
)
def test_sizes(text: str, unit: Unit, pair: tuple[float, float]) -> None:
    assert parse_size(text, unit) == pair


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("16", "is not a size"),
        ("16 x", "is not a size"),
        ("1 x 2 x 3", "is not a size"),
        ("a x b", "a size is two lengths"),
        ("2 x 2' 6\"", "write the unit at both"),
    ],
)
def test_bad_sizes(text: str, message: str) -> None:
    with pytest.raises(LengthError, match=message):
        parse_size(text, "inch")


@given(st.floats(0.001, 5000.0), st.sampled_from(["inch", "mm"]))
def test_what_is_written_into_a_recipe_is_read_again(mm: float, unit: Unit) -> None:
    """In its own unit, as exactly as a limit is judged."""
    said = write_length(mm, unit)
    assert parse_length(said, unit) == pytest.approx(mm, abs=1e-6)
    assert ("mm" in said) == (unit == "mm")


def test_whole_fractions_are_written_as_fractions() -> None:
    assert write_length(31.75, "inch") == '1-1/4"'
    assert write_length(1.0, "inch") == "0.03937008 in"
    assert write_length(19.05, "mm") == "19.05 mm"


@pytest.mark.parametrize(
    ("mm", "inch", "metric"), [(5.4, '0.213"', "5.4 mm"), (-12.47, '-0.491"', "-12.47 mm")]
)
def test_small_lengths_are_printed_in_decimals(mm: float, inch: str, metric: str) -> None:
    assert (format_decimal(mm, "inch"), format_decimal(mm, "mm")) == (inch, metric)


def test_what_is_usual_is_round_in_either_unit() -> None:
    assert Usual(22, "7/8").of("mm") == 22
    assert Usual(22, "7/8").of("inch") == pytest.approx(22.225)
