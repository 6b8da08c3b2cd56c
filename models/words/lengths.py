"""Lengths as a shop writes them: `1-1/2`, `2' 6-1/2"`, `0.75 in`, `19 mm`, `1.9 cm`.

Reading is exact (`fractions.Fraction`) up to the last step, which gives float millimetres. A bare
number is in the recipe's own unit.
"""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal, get_args

from .errors import SlantboreError

Unit = Literal["inch", "mm"]
UNITS: tuple[Unit, ...] = get_args(Unit)

MM_PER_INCH = Fraction(127, 5)
LARGEST_MM = 100_000.0

ACCEPTED = (
    "a length is a number (19, 0.75), a fraction (3/4, 1-1/2) or feet and inches (2' 6-1/2\"), "
    "with or without a unit (in, ft, mm, cm, m)"
)
ACCEPTED_SIZE = f"a size is two lengths with x between them, such as 16 x 24; {ACCEPTED}"

STEPS: Mapping[Unit, tuple[float, ...]] = {
    "inch": tuple(float(MM_PER_INCH / part) for part in (1, 2, 4, 8, 16)),
    "mm": (10.0, 5.0, 1.0),
}
"""Steps of a ruler that a maker goes by, the coarsest first (mm): common practice, no source."""

_LONGEST_TEXT = 60
_ROUNDED_MM = 1e-6
_ON_A_BOX = 0.5  # mm that a length is off what its box says in the other unit
_SAME = Fraction(1, 10**9)

_MM_PER_UNIT: dict[str, Fraction] = {
    **dict.fromkeys(("in", "inch", "inches", '"'), MM_PER_INCH),
    **dict.fromkeys(("ft", "foot", "feet", "'"), 12 * MM_PER_INCH),
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
}
_NUMBER = r"(?:(?:[0-9]+(?:-|\s+))?[0-9]+/[0-9]+|[0-9]+(?:\.[0-9]*)?|\.[0-9]+)"
_ONE_UNIT = re.compile(
    rf"(?P<number>{_NUMBER})\s*(?P<unit>inch(?:es)?|in|foot|feet|ft|mm|cm|m|[\"'])?\.?", re.ASCII
)
_FEET_AND_INCHES = re.compile(
    rf"(?P<feet>{_NUMBER})\s*(?:foot|feet|ft|')\s*-?\s*"
    rf"(?P<inches>{_NUMBER})\s*(?:inch(?:es)?|in|\")?",
    re.ASCII,
)
_SIZE = re.compile(r"(?P<first>[^x]+)x(?P<second>[^x]+)", re.ASCII)
_TYPOGRAPHIC = str.maketrans(
    {
        **dict.fromkeys("\u2032\u2019\u2018\u00b4`", "'"),
        **dict.fromkeys("\u2033\u201d\u201c", '"'),
        "\u2212": "-",  # minus sign
        "\u2011": "-",  # non-breaking hyphen
        "\u2044": "/",  # fraction slash
        "\u00d7": "x",  # multiplication sign
        "\u00a0": " ",
        "\u202f": " ",
    }
)


@dataclass(frozen=True)
class Usual:
    """A length of shop practice, in round figures of either unit: `Usual(22, "7/8")`.

    Attributes:
        mm: where the recipe is in millimetres.
        inch: where it is in inches, as a recipe would say it.
    """

    mm: float
    inch: str

    def of(self, unit: Unit) -> float:
        """The length in mm, for a recipe's unit."""
        return self.mm if unit == "mm" else parse_length(self.inch, unit)


ABOUT = "about "
"""Stands before a length that was rounded."""


class LengthError(SlantboreError, ValueError):
    """Text that is not a length; the message says what is accepted."""


def parse_length(text: str, unit: Unit) -> float:
    """Read one length.

    Args:
        text: what the recipe says; a leading sign is read, so that the caller decides on negatives.
        unit: the unit of a bare number.

    Returns:
        The length in millimetres, at most 100 m either way.

    Raises:
        LengthError: the text is no length, or an absurd one.
    """
    return _in_range(_exact_mm(_plain(text), unit, text), text)


