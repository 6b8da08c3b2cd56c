"""Names told apart as the least able file system does; the known word that is nearest to one."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Mapping
from difflib import get_close_matches
from itertools import count
from typing import TypeVar

from .errors import SlantboreError
from .lengths import quoted

T = TypeVar("T")


def folded(name: str) -> str:
    """A name as it is compared: caseless canonical matching (The Unicode Standard, 3.13)."""
    return unicodedata.normalize("NFD", unicodedata.normalize("NFD", name).casefold())


def numbered(name: str, free: Callable[[str], bool]) -> str:
    """The name with the first number from 2 on that leaves it free."""
    return next(tried for n in count(2) if free(tried := f"{name} {n}"))


# Other words for what recipes say, each with ours as `_plain_word` has them.
_SAID_FOR: Mapping[str, tuple[str, ...]] = {
    "otherwise": ("changes",),
    "overrides": ("changes",),
    "stance": ("stands",),
    "stop": ("wood-under-screw",),
    "rabbet": ("rebate",),
    "dado": ("groove", "housed"),
    "housing": ("groove", "housed"),
    "angle": ("swing", "slope", "turn"),
    "opening": ("openings", "sight"),
    "right-angle": ("butt",),
    "offset-edge": ("edging",),
    "lipping": ("edging",),
    "panel": ("top",),
    "show": ("exposed",),
    "visible": ("exposed",),
    "hidden": ("concealed",),
    "overhang": ("overlap",),
    "depth-stop": ("wood-under-screw",),
}


def nearest(word: str, legal: Iterable[str]) -> str:
    """Return `; did you mean ...?` with the nearest legal word, or nothing when none is near.

    A word that makers use for the same thing, or that was used here before, is nearest.
    """
    by_plain = {_plain_word(known): known for known in legal}
    for ours in _SAID_FOR.get(_plain_word(word), ()):
        if ours in by_plain:
            return f"; here it is called `{by_plain[ours]}`"
    near = get_close_matches(_plain_word(word), by_plain, n=1, cutoff=0.6)
    return f"; did you mean `{by_plain[near[0]]}`?" if near else ""


def one_of(word: str, legal: Iterable[str], kind: str) -> str:
    """Return the word when it is legal.

    Raises:
        ValueError: it is not; the message has the nearest word and the legal list.
    """
    known = list(legal)
    if word in known:
        return word
    listed = ", ".join(known) or "none is given"
    raise ValueError(f"{quoted(word)} is no {kind}{nearest(word, known)} (known: {listed})")


def named(word: str, known: Mapping[str, T], kind: str) -> T:
    """Return what has a name.

    Raises:
        SlantboreError: nothing has it; the message has the nearest name and all of them.
    """
    try:
        return known[one_of(word, known, kind)]
    except ValueError as error:
        raise SlantboreError(str(error)) from None


def _plain_word(word: str) -> str:
    return word.lower().replace("_", "-").replace(" ", "-")
