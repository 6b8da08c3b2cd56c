"""Recipes gone wrong, seeded: keys away, numbers wild, words and types exchanged, units mixed."""

from __future__ import annotations

import copy
import random
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from typing import Any

import yaml

from slantbore.models.designs import piece_models
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.recipe.stated import EVERY_JOINT
from slantbore.models.words.errors import RecipeError
from tests.neighbours import known

Tree = Any
Step = str | int

_UNITS = ("", " mm", " cm", " m", " in", '"', "'", " ft", "mm", " inches")
_ODD = (
    "0", "-1", "1e9", "1e-9", "nan", "inf", "-0", "1/0", "3-1/2", "1:6", "010", "no", "yes", "null",
    "~", "", " ", "auto", "any", "every joint", "screw", "exposed", "concealed", "x", "rest",
    "rest 2",
    "top face", "left end / top face", "400 x 300", "0 x 0", "40 lb/ft2", "2000 N/m2", "\u00bd",
    "\uff1d1", "a" * 300, "1e999", "0x10", "12_5", "100%", "22.5 degrees",
)  # fmt: skip


@cache
def _names(text: str) -> tuple[str, ...]:
    """What a recipe may bore otherwise: its joints and pockets, without the piece's name."""
    try:
        project = plan(parse_recipe(text, "source", piece_models()))
    except RecipeError:
        return (EVERY_JOINT,)
    pieces = {board.piece for board in project.boards}
    every = [j.name for j in project.joints] + [b.name for b in project.bores]
    short = {n.removeprefix(f"{p} ") for n in every for p in pieces if n.startswith(f"{p} ")}
    return (EVERY_JOINT, *sorted(short))


def _places(tree: Tree, above: tuple[Step, ...] = ()) -> Iterator[tuple[Step, ...]]:
    """Every place of a tree but its root."""
    items: list[tuple[Step, Tree]] = []
    if isinstance(tree, dict):
        items = list(tree.items())
    elif isinstance(tree, list):
        items = list(enumerate(tree))
    for step, below in items:
        yield (*above, step)
        yield from _places(below, (*above, step))


def _at(tree: Tree, place: tuple[Step, ...]) -> Tree:
    for step in place:
        tree = tree[step]
    return tree


def _scalars(tree: Tree) -> list[tuple[Step, ...]]:
    return [p for p in _places(tree) if isinstance(_at(tree, p), str)]


def _put(tree: Tree, place: tuple[Step, ...], value: Tree) -> None:
    _at(tree, place[:-1])[place[-1]] = value


def _numeric(rng: random.Random, tree: Tree) -> tuple[Step, ...] | None:
    some = [p for p in _scalars(tree) if any(c.isdigit() for c in _at(tree, p))]
    return rng.choice(some) if some else None


def _removed(rng: random.Random, tree: Tree, text: str) -> None:
    place = rng.choice(list(_places(tree)))
    del _at(tree, place[:-1])[place[-1]]


def _doubled(rng: random.Random, tree: Tree, text: str) -> None:
    lists = [p for p in _places(tree) if isinstance(_at(tree, p), list) and _at(tree, p)]
    if lists:
        some = _at(tree, rng.choice(lists))
        some.insert(rng.randrange(len(some) + 1), copy.deepcopy(rng.choice(some)))


def _scaled(rng: random.Random, tree: Tree, text: str) -> None:
    place = _numeric(rng, tree)
    if place is not None:
        factor = rng.choice((10.0 ** rng.uniform(-4, 4), rng.uniform(0.2, 3.0), 0.0, -1.0))
        size = f"{rng.uniform(1, 1000) * factor:.5g}"
        _put(tree, place, size + rng.choice(_UNITS))


def _nearly(rng: random.Random, tree: Tree, text: str) -> None:
    """A plain number times a factor: it stays a size, mostly of something that can be made."""
    plain = [p for p in _scalars(tree) if _at(tree, p).replace(".", "", 1).isdigit()]
    if plain:
        place = rng.choice(plain)
        _put(tree, place, f"{float(_at(tree, place)) * rng.uniform(0.3, 3.0):.3f}")


def _swapped(rng: random.Random, tree: Tree, text: str) -> None:
    one, other = (rng.choice(_scalars(tree)) for _ in range(2))
    a, b = _at(tree, one), _at(tree, other)
    _put(tree, one, b)
    _put(tree, other, a)


def _odd(rng: random.Random, tree: Tree, text: str) -> None:
    _put(tree, rng.choice(_scalars(tree)), rng.choice(_ODD))


def _retyped(rng: random.Random, tree: Tree, text: str) -> None:
    place = rng.choice(list(_places(tree)))
    value = _at(tree, place)
    _put(tree, place, rng.choice(([value], {"a": value}, None, "", [], {}, "7", str(value)[:40])))