def parse_size(text: str, unit: Unit) -> tuple[float, float]:
    """Read two lengths with `x` between them, such as `16 x 24` or `400 x 600 mm`.

    A unit written at the second only holds for both, as in the trade.

    Returns:
        Both lengths in millimetres, in the order written.

    Raises:
        LengthError: the text is no such pair.
    """
    split = _SIZE.fullmatch(_plain(text))
    if split is None:
        raise LengthError(f"{quoted(text)} is not a size: {ACCEPTED_SIZE}")
    first, second = split["first"].strip(), split["second"].strip()
    bare = _ONE_UNIT.fullmatch(first.lstrip("+-").strip())
    last = _ONE_UNIT.fullmatch(second.lstrip("+-").strip())
    if bare and not bare["unit"]:
        if last is None and _FEET_AND_INCHES.fullmatch(second):
            raise LengthError(f"{quoted(text)}: write the unit at both lengths")
        if last and last["unit"]:
            first += last["unit"]
    return (
        _in_range(_exact_mm(first, unit, text, ACCEPTED_SIZE), text),
        _in_range(_exact_mm(second, unit, text, ACCEPTED_SIZE), text),
    )


def format_length(mm: float, unit: Unit, denominator: int = 32) -> str:
    r"""Print a length in the recipe's unit.

    Args:
        mm: the length in millimetres.
        unit: the unit to print in.
        denominator: the finest fraction of an inch, a power of two.

    Returns:
        Inches as a mixed fraction (`1-1/2"`, with `about` before it when it was rounded), or
        millimetres with up to two decimals (`19.05 mm`).
    """
    if unit == "mm":
        text = f"{mm:.2f}".rstrip("0").rstrip(".")
        return ("0" if text == "-0" else text) + " mm"
    steps = round(Fraction(mm) / MM_PER_INCH * denominator)
    rounded = abs(mm - float(Fraction(steps, denominator) * MM_PER_INCH)) > _ROUNDED_MM
    whole, part = divmod(abs(steps), denominator)
    fraction = str(Fraction(part, denominator)) if part else ""
    text = "-".join(([str(whole)] if whole or not part else []) + ([fraction] if part else []))
    return f'{ABOUT if rounded else ""}{"-" if steps < 0 else ""}{text}"'


def nearest_length(mm: float, unit: Unit, denominator: int = 32) -> str:
    """The same where there is no room for `about`: on drawings, which say once that they round."""
    return format_length(mm, unit, denominator).removeprefix(ABOUT)


def format_sold(mm: float, unit: Unit) -> str:
    """Print a size as it is sold in one unit, with the other beside it: `1/4" (6.35 mm)`."""
    other = format_decimal(mm, "inch") if unit == "mm" else f"{mm:g} mm"
    return f"{format_length(mm, unit)} ({other})"


def format_stocked(mm: float, unit: Unit) -> str:
    """Print a length that boxes name in whole mm or in eighths: `1-1/4" (32 mm)`, `32 mm (1-1/4")`.

    A length that is no eighth, to half a millimetre, is told in millimetres alone.
    """
    eighths = Fraction(round(mm / float(MM_PER_INCH) * 8), 8) * MM_PER_INCH
    whole = f"{mm:.0f} mm"
    if abs(float(eighths) - mm) > _ON_A_BOX:
        return format_length(mm, "mm") if unit == "mm" else f"{format_length(mm, unit)} ({whole})"
    inches = format_length(float(eighths), "inch")
    return f"{whole} ({inches})" if unit == "mm" else f"{inches} ({whole})"


def format_decimal(mm: float, unit: Unit) -> str:
    """Print a small length to a thousandth of an inch (`0.213"`), or in millimetres as ever."""
    return format_length(mm, unit) if unit == "mm" else f'{mm / 25.4:.3f}"'


