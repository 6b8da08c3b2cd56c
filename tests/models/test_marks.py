"""Marks that a tape finds: on the coarsest step of the ruler that a pocket's window has room for.

Steps of a ruler, common practice, no source: whole inches, then halves, quarters, eighths and
sixteenths; 10 mm, then 5 and 1.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slantbore.models.designs import designs, piece_models
from slantbore.models.maths.geometry import Vec, along, cross, dot, unit
from slantbore.models.piece.markout import mark_out, settings
from slantbore.models.piece.project import Bore, Project
from slantbore.models.placing.marks import Reading, Scale
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe, read_recipe

STEPS = {"inch": (25.4, 12.7, 6.35, 3.175, 1.5875), "mm": (10.0, 5.0, 1.0)}
RECIPES = sorted((Path(__file__).parents[2] / "recipes").glob("*.yaml"))
NEAR = 1e-5  # mm


@cache
def project(name: str) -> Project:
    for path in RECIPES:
        if path.stem == name:
            return plan(read_recipe(path, piece_models()))
    return plan(parse_recipe(designs()[name].starter, f"{name}.yaml", piece_models()))


PROJECTS = [*(path.stem for path in RECIPES), *designs()]


def line_of(found: Project, bore: Bore) -> Vec:
    """The direction in which positions grow: away from the datum."""
    board = found.board_named[bore.board]
    joint, pocket = (board.face(s).plane.normal for s in (bore.joint_face, bore.pocket_face))
    line = unit(cross(joint, pocket))
    datum = next((f for f in board.faces if f.name == bore.window.datum), None)
    if datum is None:  # the outside corner of a mitre: the long point, at the outside edge
        datum = next(f for f in board.faces if f.name == "outside edge")
    return line if dot(line, datum.plane.normal) < 0 else (-line[0], -line[1], -line[2])


def tape(found: Project, bore: Bore, position: float) -> tuple[str, float]:
    """What the tape says with the pocket at a position, and from which corner."""
    line, step = line_of(found, bore), position - bore.window.position
    mark = mark_out(found.board_named[bore.board], replace(bore, exit=along(bore.exit, line, step)))
    return f"{mark.line.side} {mark.start.side}", mark.run


def stretches(found: Project, bore: Bore) -> list[tuple[float, float]]:
    """From where to where the tape may say for a pocket, less the tolerance, by each corner."""
    tolerance = found.limits.tolerance
    low, high = bore.window.low + tolerance, bore.window.high - tolerance
    if low > high:
        return []
    (first, a), (last, b) = tape(found, bore, low), tape(found, bore, high)
    if first == last:
        return [(min(a, b), max(a, b))]
    near, far = low, high
    while far - near > 1e-9:
        middle = (near + far) / 2
        near, far = (middle, far) if tape(found, bore, middle)[0] == first else (near, middle)
    turn, other = tape(found, bore, near)[1], tape(found, bore, far)[1]
    return [(min(a, turn), max(a, turn)), (min(b, other), max(b, other))]


def on(run: float, step: float) -> bool:
    return abs(run / step - round(run / step)) * step < NEAR


def holds(low: float, high: float, step: float) -> bool:
    return math.floor(high / step + 1e-7) >= math.ceil(low / step - 1e-7)


def is_middle(found: Project, bore: Bore) -> bool:
    """Whether the pocket is as far from one corner as from the other."""
    away = [tape(found, bore, bore.window.position + off)[0] for off in (-1e-3, 1e-3)]
    return away[0] != away[1]


@pytest.mark.parametrize("name", PROJECTS)
def test_every_mark_is_on_the_coarsest_step_that_its_window_allows(name: str) -> None:
    found = project(name)
    assert found.bores
    for bore in found.bores:
        run = tape(found, bore, bore.window.position)[1]
        some = stretches(found, bore)
        for step in STEPS[found.unit]:
            if any(holds(*stretch, step) for stretch in some):
                # The middle of a joint is a mark of its own.
                middle = is_middle(found, bore) and on(run, STEPS[found.unit][-1])
                assert on(run, step) or middle, (bore.name, run, step, bore.window)
                break


@pytest.mark.parametrize("name", PROJECTS)
def test_swings_are_whole_and_stops_are_on_the_ruler(name: str) -> None:
    found = project(name)
    finest = STEPS[found.unit][-1]
    assert all(bore.swing == round(bore.swing) for bore in found.bores)
    assert all(on(setting.stop, finest) for setting in settings(found))


@pytest.mark.parametrize("name", ["book-shelf", "sink-base", "table-top", "octagon-mirror"])
def test_one_stock_is_bored_with_one_setting(name: str) -> None:
    found = project(name)
    thick = {found.board_named[bore.board].thickness for bore in found.bores}
    assert len(settings(found)) == len(thick) == 1
    assert sum(map(len, settings(found).values())) == len(found.bores)


def test_a_kitchenette_takes_three_settings() -> None:
    """Case and face frame; what ends flush with a face; the drawers' thinner boxes."""
    found = settings(project("kitchenette"))
    assert len(found) == 3 and len({round(setting.stop, 6) for setting in found}) == 2


@pytest.mark.parametrize("name", ["case", "kitchenette", "book-shelf", "drawer-box"])
def test_both_ends_of_a_board_are_marked_alike(name: str) -> None:
    found = project(name)
    ends: dict[tuple[str, str], list[float]] = {}
    for bore in found.bores:
        board = found.board_named[bore.board]
        run = mark_out(board, bore).run
        ends.setdefault((board.name, bore.joint_face), []).append(round(run, 6))
    for name in {board for board, _ in ends}:
        left, right = (ends.get((name, end)) for end in ("left end", "right end"))
        if left and right:
            assert sorted(left) == sorted(right), name


def test_a_symmetric_joint_is_marked_alike_from_either_edge() -> None:
    found = project("case")
    joint = next(j for j in found.joints if j.name.endswith("bottom to left side"))
    board = found.board_named[joint.first]
    runs = [round(mark_out(board, bore).run, 6) for bore in joint.bores]
    assert len(runs) > 2 and runs == runs[::-1]


# --- the scale by itself --------------------------------------------------------------------------


@given(
    st.floats(20.0, 2000.0), st.floats(-9.0, 40.0), st.sampled_from(["inch", "mm"]),
    st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0),
)  # fmt: skip
def test_the_nearest_mark_on_the_coarsest_step(
    length: float, start: float, unit: str, a: float, b: float, wish: float
) -> None:
    """Both corners at the ends of a joint, or beyond them: against looking at every mark."""
    far = length + 2 * start
    turn = (far - 2 * start) / 2
    scale = Scale(
        STEPS[unit], (Reading(0.0, turn, start, 1.0), Reading(turn, length, far - start, -1.0))
    )
    low, high = sorted((a * length, b * length))
    wished = wish * length
    place = scale.nearest(wished, low, high)
    assert low <= place <= high
    if abs(wished - turn) < 1e-6:
        return
    for step in STEPS[unit]:
        runs = [number * step for number in range(-60, 2 + int(far / step))]
        # What is off by less than a millionth counts as there.
        marks = [run - start for run in runs if run - start <= turn + 1e-6]
        marks += [far - start - run for run in runs if far - start - run >= turn - 1e-6]
        marks = [mark for mark in marks if low - 1e-6 <= mark <= high + 1e-6]
        if marks:
            nearest = min(abs(mark - wished) for mark in marks)
            assert abs(place - wished) == pytest.approx(nearest, abs=1e-4)
            return
    assert place == pytest.approx(min(max(wished, low), high), abs=1e-5)
