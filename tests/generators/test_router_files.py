"""Router files read back: axes from STEP, areas from drawings against the solid's own faces."""

from __future__ import annotations

import io
import math
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf.filemanagement
import numpy as np
import pytest
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.GeomAbs import GeomAbs_Cylinder, GeomAbs_Plane
from shapely import intersection
from shapely.geometry import Point, Polygon
from shapely.ops import unary_union

from slantbore.generators.drawing.colours import stock_colour
from slantbore.generators.router.layout import dxf, layer
from slantbore.generators.router.lists import operations, vectors
from slantbore.generators.router.operations import CHORD
from slantbore.generators.router.routing import Routing, Run, route
from slantbore.generators.solids.kernel import cq
from slantbore.generators.solids.solids import bored_solid, laid, unbored_solid
from slantbore.generators.solids.step import Part, write_part
from slantbore.generators.writers.router import placing
from slantbore.models.designs import piece_models
from slantbore.models.machine.router import Machine
from slantbore.models.maths.geometry import dot
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe, read_recipe

RECIPES = Path(__file__).parents[2] / "recipes"


@pytest.fixture(scope="module", params=["washroom-mirror", "sink-base", "drawer"])
def made(request: pytest.FixtureRequest) -> tuple[Project, Routing]:
    project = plan(read_recipe(RECIPES / f"{request.param}.yaml", piece_models()))
    return project, route(project)


def test_drill_vectors_are_the_axes_of_the_cylinders_in_the_step_file(
    made: tuple[Project, Routing], tmp_path: Path
) -> None:
    """Written, read by the kernel's own reader, and every step of every bore found in it."""
    project, routing = made
    found: dict[str, list[Any]] = {}
    for board in project.boards:
        path = tmp_path / "part.step"
        write_part(path, Part(board.name, bored_solid(project, board), stock_colour(board.stock)))
        read: Any = cq.importers.importStep(str(path))
        for face in read.faces().vals():
            surface = BRepAdaptor_Surface(face.wrapped)
            if surface.GetType() == GeomAbs_Cylinder:
                axis, radius = surface.Cylinder().Axis(), surface.Cylinder().Radius()
                at, way = axis.Location(), axis.Direction()
                point = np.array([at.X(), at.Y(), at.Z()])
                direction = np.array([way.X(), way.Y(), way.Z()])
                found.setdefault(board.name, []).append((point, direction, radius))
    rows = list(vectors(project, routing))
    assert len(rows) == 2 * len(project.bores) > 0
    for row in rows:
        entry, into = np.array(row.entry), np.array(row.into)
        off = min(
            np.linalg.norm(np.cross(entry - point, direction))
            + np.linalg.norm(np.cross(into, direction))
            for point, direction, radius in found[row.board.name]
            if abs(2 * radius - row.diameter) < 1e-6
        )
        assert off < 1e-6
        assert dot(row.board.face(row.bore.pocket_face).plane.normal, row.into) < 0


def drawn(run: Run) -> tuple[Any, dict[str, list[Polygon]]]:
    """The drawing of one board, and its closed shapes by layer, zero at the board's corner."""
    document = ezdxf.filemanagement.read(io.StringIO(dxf(run.laid, run.program.size[:2])))
    [(_, (x, y))] = run.laid
    shapes: dict[str, list[Polygon]] = {}
    space: Any = document.modelspace()
    for one in space:
        if one.dxftype() == "CIRCLE":
            centre = Point(one.dxf.center.x - x, one.dxf.center.y - y)
            # As large as the circle, whatever the sides.
            sides = 4 * 256
            swell = math.sqrt(math.pi / (sides / 2 * math.sin(2 * math.pi / sides)))
            shape = centre.buffer(one.dxf.radius * swell, quad_segs=256)
        elif one.dxftype() == "LWPOLYLINE":
            shape = Polygon([(a - x, b - y) for a, b in one.get_points("xy")])
        else:
            continue
        shapes.setdefault(one.dxf.layer, []).append(shape)
    return document, shapes


def depth_of(layer: str) -> float:
    """What a layer's name says, infinite for one that goes through (mm)."""
    if layer.endswith("_through"):
        return math.inf
    whole, hundredths, unit = layer.split("_")[-3:]
    assert unit == "mm"
    return float(f"{whole}.{hundredths}")