def _units(rng: random.Random, tree: Tree, text: str) -> None:
    place = _numeric(rng, tree)
    if rng.random() < 0.3 or place is None:
        tree["units"] = rng.choice(("mm", "inch", "cm"))
    else:
        _put(tree, place, _at(tree, place) + rng.choice(_UNITS))


def _piece(rng: random.Random, tree: Tree) -> dict[str, Tree]:
    pieces = [p for p in tree.get("build") or [] if isinstance(p, dict)]
    return rng.choice(pieces) if pieces else {}


def _quantity(rng: random.Random, tree: Tree, text: str) -> None:
    piece = _piece(rng, tree)
    piece["quantity"] = str(rng.choice((1, 1, 2, 2, 3, 0, 12, 100, -1, 1000, 1.5)))
    if rng.random() < 0.3:
        piece["at"] = {"x": f"{rng.uniform(-500, 500):.2f}", "turn": str(rng.choice((0, 30, 90)))}


def _limits(rng: random.Random, tree: Tree, text: str) -> None:
    limits = tree.setdefault("limits", {})
    if isinstance(limits, dict):
        key = rng.choice(("show_wall", "hidden_wall", "tip_cover", "between", "tolerance"))
        limits[key] = f"{rng.choice((0.01, 0.5, 1, 2, 5, 8, 12, 20, 100)):g} mm"
        if rng.random() < 0.3:
            limits[rng.choice(("moisture_change", "max_swing"))] = str(rng.choice((0, 4, 30, 100)))


def _tools(rng: random.Random, tree: Tree, text: str) -> None:
    tools = tree.setdefault("tools", {})
    if isinstance(tools, dict):
        key, values = rng.choice(
            (
                ("slope", ("5", "9", "15", "25", "45", "60")),
                ("bit_length", ("1 mm", "60 mm", "150 mm", "400 mm")),
                ("longest_screw", ("1 mm", "20 mm", "32 mm", "60 mm")),
                ("screw_gauge", ("6", "7", "8", "10", "12")),
                ("drill", ("9-32-in", "3-8-in", "1-2-in", "none")),
            )
        )
        tools[key] = rng.choice(values)


def _otherwise(rng: random.Random, tree: Tree, text: str) -> None:
    told = _piece(rng, tree).setdefault("changes", {})
    if not isinstance(told, dict):
        return
    wish = told.setdefault(rng.choice(_names(text)), {})
    if isinstance(wish, dict):
        key, values = rng.choice(
            (
                ("pockets", ("0", "1", "2", "3", "8", "40")),
                ("pockets_in", ("any", "top face", "back", "underside", "inside")),
                ("position", ("0", "5 mm", "20 mm", "100 mm", "5 m")),
                ("swing", ("-60", "-20", "0", "15", "45", "90")),
                ("screw", ("2 mm", "25 mm", "32 mm", "64 mm", "300 mm")),
                ("wood_under_screw", ("1 mm", "5 mm", "15 mm", "40 mm", "200 mm")),
                ("drill", ("9-32-in", "3-8-in", "1-2-in")),
                ("pilot", ("screw", "1 mm", "20 mm", "100 mm")),
                ("slot", ("0", "2 mm", "10 mm", "80 mm")),
            )
        )
        wish[key] = rng.choice(values)


Mutation = Callable[[random.Random, Tree, str], None]
# What mostly stays a recipe, and what mostly does not.
_MILD: tuple[Mutation, ...] = (_nearly, _nearly, _limits, _tools, _otherwise, _otherwise, _quantity)
_WILD: tuple[Mutation, ...] = (
    _removed, _doubled, _scaled, _swapped, _odd, _retyped, _units, *_MILD,
)  # fmt: skip


def _mangled(rng: random.Random, text: str) -> str:
    """A piece of the text cut out, doubled or replaced: mostly no recipe any more."""
    start = rng.randrange(len(text))
    end = min(len(text), start + rng.randrange(30))
    new = rng.choice(("", text[start:end] * 2, "\t", "- ", "{", "]", "&a ", "*a", "\x00", "\u2028"))
    return text[:start] + new + text[end:]


def mildly(rng: random.Random, text: str) -> str:
    """The recipe with sizes, limits, tools or single pockets asked otherwise; mostly still one."""
    return _mutated(rng, text, _MILD)


def mutants(seed: int) -> Iterator[str]:
    """Texts of recipes with one to four things wrong, without end."""
    rng = random.Random(seed)
    while True:
        text = rng.choice(known())
        if rng.random() < 0.06:
            yield _mangled(rng, text)
        else:
            yield _mutated(rng, text, rng.choice((_MILD, _WILD)))


def _mutated(rng: random.Random, text: str, kinds: Sequence[Mutation]) -> str:
    tree = yaml.load(text, Loader=yaml.BaseLoader)
    for _ in range(rng.choice((1, 1, 2, 2, 3, 4))):
        if not isinstance(tree, dict) or not _scalars(tree):
            break
        rng.choice(kinds)(rng, tree, text)
    return yaml.safe_dump(tree, sort_keys=False, allow_unicode=True)
