"""Boards that are turned are alike, boards that are mirrored are a pair."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slantbore.generators.telling.cut_list import rows
from slantbore.models.designs import piece_models
from slantbore.models.maths.geometry import Plane, Pose, Vec, dot
from slantbore.models.piece.board import LEFT, RIGHT, SIDES, TOP, Board, Hole
from slantbore.models.piece.pairs import hands, like_boards
from slantbore.models.piece.project import Bore, Joint, PocketId, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from tests.boards import Stated, blank, cut

from . import small

LENGTH, WIDTH = 300.0, 60.0


def board(name: str, **keys: object) -> Board:
    return blank(name, "p", name, small.OAK, LENGTH, WIDTH, **keys)  # type: ignore[arg-type]


def flipped(one: Board, name: str, signs: tuple[int, int, int]) -> Board:
    """The board turned or mirrored about its middle, as another board in its own frame."""
    size = (one.length, one.width, one.thickness)

    def way(v: Vec) -> Vec:
        x, y, z = (s * c for s, c in zip(signs, v, strict=True))
        return (x, y, z)

    def place(p: Vec) -> Vec:
        x, y, z = (c if s > 0 else t - c for s, c, t in zip(signs, p, size, strict=True))
        return (x, y, z)

    def plane(p: Plane) -> Plane:
        less = sum(n * t for s, n, t in zip(signs, p.normal, size, strict=True) if s < 0)
        return Plane(way(p.normal), p.offset - less)

    square = board("square").by_side
    sides = {
        max(SIDES, key=lambda side: dot(normal, square[side].plane.normal)): normal
        for normal in (way(f.plane.normal) for f in one.faces)
    }
    cuts = tuple(
        replace(c, faces=tuple(replace(f, plane=plane(f.plane)) for f in c.faces)) for c in one.cuts
    )
    holes = tuple(replace(h, mouth=place(h.mouth), inward=way(h.inward)) for h in one.holes)
    return replace(one, name=name, role=name, work=(Stated((*cuts, *holes), sides),))


def project(*boards: Board, bores: tuple[Bore, ...] = ()) -> Project:
    joints = (Joint("j", "butt", "a", RIGHT, "z", TOP, bores),) if bores else ()
    return Project("p", "mm", boards, joints)


ONE_HOLE = board("a", holes=(Hole("pin", (50.0, 20.0, small.T), (0.0, 0.0, -1.0), 2.5, 10.0),))
MITRED = board("a", left_mitre=40.0)
GROOVED = board("a", cuts=(cut("groove", {"wall": ((0, 1, 0), 20.0),
                "other": ((0, -1, 0), -14.0), "floor": ((0, 0, -1), -13.0)}),))  # fmt: skip


@pytest.mark.parametrize("one", [ONE_HOLE, MITRED, GROOVED], ids=["hole", "mitre", "groove"])
@pytest.mark.parametrize("signs", list(product((1, -1), repeat=3)))
def test_turning_keeps_a_board_and_mirroring_makes_its_pair(
    one: Board, signs: tuple[int, int, int]
) -> None:
    other = flipped(one, "b", signs)
    two = project(one, other)
    turned = signs[0] * signs[1] * signs[2] > 0
    # One hole off all middles has no mirror image in itself; a mitre and a groove have.
    alike = turned or one is not ONE_HOLE
    assert len(like_boards(two)) == (1 if alike else 2)
    assert sorted(h for h in hands(two).values() if h) == ([] if alike else ["left", "right"])


def test_the_left_one_lies_left() -> None:
    mirrored = flipped(ONE_HOLE, "b", (-1, 1, 1))
    here, there = Pose((500.0, 0.0, 0.0)), Pose()
    assert hands(project(ONE_HOLE.placed(here), mirrored.placed(there))) == {
        "a": "right",
        "b": "left",
    }
    assert hands(project(ONE_HOLE.placed(there), mirrored.placed(here))) == {
        "a": "left",
        "b": "right",
    }
    said = replace(ONE_HOLE, hand="right")
    assert hands(project(said, board("c")))["a"] == "right"


def test_bores_and_stock_tell_boards_apart() -> None:
    one, two = board("a"), board("b")
    mate = blank("z", "p", "z", small.OAK, 500.0, 90.0)
    assert len(like_boards(project(one, two, mate))) == 2
    bore = small.bore(PocketId("j"), one, RIGHT, (LENGTH, 20.0, small.T / 2), "z", TOP)
    assert len(like_boards(project(one, two, mate, bores=(bore,)))) == 3
    # The same bore seen in the board turned end for end, and upside down.
    again = small.bore(PocketId("k"), two, LEFT, (0.0, WIDTH - 20.0, small.T / 2), "z", TOP)
    assert len(like_boards(project(one, two, mate, bores=(bore, again)))) == 2
    pair = small.bore(PocketId("k"), two, LEFT, (0.0, 20.0, small.T / 2), "z", TOP)
    paired = project(one, two, mate, bores=(bore, pair))
    assert len(like_boards(paired)) == 3
    assert {h for h in hands(paired).values() if h} == {"left", "right"}
    other = replace(one, name="b", stock=small.PINE)
    assert len(like_boards(project(one, other))) == 2


def test_a_square_leg_may_be_turned_about_its_length() -> None:
    leg = blank("a", "p", "leg", replace(small.OAK, thickness=40.0), 700.0, 40.0)
    first, second = (
        Stated((cut("r", {"wall": (one, -30.0), "floor": (other, -25.0)}),))
        for one, other in (((0, 0, -1), (0, -1, 0)), ((0, -1, 0), (0, 0, -1)))
    )
    leg, turned = replace(leg, work=(first,)), replace(leg, name="b", work=(second,))
    assert len(like_boards(project(leg, turned))) == 1
    flat = replace(leg, width=50.0, name="c")
    assert len(like_boards(project(leg, flat))) == 2


@given(st.lists(st.tuples(*[st.sampled_from((1, -1))] * 3), min_size=1, max_size=6))
def test_counts_stay(signs: list[tuple[int, int, int]]) -> None:
    boards = [ONE_HOLE, *(flipped(ONE_HOLE, f"b{i}", s) for i, s in enumerate(signs))]
    found = like_boards(project(*boards))
    assert sorted(b.name for row in found for b in row) == sorted(b.name for b in boards)
    odd = sum(s[0] * s[1] * s[2] < 0 for s in signs)
    assert sorted(map(len, found)) == sorted(n for n in (odd, len(boards) - odd) if n)


def test_two_sides_with_a_mirrored_groove_are_left_and_right() -> None:
    """Found without a word from the recipe."""
    text = """\
