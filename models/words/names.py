"""Names told apart as the least able file system does: capitals do not tell them apart."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from itertools import count


def folded(name: str) -> str:
    """A name as it is compared: caseless canonical matching (The Unicode Standard, 3.13)."""
    return unicodedata.normalize("NFD", unicodedata.normalize("NFD", name).casefold())


def numbered(name: str, free: Callable[[str], bool]) -> str:
    """The name with the first number from 2 on that leaves it free."""
    return next(tried for n in count(2) if free(tried := f"{name} {n}"))
