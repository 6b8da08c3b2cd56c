"""What a maker may change in a recipe, as data: settings of its keys, and levers that list them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

RecipePath = tuple[str | int, ...]
"""Where something stands in a recipe: `("build", 0, "swing")`."""

PLACE = frozenset(
    (
        "no-screw", "no-window", "narrow-window", "breakout", "thin-wall", "tip-cover", "too-close",
        "stray-screw", "proud-head", "open-slot",
    )
)  # fmt: skip
"""Rules about where a pocket lies: what gives it another place may cure any of them."""
PLAIN = re.compile(r"-?[^\W_][\w .\"'/+-]*")
"""Text that YAML reads as it stands."""


@dataclass(frozen=True)
class Setting:
    """One key of a recipe, and what to write there.

    Attributes:
        path: of the key.
        value: as the recipe writes it; None takes the key away.
        says: what that does, in the maker's words, with `{}` where the value is told.
    """

    path: RecipePath
    value: str | None
    says: str = ""


Edit = tuple[Setting, ...]
"""Settings that go together."""


@dataclass(frozen=True)
class Lever:
    """One thing that a maker may change: edits to try, the easiest first.

    Attributes:
        kind: of change; for each finding one edit of a kind is named.
        edits: each a whole change of the recipe. They may be made as they are asked for: None says
            that one was thought of and cannot serve.
        least: whether an edit that serves is followed by others that serve as well, so that the
            first of them is found by halving; then all edits are there from the start.
        cures: codes of the rules whose findings it may cure.
        size: whether it makes the piece another size; tried after what does not.
        tries: edits that are tried at most.
        resort: whether it is pulled only where nothing else served.
    """

    kind: str
    edits: Iterable[Edit | None]
    least: bool = False
    cures: frozenset[str] = PLACE
    size: bool = False
    tries: int = 8
    resort: bool = False


def lever(
    kind: str,
    path: RecipePath,
    says: str,
    values: Sequence[str | None],
    *,
    least: bool = False,
    cures: frozenset[str] = PLACE,
    size: bool = False,
) -> Lever:
    """The lever of a single key with these values."""
    return Lever(kind, [(Setting(path, value, says),) for value in values], least, cures, size)


@dataclass(frozen=True)
class Change:
    """A cure of a finding: with it the finding is gone, and nothing else fails or warns.

    Attributes:
        edit: what to write in the recipe.
        then: what comes of it, in words; "" where that goes without saying.
    """

    edit: Edit
    then: str = ""

    @property
    def words(self) -> str:
        """What to do, in the maker's words."""
        return " and ".join(dict.fromkeys(s.says.format(s.value) for s in self.edit if s.says))

    @property
    def says(self) -> str:
        """The same with every key that is written, and nothing else."""
        said = f"{self.words} ({'; '.join(_fragments(self.edit))})"
        return f"{said}: {self.then}" if self.then else said


def _fragments(edit: Edit) -> Iterator[str]:
    """The settings as a recipe has them; places that take the same are named together."""
    places: dict[RecipePath, list[str]] = {}
    for setting in edit:
        above = setting.path[2:] if setting.path[0] == "build" else setting.path
        if setting.value is not None:
            said = f"{above[-1]}: {_scalar(setting.value)}"
            places.setdefault(above[:-1], []).append(said)
    alike: dict[tuple[RecipePath, str], list[str]] = {}
    for place, keys in places.items():
        names = alike.setdefault((place[:-1], ", ".join(keys)), [])
        names += (_scalar(str(step)) for step in place[-1:])
    for (above, said), names in alike.items():
        told = said
        if names:
            told = f"{names[0]}: {{{said}}}"
            told += f", and the same for {_listed(names[1:])}" if names[1:] else ""
        for step in reversed(above):
            told = f"{step}: {{{told}}}"
        yield told
    away: dict[str, list[str]] = {}
    for setting in edit:
        if setting.value is None:
            whose = f" of {setting.path[-2]}" if "changes" in setting.path else ""
            away.setdefault(whose, []).append(f"`{setting.path[-1]}`")
    for whose, gone in away.items():
        yield f"without {_listed(gone)}{whose}"


def _listed(names: Sequence[str]) -> str:
    *more, last = names
    return f"{', '.join(more)} and {last}" if more else last


def _scalar(text: str) -> str:
    return text if PLAIN.fullmatch(text) else json.dumps(text, ensure_ascii=False)
