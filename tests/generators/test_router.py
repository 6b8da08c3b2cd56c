"""Router programs: proven by simulation, refuted where they are spoiled, read by other programs."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf.filemanagement
import numpy as np
import pytest
from shapely.geometry import Polygon, box

from slantbore.generators.cutting.sheets import Part, SheetSize, plan_sheets
from slantbore.generators.router.findings import routing_findings
from slantbore.generators.router.layout import dxf, layer
from slantbore.generators.router.lists import operations
from slantbore.generators.router.moves import Move, Pass, Program, text
from slantbore.generators.router.operations import roof
from slantbore.generators.router.paths import TooLarge, bored, cleared, levels, outline, ramped
from slantbore.generators.router.proving import proven
from slantbore.generators.router.routing import Routing, route
from slantbore.generators.router.setup import program, setups
from slantbore.generators.router.simulate import Stock, run, swept
from slantbore.generators.solids.solids import bored_solid, laid, unbored_solid
from slantbore.generators.writers.router import placing
from slantbore.models.designs import piece_models
from slantbore.models.machine.router import Cutter, Router
from slantbore.models.piece.bored import bores_in
from slantbore.models.piece.lie import Lying
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe
from slantbore.models.wood.cutters import usual_cutters

RECIPES = Path(__file__).parents[2] / "recipes"
CUTTERS = {cutter.number: cutter for cutter in usual_cutters()}
ROUTER = Router(usual_cutters())
MACHINE = ROUTER.machine


def planned(name: str) -> Project:
    return plan(read_recipe(RECIPES / f"{name}.yaml", piece_models()))


@pytest.fixture(scope="module", params=["washroom-mirror", "sink-base"])
def routed(request: pytest.FixtureRequest) -> tuple[Project, Routing]:
    project = planned(request.param)
    return project, route(project)


def test_every_program_is_proven(routed: tuple[Project, Routing]) -> None:
    project, routing = routed
    assert routing.runs
    for one in routing.runs:
        assert not one.proof.faults
        assert one.proof.gouge <= 0.1
        assert one.proof.left < 1.0
    found = routing_findings(project, routing)
    assert not [finding for finding in found if finding.severity == "fails"]
    nested = [s.lying.board.name for one in routing.sheets for s, _ in one.laid]
    sheets = [board.name for board in project.boards if board.stock.kind == "sheet"]
    assert sorted(nested) == sorted(sheets)


# --- seeded faults -------------------------------------------------------------------------------


def mirror() -> tuple[Project, Program, Any]:
    project = planned("washroom-mirror")
    setup = setups(project, project.boards[0], ROUTER)[0]
    made = program(setup)
    assert made is not None
    return project, made, setup


def spoiled(made: Program, change: Any) -> Program:
    return replace(made, passes=tuple(change(one) for one in made.passes))


def whats(made: Program, setup: Any) -> set[str]:
    proof = proven(made, ((setup, setup.margin),), MACHINE)
    return {fault.what for _, fault in proof.faults}


def test_a_good_program_has_no_fault() -> None:
    _, made, setup = mirror()
    assert whats(made, setup) == set()


def test_an_overrun_is_seen() -> None:
    """A groove that runs 2 mm further than it should."""
    _, made, setup = mirror()

    def wider(one: Pass) -> Pass:
        if one.about != "rebate":
            return one
        moves = (replace(m, to=(m.to[0], m.to[1] + 2.0, m.to[2])) for m in one.moves)
        return replace(one, moves=tuple(moves))

    assert "cuts into wood that should stay" in whats(spoiled(made, wider), setup)


def test_a_cutter_of_another_radius_is_seen() -> None:
    _, made, setup = mirror()

    def thicker(one: Pass) -> Pass:
        if one.about != "rebate":
            return one
        return replace(one, cutter=replace(one.cutter, radius=one.cutter.radius + 1.0))

    assert "cuts into wood that should stay" in whats(spoiled(made, thicker), setup)


def test_a_missing_pass_is_seen() -> None:
    _, made, setup = mirror()

    def at_once(one: Pass) -> Pass:
        if one.about != "rebate":
            return one
        low = min(m.to[2] for m in one.moves)
        moves = (
            m if m.kind == "rapid" else replace(m, to=(m.to[0], m.to[1], low)) for m in one.moves
        )
        return replace(one, moves=tuple(moves))

    assert "cuts deeper than its pass" in whats(spoiled(made, at_once), setup)


def test_a_wrong_face_up_is_seen() -> None:
    project, made, setup = mirror()
    wrong = replace(setup, lying=Lying(project.boards[0], "top face"))
    assert "cuts into wood that should stay" in whats(made, wrong)


def test_a_mirrored_board_is_seen() -> None:
    """The washroom mirror's rail is its own mirror image; a case's side with a notch is not."""
    project = planned("sink-base")
    sides = [board for board in project.boards if board.role in ("left side", "right side")]
    setup = setups(project, sides[0], ROUTER)[0]
    made = program(setup)
    assert made is not None
    wide = made.size[0]

    def flipped(one: Pass) -> Pass:
        moves = (replace(m, to=(wide - m.to[0], m.to[1], m.to[2])) for m in one.moves)
        return replace(one, moves=tuple(moves))

    assert whats(made, setup) == set()
    assert "cuts into wood that should stay" in whats(spoiled(made, flipped), setup)


def test_a_rapid_move_through_wood_is_seen() -> None:
    _, made, setup = mirror()

    def hasty(one: Pass) -> Pass:
        return replace(one, moves=tuple(replace(m, kind="rapid") for m in one.moves))

    assert "moves at rapid through wood" in whats(spoiled(made, hasty), setup)


def test_a_plunge_of_a_cutter_with_no_centre_is_seen() -> None:
    cutter = replace(CUTTERS[1], centre=False)
    moves = (Move((50.0, 50.0, 15.0), "rapid"), Move((50.0, 50.0, -3.0), "plunge"))
    made = Program("plunge", (100.0, 100.0, 18.0), (Pass("hole", cutter, moves),))
    stock = run(made, Stock.of(made.size, 0.5), MACHINE)
    assert {fault.what for fault in stock.faults} == {"goes straight down and does not cut there"}


def test_a_cut_too_deep_into_the_spoil_board_is_seen() -> None:
    _, made, setup = mirror()

    def deeper(one: Pass) -> Pass:
        if one.about != "outline":
            return one
        moves = (replace(m, to=(*m.to[:2], m.to[2] - 0.2)) for m in one.moves)
        return replace(one, moves=tuple(moves))

    assert "goes too deep into the spoil board" in whats(spoiled(made, deeper), setup)


def test_a_cut_that_runs_out_of_the_stock_is_seen() -> None:
    _, made, setup = mirror()

    def aside(one: Pass) -> Pass:
        moves = (replace(m, to=(m.to[0] - 20.0, *m.to[1:])) for m in one.moves)
        return replace(one, moves=tuple(moves)) if one.about == "outline" else one

    assert "runs out of the stock" in whats(spoiled(made, aside), setup)


# --- the map of heights --------------------------------------------------------------------------


@pytest.mark.parametrize("number", [1, 3])
def test_swept_moves_are_what_stamped_ones_leave(number: int) -> None:
    """The closed form of a straight move against the cutter set down at a thousand places."""
    cutter = CUTTERS[number]
    x, y = np.meshgrid(np.linspace(-8, 40, 97), np.linspace(-8, 20, 57), indexing="ij")
    for start, end in (
        ((0, 0, -1), (30, 8, -6)),
        ((0, 0, -6), (25, 0, -6)),
        ((3, 3, 0), (3, 3, -5)),
    ):
        a, b = np.array(start, float), np.array(end, float)
        once = swept(tuple(a), tuple(b), cutter, x, y)
        best = np.full(x.shape, np.inf)
        for share in np.linspace(0, 1, 1001):
            p = tuple(a + (b - a) * share)
            best = np.minimum(best, swept(p, p, cutter, x, y))
        both = np.isfinite(once) & np.isfinite(best)
        assert (np.abs(once[both] - best[both]) < 0.02).mean() > 0.99
        assert (once[both] <= best[both] + 1e-9).all()


def test_a_slots_floor_is_the_bores() -> None:
    """A ball as large as the bore leaves the lower half of the bore itself."""
    _, made, setup = mirror()
    slot = next(o.slot for o in setup.operations if o.slot is not None)
    cutter = CUTTERS[3]
    size = (600.0, 100.0, 19.05)
    moves = tuple(ramped(slot, cutter, MACHINE))
    stock = run(
        Program("slot", size, (Pass("slot", cutter, moves),)), Stock.of(size, 0.25), MACHINE
    )
    bx, by, bz = slot.back
    flat = math.hypot(bx, by)
    for place in np.linspace(slot.shoulder + slot.radius + 0.5, slot.depth / bz - 1.0, 7):
        x, y = slot.exit[0] + place * bx, slot.exit[1] + place * by
        # Below the axis, square to it: the place on the map lies a little further back.
        x, y = x + slot.radius * bz * bx / flat, y + slot.radius * bz * by / flat
        wanted = -slot.depth + place * bz - slot.radius * flat
        i, j = np.unravel_index(np.hypot(stock.x - x, stock.y - y).argmin(), stock.x.shape)
        assert stock.heights[i, j] == pytest.approx(wanted, abs=0.12)


def test_wood_lost_above_a_bore_grows_with_thickness() -> None:
    """Volumes of the part that a cutter from above cannot spare, against a fine sum of prisms."""
    _, _, setup = mirror()
    board = setup.lying.board
    project = planned("washroom-mirror")
    bore = bores_in(project, board)[0]
    lost = roof(setup.lying, bore)
    solid = bored_solid(project, board)
    assert solid.isValid()
    assert 0.0 < lost < 60.0  # 3/4 in stock: some 20 mm3


# --- paths ---------------------------------------------------------------------------------------


def test_passes_are_even_and_no_deeper_than_the_cutter_may() -> None:
    cutter = CUTTERS[1]
    found = levels(9.525, cutter)
    assert found[-1] == pytest.approx(-9.525)
    steps = np.diff([0.0, *found])
    assert np.allclose(steps, steps[0]) and -steps[0] <= cutter.step_down


def test_a_groove_as_wide_as_the_cutter_is_one_pass_along_its_middle() -> None:
    cutter = CUTTERS[1]
    moves = list(cleared(box(0, 0, 100, 6.35), 3.0, cutter, MACHINE))
    assert all(abs(m.to[1] - 3.175) < 0.01 for m in moves)


def test_a_cutter_too_wide_is_refused_with_the_room() -> None:
    with pytest.raises(TooLarge) as caught:
        list(cleared(box(0, 0, 100, 4.0), 3.0, CUTTERS[1], MACHINE))
    assert caught.value.room == pytest.approx(4.0, abs=0.2)
    with pytest.raises(TooLarge):
        list(bored((0.0, 0.0), 2.0, 5.0, CUTTERS[1], MACHINE))


def test_tabs_hold_a_part_to_the_last() -> None:
    shape, thick = box(0, 0, 200, 100), 18.0
    cutter = CUTTERS[1]
    moves = tuple(outline(shape, thick, cutter, MACHINE))
    size = (240.0, 140.0, thick)
    shifted = tuple(replace(m, to=(m.to[0] + 20, m.to[1] + 20, m.to[2])) for m in moves)
    stock = run(
        Program("part", size, (Pass("outline", cutter, shifted),)),
        Stock.of(size, 0.5),
        MACHINE,
    )
    ring = stock.heights[33:36, :].max()  # through the cut on the left
    assert ring > -thick + 1.5  # somewhere a tab stands
    assert stock.heights.min() == pytest.approx(-thick - MACHINE.spoil)
    assert not stock.faults


def test_the_cutter_climbs() -> None:
    """Counter-clockwise inside, clockwise outside."""
    inside = [m.to[:2] for m in cleared(box(0, 0, 60, 40), 2.0, CUTTERS[1], MACHINE)][-5:-1]
    around = [m.to[:2] for m in outline(box(0, 0, 60, 40), 2.0, CUTTERS[1], MACHINE, 0)]
    assert Polygon(inside).exterior.is_ccw
    assert not Polygon(around[-6:-2]).exterior.is_ccw


# --- files ---------------------------------------------------------------------------------------


def test_a_program_says_units_modes_and_ends(routed: tuple[Project, Routing]) -> None:
    _, routing = routed
    for unit, word in (("inch", "G20"), ("mm", "G21")):
        lines = text(routing.single[0].program, MACHINE, unit).splitlines()  # type: ignore[arg-type]
        assert word in lines and lines[-1] == "M30" and lines[-2] == "M5"
        assert lines.index("G90 G17 G94 G40 G49 G80 G54") < min(
            i for i, line in enumerate(lines) if line.startswith(("G0 ", "G1 "))
        )
        assert all(line.isascii() for line in lines)
        first = next(i for i, line in enumerate(lines) if line.startswith("G1"))
        started = [i for i, line in enumerate(lines) if line.endswith("M3")]
        assert started and started[0] < first
        assert any("common practice" in line for line in lines)


def test_blanks_have_their_box_and_their_face_up(routed: tuple[Project, Routing]) -> None:
    _, routing = routed
    for faces in routing.boards.values():
        for setup in faces:
            solid = laid(unbored_solid(setup.lying.board), placing(setup, MACHINE))
            there = solid.BoundingBox()
            wide, deep, thick = setup.lying.size
            x, y = setup.margin  # zero is the program's
            assert (there.xmin, there.ymin, there.zmax) == pytest.approx((x, y, 0), abs=1e-6)
            assert (there.xmax, there.ymax, -there.zmin) == pytest.approx(
                (x + wide, y + deep, thick), abs=1e-6
            )
            solid = laid(
                unbored_solid(setup.lying.board),
                placing(setup, replace(MACHINE, zero="spoil board")),
            )
            assert solid.BoundingBox().zmin == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("version", ["R2000", "R12"])
def test_drawings_audit_clean_with_a_layer_for_each_depth(
    routed: tuple[Project, Routing], version: Any
) -> None:
    _, routing = routed
    for one in routing.single:
        data = dxf(one.laid, one.program.size[:2], version)
        assert data == dxf(one.laid, one.program.size[:2], version)
        document = ezdxf.filemanagement.read(io.StringIO(data))
        audit = document.audit()
        assert not audit.errors and not audit.fixes
        space: Any = document.modelspace()
        for setup, _ in one.laid:
            for operation in setup.operations:
                drawn = list(
                    space.query(f"LWPOLYLINE POLYLINE CIRCLE[layer=='{layer(operation)}']")
                )
                assert drawn
        kinds = {e.dxftype() for e in space if not e.dxf.layer.startswith("not_cut")}
        assert kinds <= {"LWPOLYLINE", "POLYLINE", "CIRCLE"}
        if version == "R2000":
            [shape] = [
                Polygon(e.get_points("xy"))
                for e in space.query("LWPOLYLINE[layer=='outline_through']")
            ]
            [(setup, _)] = one.laid
            assert shape.area == pytest.approx(Polygon(setup.lying.outline).area, rel=1e-9)


def test_operations_tell_sizes_as_the_board_lies(routed: tuple[Project, Routing]) -> None:
    project, routing = routed
    rows = list(operations(project, routing))
    assert {row.operation.kind for row in rows} >= {"pocket", "outline"}
    for row in rows:
        assert row.operation.cutter is not None or row.operation.left


def test_nested_parts_keep_a_cutters_width(routed: tuple[Project, Routing]) -> None:
    _, routing = routed
    widest = max(2 * c.radius for c in usual_cutters() if c.form == "flat")
    for one in routing.sheets:
        boxes = [box(x, y, x + s.lying.size[0], y + s.lying.size[1]) for s, (x, y) in one.laid]
        for i, a in enumerate(boxes):
            for b in boxes[i + 1 :]:
                assert a.distance(b) >= widest + 1.9


def test_the_cutters_of_the_table_are_sound() -> None:
    for number, cutter in CUTTERS.items():
        assert isinstance(cutter, Cutter) and cutter.number == number
        assert cutter.feed > 0 and cutter.plunge > 0 and cutter.speed > 0
        assert 0 < cutter.step_down <= cutter.cut


def test_a_sheet_plan_serves_both_saw_and_router() -> None:
    plan_ = plan_sheets([Part("a", 500.0, 300.0)], SheetSize(2440.0, 1220.0, 8.35, 12.0))
    assert plan_.sheets[0].laid[0].rect.x == pytest.approx(12.0)


def test_no_cutter_is_changed_to_twice(routed: tuple[Project, Routing]) -> None:
    """The one that cuts the part free does its other work just before."""
    changed = [one.program.cutters for one in routed[1].runs]
    assert max(map(len, changed)) > 1
    for cutters in changed:
        assert len(set(cutters)) == len(cutters)
