"""Exported files read back against the published formats and against general-purpose libraries."""

from __future__ import annotations

import json
import re
import struct
from pathlib import Path
from typing import Any

import cadquery as cq
import numpy as np
import pytest
import trimesh

from slantbore.generators.drawing.colours import SCREW, stock_colour
from slantbore.generators.solids.product import Product
from slantbore.generators.solids.solids import solidify
from slantbore.generators.writers import assembly_glb, assembly_step, parts_step, parts_stl
from slantbore.models.piece.groups import groups
from slantbore.models.piece.project import Project

from ..generators.small import butt, corner

PROJECTS = {"corner": corner(), "butt": butt()}


@pytest.fixture(scope="module", params=sorted(PROJECTS))
def product(request: pytest.FixtureRequest) -> Product:
    project: Project = PROJECTS[request.param]
    return Product(project, solidify(project), ())


@pytest.fixture(scope="module")
def folder(product: Product, tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp(product.project.name)
    for writer in (assembly_glb, assembly_step, parts_step, parts_stl):
        writer.write(product, made)
    return made


# --- STEP --------------------------------------------------------------------------------------


def entities(path: Path) -> dict[str, int]:
    """How often each kind of entity stands in a STEP file."""
    found: dict[str, int] = {}
    for name in re.findall(r"^#\d+ = ([A-Z_0-9]+)\(", path.read_text("ascii"), re.MULTILINE):
        found[name] = found.get(name, 0) + 1
    return found


def test_step_file_structure(product: Product, folder: Path) -> None:
    """ISO 10303-21: magic, HEADER with its three entities in order, DATA, end; ASCII throughout."""
    for path in [folder / "assembly.step", *(folder / "parts").glob("*.step")]:
        text = path.read_text("ascii")
        assert text.startswith("ISO-10303-21;\nHEADER;\n")
        assert text.rstrip().endswith("ENDSEC;\nEND-ISO-10303-21;")
        header = text[: text.index("DATA;")]
        order = [header.index(n) for n in ("FILE_DESCRIPTION", "FILE_NAME", "FILE_SCHEMA")]
        assert order == sorted(order)
        # The schema of AP214 as other systems' files have it.
        assert "AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }" in header
        numbers = [int(n) for n in re.findall(r"^#(\d+) = ", text, re.MULTILINE)]
        assert numbers == list(range(1, len(numbers) + 1))
        bare = re.sub(r"'(?:[^']|'')*'", "", text[text.index("DATA;") :])
        assert {int(n) for n in re.findall(r"#(\d+)", bare)} == set(numbers)  # nothing dangles


def test_step_has_one_product_per_shape_and_one_occurrence_per_part(
    product: Product, folder: Path
) -> None:
    project, solids = product.project, product.solids
    found = entities(folder / "assembly.step")
    distinct = len(solids.shapes) + len(solids.screws)
    assert found["MANIFOLD_SOLID_BREP"] == distinct
    assert found["PRODUCT"] == distinct + 1
    placed = len(project.boards) + len(project.bores)
    assert found["NEXT_ASSEMBLY_USAGE_OCCURRENCE"] == placed
    assert found["STYLED_ITEM"] == distinct


def test_step_assembly_reads_back(product: Product, folder: Path) -> None:
    project, solids = product.project, product.solids
    expected: dict[str, tuple[cq.Shape, Any]] = {
        board.name: (solids.board_solid(board.name), stock_colour(board.stock))
        for board in project.boards
    }
    expected |= {
        f"{bore.name} screw": (solids.screw_solid(bore.name), SCREW) for bore in project.bores
    }
    read = cq.Assembly.importStep(str(folder / "assembly.step"))
    assert read.name == project.name
    children = {child.name: child for child in read.children}
    assert set(children) == set(expected)
    for name, (solid, colour) in expected.items():
        child = children[name]
        (shape,) = child.shapes
        assert shape.ShapeType() == "Solid"
        assert shape.isValid()
        assert shape.Volume() == pytest.approx(solid.Volume(), rel=1e-9)
        centre = shape.moved(child.loc).Center().toTuple()
        assert centre == pytest.approx(solid.Center().toTuple(), abs=1e-6)
        assert child.color is not None
        assert child.color.toTuple()[:3] == pytest.approx(colour, abs=1e-6)


def test_step_parts_read_back(product: Product, folder: Path) -> None:
    files = sorted(path.stem for path in (folder / "parts").glob("*.step"))
    assert files == sorted(group[0].name for group in groups(product.project))
    for name in files:
        shape = cq.importers.importStep(str(folder / "parts" / f"{name}.step")).val()
        assert isinstance(shape, cq.Shape)
        (solid,) = shape.Solids()
        own = product.solids.own_solid(name)
        assert solid.isValid()
        assert solid.Volume() == pytest.approx(own.Volume(), rel=1e-9)
        assert solid.Center().toTuple() == pytest.approx(own.Center().toTuple(), abs=1e-6)


# --- STL ---------------------------------------------------------------------------------------


def test_stl_is_binary_and_watertight(product: Product, folder: Path) -> None:
    """Binary STL: 80 bytes, a 32-bit count, 50 bytes per facet; read with trimesh."""
    files = sorted((folder / "parts").glob("*.stl"))
    assert [path.stem for path in files] == sorted(g[0].name for g in groups(product.project))
    for path in files:
        data = path.read_bytes()
        (count,) = struct.unpack_from("<I", data, 80)
        assert len(data) == 84 + 50 * count
        assert not data.startswith(b"solid")  # readers would take it for text
        mesh: Any = trimesh.load(path)
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        own = product.solids.own_solid(path.stem)
        assert mesh.volume == pytest.approx(own.Volume(), rel=1e-3)
        assert len(mesh.split()) == 1
        board = product.project.board_named[path.stem]
        sizes = (board.length, board.width, board.thickness)
        assert mesh.bounds[0] == pytest.approx((0, 0, 0), abs=1e-5)
        assert mesh.bounds[1] == pytest.approx(sizes, abs=1e-4)
        # The facets' own normals agree with their corners' order.
        facets = np.frombuffer(data, offset=84, dtype=parts_stl._FACET)
        a, b, c = (facets["corners"][:, i].astype(float) for i in range(3))
        turned = np.einsum("ij,ij->i", np.cross(b - a, c - a), facets["normal"])
        assert (turned > 0).all()


def test_stl_keeps_the_pockets(product: Product, folder: Path) -> None:
    """What the bores took is missing from the mesh, to half a per cent of it."""
    for path in (folder / "parts").glob("*.stl"):
        own = product.solids.own_solid(path.stem)
        mesh: Any = trimesh.load(path)
        # Facets stand inside a hole's wall, so the mesh has a little more wood, never less.
        assert -0.5 < mesh.volume - own.Volume() < 12.0


# --- glTF --------------------------------------------------------------------------------------


def glb_json(path: Path) -> dict[str, Any]:
    """The JSON chunk; glTF 2.0, section 4.4: magic, version, length, then chunks of 4 n bytes."""
    data = path.read_bytes()
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack_from("<I4s", data, 12)
    assert kind == b"JSON" and size % 4 == 0
    found: dict[str, Any] = json.loads(data[20 : 20 + size])
    return found


def test_glb_has_a_node_per_part_and_a_mesh_per_shape(product: Product, folder: Path) -> None:
    project, solids = product.project, product.solids
    document = glb_json(folder / "assembly.glb")
    assert document["asset"]["version"] == "2.0"
    nodes = {node["name"]: node for node in document["nodes"] if "mesh" in node}
    boards = {board.name for board in project.boards}
    assert set(nodes) == boards | {f"{bore.name} screw" for bore in project.bores}
    assert len(document["meshes"]) == len(solids.shapes) + len(solids.screws)
    for one in project.boards:
        for other in project.boards:
            alike = solids.key_of[one.name] == solids.key_of[other.name]
            assert (nodes[one.name]["mesh"] == nodes[other.name]["mesh"]) == alike


def test_glb_is_in_metres_with_y_up(product: Product, folder: Path) -> None:
    """glTF 2.0, section 3.4: metres, right-handed, +Y up; our z is up."""
    scene: Any = trimesh.load(folder / "assembly.glb")
    for board in product.project.boards:
        transform, geometry = scene.graph[board.name]
        mesh = scene.geometry[geometry]
        points = mesh.vertices @ transform[:3, :3].T + transform[:3, 3]
        box = product.solids.board_solid(board.name).BoundingBox()
        low = np.array([box.xmin, box.zmin, -box.ymax]) / 1000
        high = np.array([box.xmax, box.zmax, -box.ymin]) / 1000
        assert points.min(axis=0) == pytest.approx(low, abs=1e-6)
        assert points.max(axis=0) == pytest.approx(high, abs=1e-6)
        assert np.linalg.det(transform[:3, :3]) == pytest.approx(1.0)


def test_glb_materials_have_the_colours_in_linear_light(product: Product, folder: Path) -> None:
    """glTF 2.0, section 3.9: factors are linear; IEC 61966-2-1 turns them back into sRGB."""
    document = glb_json(folder / "assembly.glb")
    nodes = {node["name"]: node for node in document["nodes"] if "mesh" in node}
    for board in product.project.boards:
        primitive = document["meshes"][nodes[board.name]["mesh"]]["primitives"][0]
        material = document["materials"][primitive["material"]]["pbrMetallicRoughness"]
        linear = np.array(material["baseColorFactor"][:3])
        shown = 1.055 * linear ** (1 / 2.4) - 0.055  # all our tints are above the linear foot
        assert shown == pytest.approx(stock_colour(board.stock), abs=0.005)
        assert material.get("metallicFactor", 1.0) == 0.0
