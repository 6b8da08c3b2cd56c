"""A case: its boards, pin rows, toe kick, face frame and drawers, and what is refused."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.judging.study import Study
from slantbore.models.piece.board import BOTTOM, TOP
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError
from tests.boards import Stated

from .closed import assert_closed, closed_or_refused, planned

HEAD = """\
name: cases
units: mm
stock:
  case: {sheet: birch-ply-18}
  thick: {sheet: plywood-3-4}
  box: {sheet: birch-ply-15}
  thin: {sheet: plywood-1-4}
  front: {wood: hard-maple, thickness: 19}
build:
"""
KICK = "{height: 100, setback: 70}"
BASE = "{height: 100, setback: 70, made: separate base}"
BACK = "{stock: thin, fit: rebate}"
DRAWERS = "{stock: box, bottom: thin, heights: [150, 280, rest], front: {stock: front, fit: %s}}"
OVERLAY = "overlay, overlap: 16, reveal: 3"
FRAME = "{stock: front, stile: 45, rail: 40, columns: [{openings: [150, rest]}]}"


def piece(name: str = "case", /, **keys: object) -> str:
    given_keys = {"stock": "case", "size": "600 x 870", "depth": 560, **keys}
    lines = "".join(f"    {key}: {value}\n" for key, value in given_keys.items() if value)
    return f"  - design: case\n    name: {name}\n{lines}"


def recipe(**keys: object) -> str:
    return HEAD + piece(**keys)


def roles(project: Project) -> set[str]:
    return {board.name.removeprefix("case ") for board in project.boards}


def failing(project: Project) -> list[str]:
    return [f.message for f in judge(project) if f.severity == "fails"]


VARIANTS: dict[str, dict[str, object]] = {
    "base": {"toe_kick": KICK, "back": BACK, "adjustable": "{shelves: 2}"},
    "on a base": {"toe_kick": BASE, "back": "{stock: thin, fit: planted}", "shelves": "[300]"},
    "wall": {"size": "600 x 700", "depth": 320, "top": "panel", "back": BACK},
    "tall": {
        "size": "600 x 2100",
        "toe_kick": KICK,
        "top": "panel",
        "shelves": "[700, 1400]",
        "adjustable": "{shelves: 4}",
        "back": BACK,
    },
    "frame": {"toe_kick": KICK, "face_frame": FRAME},
    "drawers": {"toe_kick": KICK, "back": BACK, "drawers": DRAWERS % OVERLAY},
    "inset drawers": {"toe_kick": KICK, "drawers": DRAWERS % "inset, reveal: 2"},
    "framed drawer": {
        "toe_kick": KICK,
        "face_frame": FRAME,
        "drawers": "{stock: box, bottom: thin, count: 1, front: {stock: front, fit: inset}}",
        "adjustable": "{shelves: 1}",
        "back": BACK,
    },
}


@pytest.mark.parametrize("name", VARIANTS)
def test_every_kind_closes_and_nothing_fails(name: str) -> None:
    project = planned(recipe(**VARIANTS[name]))
    assert_closed(project)
    assert not failing(project)


def test_boards_of_a_base() -> None:
    project = planned(recipe(**VARIANTS["base"]))
    assert roles(project) == {
        "left side",
        "right side",
        "bottom",
        "front stretcher",
        "back stretcher",
        "toe kick",
        "back",
        "adjustable shelf 1",
        "adjustable shelf 2",
    }
    bottom = project.board_named["case bottom"]
    assert bottom.length == 600 - 2 * 18 and bottom.pose.origin[2] == 100
    left, right = project.board_named["case left side"], project.board_named["case right side"]
    assert (left.hand, right.hand) == ("left", "right")
    assert [work.called for work in left.work] == ["toe kick notch", "rebate", "pin hole"]


def test_pockets_are_where_nobody_looks() -> None:
    project = planned(recipe(**VARIANTS["base"]))
    faces = {(bore.board, bore.pocket_face) for bore in project.bores}
    assert ("case bottom", BOTTOM) in faces and ("case front stretcher", TOP) in faces
    for board, side in faces:
        assert project.board_named[board].face(side).seen == "concealed"


def test_pockets_of_the_bottom_come_in_pairs() -> None:
    project = planned(recipe(back=BACK))
    places = sorted(b.exit[1] for b in project.bores if b.joint == "case bottom to left side")
    assert len(places) % 2 == 0
    apart = [b - a for a, b in zip(places[::2], places[1::2], strict=True)]
    # Both are on marks of 10 mm, 25 mm apart or as near to it as these let them be; in the middle
    # of the board they are marked from either edge.
    outer = {round(gap, 6) for i, gap in enumerate(apart) if i != len(apart) // 2}
    assert outer <= {20.0, 30.0} and all(15.0 < gap < 35.0 for gap in apart)


def test_pin_rows_are_on_a_pitch_of_32_mm() -> None:
    """Common practice, no source: holes of 5 mm, 32 mm apart, 37 mm from the front."""
    project = planned(recipe(**VARIANTS["base"]))
    for name in ("case left side", "case right side"):
        side = project.board_named[name]
        rows = sorted({hole.mouth[0] for hole in side.holes})
        steps = {round(b - a, 9) for a, b in zip(rows, rows[1:], strict=False)}
        assert steps == {32.0}
        assert min(hole.mouth[1] for hole in side.holes) == 37.0
        assert {2 * hole.radius for hole in side.holes} == {5.0}
    inner = [
        project.board_named[f"case {hand} side"].pose.point(hole.mouth)
        for hand in ("left", "right")
        for hole in project.board_named[f"case {hand} side"].holes
    ]
    assert {round(x, 9) for x, _, _ in inner} == {18.0, 582.0}
    shelf = project.board_named["case adjustable shelf 1"]
    assert any(abs(shelf.pose.origin[2] - z - 2.5) < 1e-9 for _, _, z in inner)


def test_pin_rows_keep_clear_of_fixed_shelves_and_their_screws() -> None:
    project = planned(recipe(**VARIANTS["tall"]))
    beside = Study(project).beside_holes
    assert beside and min(near.gap for near in beside) >= 32.0
    for level in (700, 1400):
        low = 118 + level
        heights = [hole.mouth[0] for hole in project.board_named["case left side"].holes]
        assert not [z for z in heights if low - 30 < z < low + 18 + 30]


def test_a_pin_hole_in_a_screws_way_fails() -> None:
    project = planned(recipe(**VARIANTS["tall"]))
    bore = next(b for b in project.bores if b.joint == "case shelf 1 to left side")
    side, shelf = project.board_named["case left side"], project.board_named["case shelf 1"]
    x, y, _ = side.pose.local_point(shelf.pose.point(bore.exit))
    hole = replace(side.holes[0], mouth=(x, y + 3.0, side.holes[0].mouth[2]))
    boards = tuple(
        replace(b, work=(Stated((hole, *b.holes[1:])),)) if b is side else b for b in project.boards
    )
    found = [f for f in judge(replace(project, boards=boards)) if f.rule == "too-close"]
    assert [f.bore for f in found] == [bore.name] and found[0].severity == "fails"


@pytest.mark.parametrize("kick", [KICK, BASE])
def test_no_head_stands_out_under_the_toe_kick(kick: str) -> None:
    """The rim of a head: r cos t + h sin t above its seat (textbook)."""
    project = planned(recipe(toe_kick=kick))
    under = project.board_named["case bottom"].face(BOTTOM).plane
    some = [b for b in project.bores if b.board == "case bottom"]
    assert some
    for bore in some:
        slope, screw = math.radians(bore.slope), bore.screw
        rim = screw.head_radius * math.cos(slope) + screw.head_height * math.sin(slope)
        assert under.gap(bore.seat) - rim >= 0.2 - 1e-9


def test_drawers_share_the_height() -> None:
    project = planned(recipe(**VARIANTS["drawers"]))
    fronts = [project.board_named[f"case drawer {i} false front"] for i in (1, 2, 3)]
    for above, below in zip(fronts, fronts[1:], strict=False):
        gap = above.pose.origin[2] - (below.pose.origin[2] + below.width)
        assert gap == pytest.approx(3.0)
    assert {front.length for front in fronts} == {600 - 2 * 18 + 2 * 16}
    box = project.board_named["case drawer 1 front"]
    assert box.length + 2 * 15 == pytest.approx(600 - 2 * 18 - 2 * 12.7)
    slides = [item for item in project.hardware if "slides" in item.name]
    assert len(slides) == 3 and all("500 mm" in item.detail for item in slides)


def test_a_face_frame_is_flush_with_the_case() -> None:
    project = planned(recipe(**VARIANTS["frame"]))
    stile = project.board_named["case face frame right stile"]
    xs = [stile.pose.point((0, y, 0))[0] for y in (0, stile.width)]
    assert max(xs) == 600
    glued = {j.name for j in project.joints if not j.bores}
    assert "case face frame left stile to left side" in glued


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"size": "80 x 870"}, "wide inside"),
        ({"size": "600 x 130", "toe_kick": KICK}, "high inside"),
        ({"depth": 150}, "deep inside"),
        ({"back": "{stock: thin, rebate: 16}"}, "too little of sides"),
        ({"shelves": "[20]"}, "above the bottom leaves less"),
        ({"shelves": "[300, 330]"}, "leaves less"),
        ({"adjustable": "{shelves: 40}"}, "places for"),
        ({"stock": "thin", "adjustable": "{shelves: 1}"}, "sides 6.35 mm thick hold no pins"),
        ({"drawers": DRAWERS % "overlay, overlap: 30"}, "stand out of the case"),
        ({"drawers": DRAWERS % "inset, reveal: 150"}, "leaves nothing of the false front"),
        ({"drawers": "{stock: box, bottom: thin}"}, "take `heights`"),
        ({"drawers": DRAWERS % OVERLAY, "face_frame": FRAME}, "take `count`"),
        (
            {"drawers": "{stock: box, bottom: thin, count: 3}", "face_frame": FRAME},
            "has 2 openings, not 3",
        ),
        (
            {
                "drawers": "{stock: box, bottom: thin, count: 1}",
                "face_frame": "{stock: front, columns: [{}, {}]}",
            },
            "one column",
        ),
        ({"size": "600 x 400", "drawers": DRAWERS % OVERLAY}, "high"),
    ],
)
def test_what_makes_no_case_is_refused_at_its_place(changed: dict[str, object], said: str) -> None:
    with pytest.raises(RecipeError, match=said) as caught:
        planned(recipe(**changed))
    assert all(problem.location.line > 9 for problem in caught.value.problems)


def test_a_fixed_shelf_in_the_way_of_a_drawer_is_found() -> None:
    said = failing(planned(recipe(drawers=DRAWERS % OVERLAY, shelves="[300]")))
    assert any("case shelf and case drawer 3 left side run into each other" in m for m in said)


def test_like_joints_laid_out_once_come_out_as_if_laid_out_alone() -> None:
    """Planned together, cases share layouts, also with mirrored joints; alone they do not."""
    sizes: tuple[object, ...] = ("600 x 870", "500 x 870", "600 x 700")
    parts = [
        piece(f"case {i}", toe_kick=KICK, back=BACK, adjustable="{shelves: 1}", size=size)
        for i, size in enumerate(sizes)
    ]
    together = plan(parse_recipe(HEAD + "".join(parts), "all.yaml", piece_models()))
    apart = [plan(parse_recipe(HEAD + part, "one.yaml", piece_models())) for part in parts]
    bores = {bore.name: bore for project in apart for bore in project.bores}
    assert len(together.bores) == len(bores)
    for bore in together.bores:
        alone = bores[bore.name]
        assert bore.exit == pytest.approx(alone.exit, abs=1e-4)
        assert bore.back == pytest.approx(alone.back, abs=1e-9)
        assert bore.screw == alone.screw
        assert (bore.window.low_binds, bore.window.high_binds, bore.window.datum) == (
            alone.window.low_binds,
            alone.window.high_binds,
            alone.window.datum,
        )


@settings(max_examples=40)
@given(
    size=st.tuples(st.integers(150, 1200), st.integers(400, 2300)),
    depth=st.integers(200, 700),
    stock=st.sampled_from(["case", "thick", "box"]),
    kick=st.sampled_from([None, KICK, BASE]),
    top=st.sampled_from(["stretchers", "panel"]),
    back=st.sampled_from([None, BACK, "{stock: thin, fit: planted}"]),
    shelves=st.sampled_from([[], [], [300], [250, 600]]),
    adjustable=st.sampled_from([None, "{shelves: 1}", "{shelves: 3}"]),
    extra=st.sampled_from(
        [
            {},
            {"face_frame": FRAME},
            {"drawers": DRAWERS % OVERLAY},
            {"drawers": DRAWERS % "inset, reveal: 2"},
            {"face_frame": FRAME, "drawers": "{stock: box, bottom: thin, count: 1}"},
        ]
    ),
)
def test_any_case_closes_or_is_refused(
    size: tuple[int, int],
    depth: int,
    stock: str,
    kick: str | None,
    top: str,
    back: str | None,
    shelves: list[int],
    adjustable: str | None,
    extra: dict[str, object],
) -> None:
    closed_or_refused(
        recipe(
            size=f"{size[0]} x {size[1]}",
            depth=depth,
            stock=stock,
            toe_kick=kick,
            top=top,
            back=back,
            shelves=shelves,
            adjustable=adjustable,
            **extra,
        )
    )
