"""Cutting plans: every cut replayed, every part once, bounds held by exhaustive search."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import islice, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slantbore.generators.cutting.boards import Lengths, TooLongError, plan_lengths
from slantbore.generators.cutting.sheets import (
    Part,
    Plan,
    Rect,
    SheetPlan,
    SheetSize,
    TooLargeError,
    lower_bound,
    plan_sheets,
)
from slantbore.generators.cutting.sheets import _two_stage as two_stage
from tests.bench.bench_waste import BOARDS, SHEET, drawn, naive_boards, naive_sheets

SIZE = SheetSize(2440.0, 1220.0, 3.2, 5.0)


def same(a: Rect, b: Rect) -> bool:
    pairs = zip((a.x, a.y, a.length, a.width), (b.x, b.y, b.length, b.width), strict=True)
    return all(abs(p - q) < 1e-6 for p, q in pairs)


def replay(sheet: SheetPlan) -> list[Rect]:
    """Saw a sheet cut by cut; the pieces that come off. Fails where a cut finds no such piece."""
    kerf = sheet.size.kerf
    pieces = [Rect(0.0, 0.0, sheet.size.length, sheet.size.width)]
    for cut in sheet.cuts:
        [piece] = [p for p in pieces if same(p, cut.piece)]
        pieces.remove(piece)
        if cut.along:
            assert piece.y <= cut.at < piece.y + piece.width
            parts = (
                Rect(piece.x, piece.y, piece.length, cut.at - piece.y),
                Rect(piece.x, cut.at + kerf, piece.length, piece.y + piece.width - cut.at - kerf),
            )
        else:
            assert piece.x <= cut.at < piece.x + piece.length
            parts = (
                Rect(piece.x, piece.y, cut.at - piece.x, piece.width),
                Rect(cut.at + kerf, piece.y, piece.x + piece.length - cut.at - kerf, piece.width),
            )
        pieces += [p for p in parts if min(p.length, p.width) > 1e-6]
    return pieces


def held(plan: Plan, parts: Sequence[Part]) -> None:
    laid = [one for sheet in plan.sheets for one in sheet.laid]
    assert sorted(one.part.name for one in laid) == sorted(part.name for part in parts)
    assert plan.bound <= len(plan.sheets)
    for sheet in plan.sheets:
        pieces = replay(sheet)
        for one in sheet.laid:
            sizes = (one.part.length, one.part.width)
            assert (one.rect.length, one.rect.width) == (sizes[::-1] if one.turned else sizes)
            assert one.part.turns or not one.turned
            [piece] = [p for p in pieces if same(p, one.rect)]
            pieces.remove(piece)
        for offcut in sheet.offcuts:
            [piece] = [p for p in pieces if same(p, offcut)]


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_a_plan_can_be_sawn_and_holds_every_part_once(data: st.DataObject) -> None:
    count = data.draw(st.integers(1, 14))
    sizes = st.tuples(st.integers(60, 2000), st.integers(60, 1100), st.booleans())
    drawn = data.draw(st.lists(sizes, min_size=count, max_size=count))
    parts = [Part(f"part {i}", float(a), float(b), t) for i, (a, b, t) in enumerate(drawn)]
    kerf = data.draw(st.sampled_from([0.0, 3.2, 9.525]))
    held(
        plan_sheets(
            parts, SheetSize(2440.0, 1220.0, kerf, data.draw(st.sampled_from([0.0, 12.0])))
        ),
        parts,
    )


def test_two_stages_with_whole_numbers_can_be_sawn() -> None:
    draw = random.Random(3)
    parts = [Part(f"p{i}", draw.randint(150, 1100), draw.randint(80, 600)) for i in range(16)]
    found = two_stage(parts, SIZE, 99)
    assert found is not None
    held(Plan(tuple(sheet.plan() for sheet in found), 1), parts)


def test_parts_that_tile_the_sheet_take_one() -> None:
    """Four quarters of a sheet, kerf and trim taken off, leave nothing."""
    half = ((2440 - 10 - 3.2) / 2, (1220 - 10 - 3.2) / 2)
    parts = [Part(f"quarter {i}", *half) for i in range(4)]
    plan = plan_sheets(parts, SIZE)
    assert len(plan.sheets) == plan.bound == 1
    assert not plan.sheets[0].offcuts
    assert len(plan.sheets[0].cuts) == 4 + 3  # four to trim, one lengthwise, two across
    held(plan, parts)


def test_the_bound_sees_what_areas_do_not() -> None:
    parts = [Part(f"p{i}", 1300.0, 700.0) for i in range(3)]  # no two fit on a sheet
    assert lower_bound(parts, SIZE) == 3 == len(plan_sheets(parts, SIZE).sheets)


def test_the_grain_is_kept() -> None:
    tall = Part("side", 1100.0, 2000.0)
    with pytest.raises(TooLargeError) as caught:
        plan_sheets([tall], SIZE)
    assert caught.value.part == tall
    [sheet] = plan_sheets([Part("side", 1100.0, 2000.0, turns=True)], SIZE).sheets
    assert sheet.laid[0].turned


def test_a_kerf_wider_than_the_trim_takes_more_than_the_trim() -> None:
    """8 mm of kerf for a trim of 5 mm: the first cut takes 8, the last is at the trim."""
    wide = replace(SIZE, kerf=8.0)
    largest = Part("whole", 2440.0 - 13.0, 1220.0 - 13.0)
    [sheet] = plan_sheets([largest], wide).sheets
    replay(sheet)
    with pytest.raises(TooLargeError):
        plan_sheets([replace(largest, width=largest.width + 0.5)], wide)


def partitions(items: Sequence[float]) -> Iterator[list[list[float]]]:
    if not items:
        yield []
        return
    first, *rest = items
    for some in partitions(rest):
        for i in range(len(some)):
            yield [*some[:i], [first, *some[i]], *some[i + 1 :]]
        yield [[first], *some]


def cheapest(parts: Sequence[float], lengths: Lengths) -> float:
    """Least length to buy, by trying every way to share the parts."""
    best = float("inf")
    for some in partitions(parts):
        cost = 0.0
        for group in some:
            need = sum(group) + lengths.kerf * (len(group) - 1) + 2 * lengths.trim
            cost += min((b for b in lengths.bought if b >= need - 1e-9), default=float("inf"))
        best = min(best, cost)
    return best


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.integers(200, 2300), min_size=1, max_size=7),
    st.sampled_from([(2440.0,), (2440.0, 3050.0), (1830.0, 2440.0, 3660.0)]),
)
def test_boards_are_as_few_as_an_exhaustive_search_finds(
    drawn: list[int], bought: tuple[float, ...]
) -> None:
    lengths = Lengths(bought, 3.0, 20.0)
    parts = [(f"part {i}", float(length)) for i, length in enumerate(drawn)]
    plan = plan_lengths(parts, lengths)
    best = cheapest([length for _, length in parts], lengths)
    assert plan.bound <= best + 1e-6 <= plan.bought + 2e-6
    assert plan.bought == pytest.approx(best)
    assert sorted(p for board in plan.boards for p in board.parts) == sorted(parts)
    for board in plan.boards:
        starts = board.starts(lengths)
        ends = [start + length for start, (_, length) in zip(starts, board.parts, strict=True)]
        assert starts[0] == 20.0 and ends[-1] <= board.length - 20.0 + 1e-6
        for end, start in zip(ends, starts[1:], strict=False):
            assert start - end == pytest.approx(3.0)


def test_a_part_longer_than_any_board_is_told() -> None:
    with pytest.raises(TooLongError) as caught:
        plan_lengths([("rail", 3000.0)], Lengths((2440.0,), 3.0))
    assert caught.value.part == "rail"


def test_plans_take_no_more_than_a_naive_first_fit_and_seldom_as_much() -> None:
    fewer = 0
    for panels, rails in islice(drawn(), 4):
        sheets, boards = plan_sheets(panels, SHEET), plan_lengths(rails, BOARDS)
        naive = naive_sheets(panels, SHEET), naive_boards(rails, BOARDS)
        assert sheets.bound <= len(sheets.sheets) <= naive[0]
        assert boards.bound <= boards.bought + 1e-6 <= naive[1] + 2e-6
        fewer += (len(sheets.sheets) < naive[0]) + (boards.bought < naive[1] - 1e-6)
    assert fewer >= 4


def test_the_same_parts_give_the_same_plan() -> None:
    draw = random.Random(5)
    sizes = [(draw.randint(150, 1100), draw.randint(80, 600)) for _ in range(8)]
    parts = [Part(f"p{i}", float(a), float(b)) for i, (a, b) in product(range(3), sizes)]
    parts = [Part(f"{p.name} {n}", p.length, p.width) for n, p in enumerate(parts)]
    assert plan_sheets(parts, SIZE) == plan_sheets(list(parts), SIZE)