def faces_up(run: Run) -> dict[float, float]:
    """Areas of the undrilled solid's faces that look up, by their depth below the top (mm2)."""
    [(setup, _)] = run.laid
    solid = laid(unbored_solid(setup.lying.board), placing(setup, Machine()))
    areas: dict[float, float] = {}
    for face in solid.Faces():
        if BRepAdaptor_Surface(face.wrapped).GetType() == GeomAbs_Plane:
            if face.normalAt().z > 1 - 1e-9:
                depth = round(-face.Center().z, 4) + 0.0
                areas[depth] = areas.get(depth, 0.0) + face.Area()
    return areas


def test_areas_in_the_drawing_are_those_of_the_solids_faces(
    made: tuple[Project, Routing],
) -> None:
    """Of the face that lies up, and of the floor at every depth; what goes deeper is taken off.

    Circles count as circles; polygons are exact: the boards here have no curved outline.
    """
    looked_at: set[str] = set()
    for run in made[1].single:
        _, shapes = drawn(run)
        [(setup, _)] = run.laid
        outline = Polygon(setup.lying.outline)
        if "outline_through" in shapes:
            assert shapes["outline_through"][0].area == pytest.approx(outline.area, rel=1e-9)
        cut = {
            layer: some
            for layer, some in shapes.items()
            if not layer.startswith(("not_cut", "outline", "pocket", "registration"))
        }
        areas = faces_up(run)
        elsewhere = [face for face in made[1].boards[setup.lying.board.name] if face is not setup]
        if any(one.through and one.kind != "outline" for face in elsewhere for one in face.routed):
            continue  # what goes through is drawn with the other face
        for depth in (0.0, *{depth_of(k) for k in cut} - {math.inf}):
            here = [shape for k in cut if depth_of(k) == depth for shape in cut[k]]
            deeper = [shape for k in cut if depth_of(k) > depth for shape in cut[k]]
            left = intersection(outline, unary_union(here), grid_size=1e-5) if depth else outline
            drawn_area = left.area - intersection(left, unary_union(deeper), grid_size=1e-5).area
            # A layer's name has the depth to a hundredth.
            solid_area = sum(a for z, a in areas.items() if abs(z - depth) < 0.006)
            assert drawn_area == pytest.approx(solid_area, rel=1e-6), (run.program.name, depth)
            looked_at |= {"face"} if not depth else {k for k in cut if depth_of(k) == depth}
    wanted = {"washroom mirror": "rebate_9_53_mm", "washroom drawer": "groove_6_00_mm"}
    assert looked_at >= {"face", wanted.get(made[0].name, "face")}


def test_a_drawing_shows_zero_and_grain(made: tuple[Project, Routing]) -> None:
    """Two arms from zero; along the board an arrow with a head at both ends; not cut."""
    for run in made[1].single:
        document, _ = drawn(run)
        [(setup, (x, y))] = run.laid
        marks = [(e.dxf.start, e.dxf.end) for e in document.modelspace().query("LINE")]
        assert {e.dxf.layer for e in document.modelspace().query("LINE")} == {"not_cut_marks"}
        assert (
            sum(math.hypot(b.x, b.y) < 1e-9 or math.hypot(a.x, a.y) < 1e-9 for a, b in marks) == 2
        )
        wide, deep, _ = setup.lying.size
        shafts = [(a, b) for a, b in marks if abs((a.x + b.x) / 2 - x - wide / 2) < 1e-6]
        [(start, end)] = [(a, b) for a, b in shafts if abs(a.y - y - deep / 2) < 1e-6]
        assert start.y == pytest.approx(end.y)  # grain lies to the right
        for tip in (start, end):
            heads = [b for a, b in marks if (a - tip).magnitude < 1e-6 and b not in (start, end)]
            assert len(heads) == 2 and all(
                abs(b.x - tip.x) < abs(end.x - start.x) / 8 for b in heads
            )


