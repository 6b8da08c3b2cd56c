"""Hypothesis strategies that several tests share."""

from fractions import Fraction

from hypothesis import strategies as st

UNITS = st.sampled_from(["inch", "mm"])

WHITE = st.sampled_from(["", " ", "  "])


@st.composite
def written_inches(draw: st.DrawFn) -> tuple[str, Fraction]:
    """Inches in one of the shop's notations, always with a unit, and their exact value."""
    whole = draw(st.integers(0, 320))  # feet stay under 100 m
    denominator = draw(st.sampled_from([2, 4, 8, 16, 32, 64]))
    part = Fraction(draw(st.integers(1, denominator - 1)), denominator)
    mark = draw(st.sampled_from(['"', " in", "in", " inches", "\u2033"]))
    written = [
        (f"{whole}{mark}", Fraction(whole)),
        (f"{part}{mark}", part),
        (f"{whole}-{part}{mark}", whole + part),
        (f"{whole} {part}{mark}", whole + part),
        (f"{whole}' {part}{mark}", 12 * whole + part),
        (f"{whole}'{draw(WHITE)}{whole % 12}-{part}{mark}", 12 * whole + whole % 12 + part),
        (f"{float(whole + part)!r}{mark}", whole + part),
    ]
    return draw(st.sampled_from(written))


@st.composite
def written_metric(draw: st.DrawFn) -> tuple[str, Fraction]:
    """Metric lengths with a unit, and their exact value in millimetres."""
    hundredths = draw(st.integers(1, 100_000))
    unit, scale = draw(st.sampled_from([("mm", 1), ("cm", 10), ("m", 1000)]))
    value = Fraction(hundredths, 100)
    return f"{hundredths // 100}.{hundredths % 100:02d}{draw(WHITE)}{unit}", value * scale


def mangled(text: str) -> st.SearchStrategy[str]:
    """The text with a piece cut out, doubled or replaced: nearly a recipe, and often none."""
    piece = st.tuples(st.integers(0, len(text)), st.integers(0, 30))
    put = st.one_of(
        st.sampled_from(
            [
                "",
                " ",
                "\n",
                "\t",
                ":",
                ": ",
                "- ",
                "{",
                "}",
                "[",
                "]",
                "'",
                '"',
                "#",
                "&a ",
                "*a",
                "|",
            ]
        ),
        st.text(max_size=8),
        st.sampled_from(["1e999", "nan", "-1", "0", "1:6", "010", "no", "~", "null", "!!int 3"]),
    )

    def replaced(at: tuple[int, int], new: str) -> str:
        start, length = at
        return text[:start] + new + text[start + length :]

    return st.builds(replaced, piece, put)
