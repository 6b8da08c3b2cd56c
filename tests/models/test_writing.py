"""A recipe written anew by its keys: it reads as the edit says, and keeps everything else."""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import Any

import pytest

from slantbore.models.piece.lever import Edit, Setting
from slantbore.models.recipe.edits import tree_with
from slantbore.models.recipe.reading import read_document
from slantbore.models.recipe.writing import Patch, WritingError, patches, rewritten
from tests.neighbours import RECIPES, known

BLOCK = """\
# a shelf for the cabin
name: shelf   # its name
units: inch

stock:
  # from the mill
  oak: {wood: red-oak, thickness: 3/4}

build:
  - design: panel   # glued up
    stock: oak
    size: 20 x 30

    changes:
      # the ends
      corner 1: {screw: 2, swing: 10}
      corner 2:
        screw: 2
# the end
"""
AT = ("build", 0, "changes")


def lines_of(text: str, edit: Edit) -> list[tuple[str, tuple[str, ...]]]:
    return [(patch.says, patch.lines) for patch in patches(text, rewritten(text, edit))]


@pytest.mark.parametrize(
    ("edit", "told"),
    [
        (
            (Setting((*AT, "corner 1", "screw"), '1-1/4"'),),
            [("in place of line 16, write", ("      corner 1: {screw: 1-1/4\", swing: 10}",))],
        ),
        (
            (Setting((*AT, "corner 1", "pilot"), "screw"),),
            [("in place of line 16, write",
              ("      corner 1: {screw: 2, swing: 10, pilot: screw}",))],
        ),
        (
            (Setting((*AT, "corner 2", "screw"), None),),
            [("take away lines 17 to 18", ())],
        ),
        (
            (Setting((*AT, "every joint", "screw"), "1"),),
            [("after line 18, add", ("      every joint: {screw: 1}",))],
        ),
        (
            (Setting(("tools", "longest_screw"), "1 in"),),
            [("after line 3, add", ("tools: {longest_screw: 1 in}",))],
        ),
        (
            (Setting(("stock", "oak", "sheet"), "birch"), Setting(("stock", "oak", "wood"), None)),
            [("in place of line 7, write", ("  oak: {thickness: 3/4, sheet: birch}",))],
        ),
        (
            (Setting(("build", 0, "design"), None),),
            [("in place of lines 10 to 11, write", ("  - stock: oak",))],
        ),
        (
            (Setting((*AT, "corner 1", "screw"), None), Setting((*AT, "corner 1", "swing"), None),
             Setting((*AT, "corner 2", "screw"), None)),
            [("take away lines 14 to 18", ())],
        ),
        (
            (Setting(("limits", "show_wall"), "a: b"),),
            [("after line 3, add", ('limits: {show_wall: "a: b"}',))],
        ),
    ],
)  # fmt: skip
def test_only_the_lines_of_the_edit_change(
    edit: Edit, told: list[tuple[str, tuple[str, ...]]]
) -> None:
    assert lines_of(BLOCK, edit) == told


def test_a_key_goes_under_what_the_piece_has_in_one_line() -> None:
    text = "name: f\nbuild:\n- {design: panel, size: 2 x 3}  # flat\n"
    edit = (Setting(("build", 0, "changes", "every joint", "screw"), "1"),)
    assert rewritten(text, edit).splitlines()[2] == (
        "- {design: panel, size: 2 x 3, changes: {every joint: {screw: 1}}}  # flat"
    )
    whole = "name: f\nbuild:\n- design: panel\n  size: 2 x 3"
    assert rewritten(whole, edit).splitlines()[-2:] == [
        "  changes:",
        "    every joint: {screw: 1}",
    ]


def test_what_cannot_be_written_is_refused() -> None:
    with pytest.raises(WritingError):
        rewritten(BLOCK, (Setting(("name", "first"), "x"),))


def test_line_ends_and_the_mark_of_another_system_stay() -> None:
    text = "\ufeff" + BLOCK.replace("\n", "\r\n")
    new = rewritten(text, (Setting(("tools", "slope"), "15"),))
    assert new.startswith("\ufeff") and new.count("\r\n") == new.count("\n")
    assert patches(text, new) == (Patch(4, 3, ("tools: {slope: 15}",)),)


def _edits(tree: Any, rng: random.Random) -> Iterator[Edit]:
    """Some keys of a recipe changed, taken away and added."""

    def places(node: Any, above: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
        items = node.items() if isinstance(node, dict) else enumerate(node)
        for step, below in items:
            yield (*above, step)
            if not isinstance(below, str):
                yield from places(below, (*above, step))

    keys = [place for place in places(tree) if isinstance(place[-1], str)]
    for _ in range(12):
        edit = [Setting(rng.choice(keys), rng.choice(("1-1/2", "a, b", None, None)))]
        new = ("build", 0, "changes", f"joint {rng.randrange(3)}", rng.choice("abc"))
        edit += [Setting(new, "2"), Setting(("limits", "tolerance"), "2 mm")]
        yield tuple(edit[: rng.randrange(1, 4)])


@pytest.mark.parametrize("number", range(len(known())))
def test_any_edit_reads_as_it_says_and_leaves_the_other_lines(number: int) -> None:
    text = known()[number]
    tree, rng, done = read_document(text, "").tree, random.Random(number), 0
    for edit in _edits(tree, rng):
        try:
            new = rewritten(text, edit)
        except WritingError:
            continue
        done += 1
        assert read_document(new, "").tree == tree_with(tree, edit)
        lines, found = text.splitlines(), patches(text, new)
        for patch in reversed(found):
            lines[patch.first - 1 : patch.last] = patch.lines
        assert lines == new.splitlines()  # pasted as it says
        if all(s.value and isinstance(written_in(tree, s), str | None) for s in edit):
            assert sum(max(p.last - p.first + 1, len(p.lines)) for p in found) <= 3 * len(edit)
    assert done >= 8


def written_in(tree: Any, setting: Setting) -> Any:
    for step in setting.path:
        if isinstance(tree, dict) and step not in tree:
            return None
        tree = tree[step]
    return tree


def test_recipes_that_ship_are_known() -> None:
    assert len(known()) >= len(RECIPES) > 5