def test_the_list_has_the_works_own_sizes(made: tuple[Project, Routing]) -> None:
    """As the recipe states them, where a cutter runs out over the ends as well."""
    project, routing = made
    rows = list(operations(project, routing))
    for row in rows:
        x0, y0, x1, y1 = row.box
        wide, deep, _ = row.setup.lying.size
        if row.operation.kind not in ("registration hole", "pocket"):
            assert x0 >= -1e-6 and y0 >= -1e-6 and x1 <= wide + 1e-6 and y1 <= deep + 1e-6
        for work in row.board.work:
            if work.called != row.operation.name:
                continue
            width = getattr(work, "width", None)
            if row.operation.kind in ("groove", "rebate") and width is not None:
                assert width == pytest.approx(min(x1 - x0, y1 - y0), abs=1e-6)
                assert work.depth == pytest.approx(row.operation.depth)  # type: ignore[attr-defined]
    kinds = {row.operation.kind for row in rows}
    assert kinds & {"groove", "rebate", "notch"}
    # From zero of the file, as its drawing has it.
    for run in routing.single:
        _, shapes = drawn(run)
        [(setup, place)] = run.laid
        assert place == setup.margin
    nested = {s.lying.board.name: run.program.name for run in routing.sheets for s, _ in run.laid}
    for row in rows:
        names = (row.board.name, f"{row.board.name} blank")
        assert set(row.sheets) >= {nested[name] for name in names if name in nested}
        assert bool(row.sheets) == (row.board.stock.kind == "sheet")


def test_a_plain_reader_sees_the_same_layers_and_counts(made: tuple[Project, Routing]) -> None:
    """Group codes and values read line by line, as the published format has them: 0, 8 and 2."""
    for run in made[1].runs[:8]:
        data = dxf(run.laid, run.program.size[:2])
        lines = [line.strip() for line in data.splitlines()]
        pairs = list(zip(lines[::2], lines[1::2], strict=True))
        start = pairs.index(("2", "ENTITIES"))
        end = pairs.index(("0", "ENDSEC"), start)
        seen: Counter[tuple[str, str]] = Counter()
        kind = ""
        for code, value in pairs[start:end]:
            kind = value if code == "0" else kind
            if code == "8":
                seen[kind, value] += 1
        document = ezdxf.filemanagement.read(io.StringIO(data))
        said = Counter((one.dxftype(), one.dxf.layer) for one in document.modelspace())
        assert seen == said and sum(seen.values()) > 3
        assert not document.audit().errors


def test_layers_are_called_so_that_every_reader_keeps_their_names(
    made: tuple[Project, Routing],
) -> None:
    """Letters, digits and underscores; a depth that is read back to a hundredth."""
    for faces in made[1].boards.values():
        for one in (one for setup in faces for one in setup.operations):
            name = layer(one)
            assert re.fullmatch(r"[a-z]+(_[a-z0-9]+)*", name) and len(name) <= 31
            assert one.through or depth_of(name) == pytest.approx(one.depth, abs=0.0051)
            long = layer(replace(one, kind="a kind of work with a very long name"))
            assert len(long) <= 31 and depth_of(long) == depth_of(name)


def test_a_bore_on_a_sheet_lies_where_the_sheets_drawing_has_its_pocket(
    made: tuple[Project, Routing],
) -> None:
    project, routing = made
    drawings = {run.program.name: run for run in routing.sheets}
    for row in vectors(project, routing):
        if row.on_sheet is None:
            continue
        run = drawings[row.sheet]
        document = ezdxf.filemanagement.read(io.StringIO(dxf(run.laid, run.program.size[:2])))
        drawing: Any = document.modelspace().query("LWPOLYLINE")
        pockets = [Polygon(e.get_points("xy")) for e in drawing if e.dxf.layer.startswith("pocket")]
        assert any(pocket.contains(Point(row.on_sheet[:2])) for pocket in pockets)


CURVED = """\
name: shelf
units: mm
stock:
  ply: {sheet: birch-ply-18}
build:
  - design: free-form
    name: shelf
    parts:
      rail:
        stock: ply
        length: 600
        width: 200
        arches: [{edge: front edge, rise: 60, starts: 100, stops: 100}]
        rounded: [{end: left end, edge: back edge, radius: 70}]
"""


def test_curves_are_drawn_within_the_stated_chord_error() -> None:
    """An arch and a rounded corner: the face left in the drawing against the solid's own face."""
    project = plan(parse_recipe(CURVED, "shelf.yaml", piece_models()))
    [run] = route(project).single
    assert not run.proof.faults and run.proof.left < 1.0
    _, shapes = drawn(run)
    outline = shapes["outline_through"][0]
    cut = [one for name, some in shapes.items() if name.endswith("_through") for one in some]
    left = outline.difference(unary_union([one for one in cut if one is not outline]))
    solid = faces_up(run)[0.0]
    radius = (400**2 / 4 + 60**2) / (2 * 60)  # of the arch (textbook)
    curves = 2 * radius * math.asin(200 / radius) + 70 * math.pi / 2
    assert abs(left.area - solid) < CHORD * curves < 10 < abs(outline.area - solid)
