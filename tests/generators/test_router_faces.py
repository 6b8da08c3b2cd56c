"""Boards that a router works on from both faces: two programs, a stated turn, holes for pins."""

from __future__ import annotations

import io
from pathlib import Path

import ezdxf.filemanagement
import pytest
from shapely.geometry import Point

from slantbore.generators.cutting.nesting import both_faces
from slantbore.generators.router.layout import dxf
from slantbore.generators.router.moves import text
from slantbore.generators.router.routing import Routing, route
from slantbore.generators.router.setup import REGISTRATION, Setup
from slantbore.models.designs import piece_models
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe
from slantbore.models.wood.cutters import router_of

DRAWER = Path(__file__).parents[2] / "recipes" / "drawer.yaml"
Made = tuple[Project, Routing]


@pytest.fixture(scope="module")
def made() -> Made:
    project = plan(read_recipe(DRAWER, piece_models()))
    return project, route(project)


@pytest.fixture(scope="module")
def pairs(made: Made) -> list[tuple[Setup, Setup]]:
    """Last face and first face of every board that is turned over."""
    return [(faces[0], faces[1]) for faces in made[1].boards.values() if len(faces) == 2]


def holes(setup: Setup) -> list[tuple[float, float, float]]:
    """Centres in the stock, and the diameter, of the registration holes (mm)."""
    found = [one for one in setup.operations if one.kind == REGISTRATION]
    return [
        (round(one.shape.centroid.x + setup.margin[0], 6),
         round(one.shape.centroid.y + setup.margin[1], 6), one.diameter)
        for one in found
    ]  # fmt: skip


def test_front_and_back_of_a_drawer_are_turned_over(made: Made) -> None:
    """Grooves on the inside, pockets on the outside; the sides have a groove alone."""
    project, routing = made
    turned = {name for name, faces in routing.boards.items() if faces[0].turning}
    assert turned == {"drawer front", "drawer back"}
    assert turned == {board.name for board in project.boards if both_faces(project, board)}


def test_the_holes_lie_where_they_lay_once_the_stock_is_turned(
    pairs: list[tuple[Setup, Setup]],
) -> None:
    assert pairs
    for last, first in pairs:
        there = holes(first)
        assert len(there) == 2 and there == holes(last)
        wide, deep, _ = first.stock
        assert first.stock == last.stock
        for x, y, diameter in there:
            assert y == pytest.approx(deep / 2)  # on the line that it is turned about
            assert diameter / 2 + 5 < x < wide - diameter / 2 - 5
        assert there[0][0] + there[1][0] == pytest.approx(wide)
        # Turned over front to back, every place of the board is where the other program has it.
        board = first.lying.board
        for point in ((0.0, 0.0, 0.0), (board.length, board.width, 0.0), (30.0, 17.0, 4.0)):
            a, b = (setup.lying.at(point) for setup in (first, last))
            assert b[0] == pytest.approx(a[0]) and b[1] == pytest.approx(board.width - a[1])
            assert b[2] == pytest.approx(-board.thickness - a[2])


def test_no_cut_comes_near_a_pin(made: Made, pairs: list[tuple[Setup, Setup]]) -> None:
    for last, first in pairs:
        pins = [Point(x, y).buffer(diameter / 2) for x, y, diameter in holes(last)]
        for run in made[1].single:
            if run.laid[0][0] not in (last, first):
                continue
            for one in run.program.passes:
                if one.about == REGISTRATION:
                    continue
                for move in one.moves:
                    if move.to[2] < 0:
                        near = min(Point(move.to[:2]).distance(pin) for pin in pins)
                        assert near > one.cutter.radius + 3.0


def test_one_program_drills_them_through_and_both_say_what_to_do(
    made: Made, pairs: list[tuple[Setup, Setup]]
) -> None:
    _, routing = made
    machine = router_of(made[0]).machine
    by_setup = {id(run.laid[0][0]): run for run in routing.single}
    for last, first in pairs:
        before, after = by_setup[id(first)], by_setup[id(last)]
        assert not before.proof.faults and not after.proof.faults
        drilled = [one for one in before.program.passes if one.about == REGISTRATION]
        assert len(drilled) == 2
        low = min(move.to[2] for one in drilled for move in one.moves)
        assert low == pytest.approx(-first.stock[2] - machine.spoil)
        assert not [one for one in after.program.passes if one.about == REGISTRATION]
        assert any(one.about == "outline" for one in after.program.passes)
        assert not any(one.about == "outline" for one in before.program.passes)
        for run in (before, after):
            said = text(run.program, machine, "mm")
            assert f"{first.face} up first" in said and "front to back" in said
            assert "pins of" in said
            assert "drilled from the other face" not in said  # nothing for the hand


def test_drawings_show_them_on_a_layer_of_their_own(
    made: Made, pairs: list[tuple[Setup, Setup]]
) -> None:
    for run in made[1].single:
        [(setup, _)] = run.laid
        document = ezdxf.filemanagement.read(io.StringIO(dxf(run.laid, run.program.size[:2])))
        there = document.modelspace().query("CIRCLE[layer=='registration_hole_through']")
        assert len(there) == (2 if any(setup in pair for pair in pairs) else 0)


def test_their_blanks_are_cut_out_of_the_sheet(made: Made) -> None:
    """Once both faces are done the board is cut free of its blank, by its own program."""
    project, routing = made
    nested = {s.lying.board.name: s for run in routing.sheets for s, _ in run.laid}
    assert {"drawer front blank", "drawer back blank", "drawer left side"} <= set(nested)
    for name in ("drawer front", "drawer back"):
        own = routing.boards[name][0]
        assert nested[f"{name} blank"].lying.size == pytest.approx(own.stock)
        [cut] = nested[f"{name} blank"].operations
        assert cut.kind == "outline" and cut.cutter is not None
    assert len(nested) == sum(board.stock.kind == "sheet" for board in project.boards)