def write_length(mm: float, unit: Unit) -> str:
    """A length as a recipe says it, exact to 1e-6 mm: `1-1/4"`, `0.0394 in`, `19.05 mm`."""
    told = format_length(mm, unit)
    if unit == "inch":
        return f"{_trimmed(mm / 25.4, 8)} in" if told.startswith(ABOUT) else told
    return f"{_trimmed(mm, 6)} mm"


def _trimmed(number: float, decimals: int) -> str:
    return f"{number:.{decimals}f}".rstrip("0").rstrip(".")


@lru_cache(maxsize=256)
def sizes_toward(now: float, end: float, unit: Unit) -> tuple[str, ...]:
    """Lengths that a shop sets sizes by, from the one next to `now` up or down to `end` (mm).

    Sixteenths of an inch, or whole millimetres: common practice, no source.
    """
    step = MM_PER_INCH / 16 if unit == "inch" else 1
    first, last = Fraction(now) / step, Fraction(end) / step
    if end >= now:
        steps = range(math.floor(first + _SAME) + 1, math.floor(last + _SAME) + 1)
    else:
        steps = range(math.ceil(first - _SAME) - 1, math.ceil(last - _SAME) - 1, -1)
    return tuple(format_length(float(n * step), unit) for n in steps)


def larger_sizes(size: tuple[float, float], which: int, most: float, unit: Unit) -> list[str]:
    """Sizes of which one length is larger, up to `most` times, as a recipe says them."""
    told = [write_length(side, unit) for side in size]
    longer = sizes_toward(size[which], most * size[which], unit)
    return [" x ".join((*told[:which], one, *told[which + 1 :])) for one in longer]


def quoted(text: str) -> str:
    """Return the text as a message shows it: in back quotes, on one line, cut when long."""
    shown = "".join(c if c.isprintable() else "\ufffd" for c in " ".join(text.split()))
    return f"`{shown[: _LONGEST_TEXT - 3]}...`" if len(shown) > _LONGEST_TEXT else f"`{shown}`"


def _plain(text: str) -> str:
    """Reduce typographic marks to the ASCII ones and vulgar fractions to `1/2`."""
    spelled: list[str] = []
    for c in text.strip():
        if unicodedata.decomposition(c).startswith("<fraction>"):
            digits = unicodedata.normalize("NFKC", c)
            spelled.append(f"-{digits}" if spelled and spelled[-1].isdigit() else digits)
        else:
            spelled.append(c)
    return "".join(spelled).translate(_TYPOGRAPHIC).replace("''", '"').lower()


def _exact_mm(plain: str, unit: Unit, text: str, accepted: str = ACCEPTED) -> Fraction:
    sign = -1 if plain.startswith("-") else 1
    body = plain[1:].lstrip() if plain[:1] in ("+", "-") else plain
    if len(body) <= _LONGEST_TEXT:
        if one := _ONE_UNIT.fullmatch(body):
            scale = _MM_PER_UNIT[one["unit"] or ("in" if unit == "inch" else "mm")]
            return sign * _number(one["number"], text) * scale
        if two := _FEET_AND_INCHES.fullmatch(body):
            feet, inches = _number(two["feet"], text), _number(two["inches"], text)
            return sign * (12 * feet + inches) * MM_PER_INCH
    if re.fullmatch(r"[0-9]+,[0-9]+.*", body):
        raise LengthError(f"{quoted(text)} is not a length: write a point, not a comma")
    raise LengthError(f"{quoted(text)} is not a length: {accepted}")


def _number(written: str, text: str) -> Fraction:
    if "/" not in written:
        return Fraction(written)
    *whole, fraction = re.split(r"-|\s+", written)
    above, below = fraction.split("/")
    if int(below) == 0:
        raise LengthError(f"{quoted(text)} is not a length: a fraction over nought")
    part = Fraction(int(above), int(below))
    if whole and part >= 1:
        raise LengthError(f"{quoted(text)} is not a length: {fraction} is not less than one")
    return Fraction(whole[0] if whole else 0) + part


def _in_range(mm: Fraction, text: str) -> float:
    if abs(mm) > LARGEST_MM:
        raise LengthError(f"{quoted(text)} is more than 100 m")
    return float(mm)
