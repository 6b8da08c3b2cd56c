"""The font of the papers: DejaVu Sans, an open font; its files and its measures."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from itertools import chain
from pathlib import Path

from ...models.words.errors import SlantboreError

REGULAR, BOLD = "DejaVuSans", "DejaVuSans-Bold"
DESCENT = 0.32
"""How far letters such as g reach below the line, as a share of the height of capitals."""


class FontError(SlantboreError):
    """The font is not where the package that carries it should have it."""


@cache
def font_file(name: str) -> Path:
    """Path of a font's file; matplotlib carries it as its documented default.

    Raises:
        FontError: it is not there.
    """
    try:
        import matplotlib
    except ImportError as error:
        raise FontError(f"the font {name} comes with matplotlib, which is missing") from error
    found = Path(matplotlib.get_data_path(), "fonts", "ttf", f"{name}.ttf")
    if not found.is_file():
        raise FontError(f"the font {name} is not at {found}")
    return found


@cache
def _measures(name: str) -> tuple[dict[int, float], float, float]:
    """Advance by code point and of what is missing, in em, and the height of capitals in em."""
    from fontTools.ttLib import TTFont

    with TTFont(font_file(name), lazy=True) as font:
        em = font["head"].unitsPerEm
        widths = font["hmtx"].metrics
        table = {code: widths[glyph][0] / em for code, glyph in font.getBestCmap().items()}
        return table, widths[".notdef"][0] / em, font["glyf"]["H"].yMax / em


def font_size(height: float, *, bold: bool = False) -> float:
    """Size of the font, mm, whose capitals are so high (mm)."""
    return height / _measures(BOLD if bold else REGULAR)[2]


def width_of(says: str, height: float, *, bold: bool = False) -> float:
    """Length of a text as it is drawn, its capitals so high, both mm; kerning not regarded."""
    table, missing, capital = _measures(BOLD if bold else REGULAR)
    return sum(table.get(ord(c), missing) for c in drawable(says)) * height / capital


def drawable(says: str) -> str:
    """The text with the code of each letter that the font cannot draw: `[6C34] rail`.

    That are letters which it lacks, and those of scripts that are written from right to left, whose
    letters join and change: a wrong picture of a name is worse than its code.
    """
    return "".join(c if _drawn(c) else f"[{ord(c):04X}]" for c in says)


@cache
def _drawn(letter: str) -> bool:
    known = all(ord(letter) in _measures(name)[0] for name in (REGULAR, BOLD))
    return known and unicodedata.bidirectional(letter) not in ("R", "AL")


def fitted(says: str, room: float, height: float, *, bold: bool = False) -> str:
    """The text, cut with three dots where it is longer than the room (mm)."""
    if width_of(says, height, bold=bold) <= room:
        return says
    low, high = 0, len(says)
    while low < high:
        middle = (low + high + 1) // 2
        if width_of(says[:middle].rstrip() + "...", height, bold=bold) <= room:
            low = middle
        else:
            high = middle - 1
    return says[:low].rstrip() + "..."


def wrapped(says: str, room: float, height: float, *, bold: bool = False) -> list[str]:
    """The text in lines no longer than the room (mm); a word that is longer itself is broken."""
    lines: list[str] = []
    for paragraph in says.split("\n"):
        line = ""
        words = (_broken(word, room, height, bold) for word in paragraph.split())
        for word in chain.from_iterable(words):
            longer = f"{line} {word}".strip()
            if line and width_of(longer, height, bold=bold) > room:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(line)
    return lines


def _broken(word: str, room: float, height: float, bold: bool) -> list[str]:
    """A word in as few parts as fit the room, but for a letter that does not."""
    parts = [""]
    for letter in word:
        if parts[-1] and width_of(parts[-1] + letter, height, bold=bold) > room:
            parts.append("")
        parts[-1] += letter
    return parts


def wrapped_rows(
    rows: Iterable[Sequence[str]], widths: Sequence[float], height: float
) -> Iterator[tuple[str, ...]]:
    """Rows of a table whose cells fit its columns (mm); what goes on has an empty first cell."""
    for row in rows:
        cells = [
            wrapped(cell, width - 2.0, height) for cell, width in zip(row, widths, strict=True)
        ]
        for number in range(max(map(len, cells))):
            yield tuple(cell[number] if number < len(cell) else "" for cell in cells)
