"""A face frame: its openings, its members, its pockets, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slantbore.models.judging.judge import judge
from slantbore.models.piece.board import BOTTOM, TOP
from slantbore.models.words.errors import RecipeError

from .closed import assert_closed, closed_or_refused, planned

HEAD = """\
name: frames
units: mm
stock:
  frame: {wood: hard-maple, thickness: 19}
build:
  - design: face-frame
    name: frame
    stock: frame
"""


def recipe(**keys: object) -> str:
    given_keys = {"size": "800 x 700", "stile": 45, "rail": 38, **keys}
    return HEAD + "".join(f"    {key}: {value}\n" for key, value in given_keys.items())


GRID = "[{openings: [140, rest]}, {width: 300, openings: [rest]}]"


def test_members_of_a_grid() -> None:
    boards = planned(recipe(columns=GRID)).board_named
    sizes = {name.removeprefix("frame "): (b.length, b.width) for name, b in boards.items()}
    assert sizes == {
        "left stile": (700, 45),
        "right stile": (700, 45),
        "middle stile": (700 - 2 * 38, 45),
        "top rail": (710, 38),
        "bottom rail": (710, 38),
        "middle rail": (710 - 45 - 300, 38),
    }
    assert boards["frame middle rail"].pose.origin[2] == 700 - 38 - 140 - 38


def test_two_pockets_an_end_on_the_back() -> None:
    project = planned(recipe(columns=GRID))
    assert all(len(joint.bores) == 2 for joint in project.joints)
    assert {bore.pocket_face for bore in project.bores} == {BOTTOM}
    for bore in project.bores:
        board = project.board_named[bore.board]
        assert board.face(BOTTOM).seen == "concealed" and board.face(TOP).seen == "exposed"


def test_a_narrow_rail_takes_one_pocket() -> None:
    project = planned(recipe(rail=22))
    assert all(len(joint.bores) == 1 for joint in project.joints)
    assert not [f for f in judge(project) if f.severity == "fails"]


def test_left_and_right_stile_are_one_part() -> None:
    boards = planned(recipe()).board_named
    left, right = boards["frame left stile"], boards["frame right stile"]
    assert [f.plane for f in left.faces] == [f.plane for f in right.faces]
    assert left.pose.z == right.pose.z == (0, -1, 0)


def test_nothing_fails_and_it_closes() -> None:
    project = planned(recipe(columns=GRID))
    assert_closed(project)
    assert not [f for f in judge(project) if f.severity == "fails"]


@pytest.mark.parametrize(
    ("changed", "line", "said"),
    [
        ({"columns": "[{openings: [200, 200]}]"}, 12, "write `rest` for one of them"),
        ({"columns": "[{openings: [700, rest]}]"}, 12, "nothing high"),
        ({"stile": 395}, 8, "make the frame larger"),
        ({"columns": "[{width: 200}, {width: 200}]"}, 12, "wide together"),
    ],
)
def test_openings_that_do_not_fit_are_refused_at_their_place(
    changed: dict[str, object], line: int, said: str
) -> None:
    with pytest.raises(RecipeError, match=said) as caught:
        planned(recipe(**changed))
    assert {problem.location.line for problem in caught.value.problems} <= {line, 6, 7}


def shares(largest: int) -> st.SearchStrategy[list[object]]:
    """Openings that mostly leave something to share."""
    given_ = st.lists(st.integers(20, largest), max_size=2)
    return st.tuples(given_, st.sampled_from([["rest"], ["rest", "rest"], []])).map(
        lambda parts: [*parts[0], *parts[1]] or ["rest"]
    )


COLUMNS = shares(300).flatmap(
    lambda widths: st.tuples(*(st.tuples(st.just(w), shares(200)) for w in widths))
)


@settings(max_examples=30)
@given(
    width=st.integers(60, 2000),
    height=st.integers(60, 2200),
    stile=st.integers(12, 70),
    rail=st.integers(12, 70),
    columns=COLUMNS,
)
def test_any_frame_closes_or_is_refused(
    width: int, height: int, stile: int, rail: int, columns: tuple[tuple[object, list[object]], ...]
) -> None:
    said = ", ".join(
        f"{{width: {w}, openings: [{', '.join(map(str, rows))}]}}" for w, rows in columns
    )
    size = f"{width} x {height}"
    closed_or_refused(recipe(size=size, stile=stile, rail=rail, columns=f"[{said}]"))