name: pair
units: mm
stock:
  ply: {sheet: birch-ply-18}
build:
  - design: free-form
    name: pair
    parts:
      base: {stock: ply, length: 600, width: 300, seen: {bottom face: concealed}}
      west: {stock: ply, length: 300, width: 200, seen: {bottom face: concealed},
        grooves: [{edge: front edge, face: bottom face, distance: 40, width: 6, depth: 5},
                  {edge: right end, face: bottom face, distance: 20, width: 6, depth: 5}]}
      east: {like: west,
        grooves: [{edge: front edge, face: bottom face, distance: 40, width: 6, depth: 5},
                  {edge: left end, face: bottom face, distance: 20, width: 6, depth: 5}]}
    joints:
      - {kind: edge, board: west / front edge, meets: base / top face, pockets_in: bottom face,
         flush: [{face: right end, to: front edge}, {face: top face, to: left end}]}
      - {kind: edge, board: east / front edge, meets: base / top face, pockets_in: bottom face,
         flush: [{face: left end, to: front edge}, {face: top face, to: right end}]}
"""
    found = plan(parse_recipe(text, "pair.yaml", piece_models()))
    said = hands(found)
    assert said == {"pair base": "", "pair west": "left", "pair east": "right"}
    told = {row.first.role: (len(row.boards), row.hand) for row in rows(found)}
    assert told == {"base": (1, ""), "west": (1, "left"), "east": (1, "right")}
    # What can be turned over into the other serves on either side, whatever the design calls it.
    first, *others = found.boards
    called = (first, *(replace(first, name=h, hand=h) for h in ("left", "right")), *others)
    base, *_ = rows(replace(found, boards=called))
    assert (len(base.boards), base.hand) == (3, "")
