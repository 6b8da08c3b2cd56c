"""Formats: found by themselves, the same bytes each time, and no lost build without a display."""

from __future__ import annotations

import fnmatch
import hashlib
import os
import struct
import subprocess
import sys
import zlib
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from slantbore.generators.drawing import render
from slantbore.generators.solids.kernel import cq
from slantbore.generators.solids.meshing import mesh_of, mesh_volume
from slantbore.generators.solids.product import Product
from slantbore.generators.solids.proof import prove
from slantbore.generators.solids.solids import solidify
from slantbore.generators.solids.step import (
    NO_DATE,
    Part,
    Placed,
    _in_order,
    _settled,
    time_stamp,
    write_assembly,
)
from slantbore.generators.writers import NotWritten, Writer, picture, writers
from slantbore.models.maths.geometry import Pose, Vec
from slantbore.models.piece.groups import Key

from .small import butt, corner

BY_NAME = {writer.name: writer for writer in writers()}
OURS = ("assembly-step", "glb-assembly", "parts-step", "parts-stl")


def made() -> Product:
    solids = solidify(butt())
    return Product(solids.project, solids, prove(solids))


@pytest.fixture(scope="module")
def product() -> Product:
    return made()


def hashes(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_every_module_of_the_folder_is_a_format() -> None:
    folder = Path(picture.__file__).parent
    modules = {path.stem for path in folder.glob("*.py")} - {"__init__"}
    assert len(writers()) == len(modules)
    assert set(OURS) | {"picture"} <= set(BY_NAME)
    names = [writer.name for writer in writers()]
    assert names == sorted(set(names))


@pytest.mark.parametrize("writer", writers(), ids=lambda writer: writer.name)
def test_each_format_writes_what_it_says_and_no_more(
    writer: Writer, product: Product, tmp_path: Path
) -> None:
    if writer.name == "picture" and picture._choose_driver(dict(os.environ)):
        pytest.skip("no offscreen OpenGL on this machine")
    writer.write(product, tmp_path)
    patterns = [file.strip().replace("NAME", "*") for file in writer.files.split(",")]
    written = hashes(tmp_path)
    assert written
    for file in written:
        assert any(fnmatch.fnmatch(file, pattern) for pattern in patterns), file
    for pattern in patterns:
        assert fnmatch.filter(written, pattern), pattern


def test_names_keep_blanks_and_letters(product: Product, tmp_path: Path) -> None:
    for name in ("parts-step", "parts-stl"):
        BY_NAME[name].write(product, tmp_path)
    files = {path.name for path in (tmp_path / "parts").iterdir()}
    assert files == {"Ständer 1.step", "Ständer 1.stl", "shelf.step", "shelf.stl"}
    assert r"'St\X2\00E4\X0\nder 1'" in (tmp_path / "parts" / "Ständer 1.step").read_text("ascii")


def test_long_names_stay_whole_in_step_whatever_their_script(tmp_path: Path) -> None:
    """The kernel breaks lines by bytes; read back by the kernel, every name is as it was."""
    names = {
        f"{'x' * before}{letters * 120}"[:size].strip()
        for letters in ("寸", "ж", "é", "\U00020bb7", "'", "寸'", "\\", "日本 語", "x ")
        for before in range(7)
        for size in (25, 40, 118)
    }
    box = cq.Solid.makeBox(10, 20, 30)
    parts: dict[Key, Part] = {name: Part(name, box, (1.0, 0.0, 0.0)) for name in sorted(names)}
    poses = [Pose((30.0 * i, 0.0, 0.0)) for i in range(len(parts))]
    placed = [Placed(f"{name}!", name, pose) for name, pose in zip(parts, poses, strict=True)]
    write_assembly(tmp_path / "long.step", "寸" * 60, parts, placed)
    read = cq.Assembly.importStep(str(tmp_path / "long.step"))
    assert read.name == "寸" * 60
    assert {child.name for child in read.children} == {one.name for one in placed}


def test_a_folder_whose_name_is_no_utf8_takes_every_format(
    product: Product, tmp_path: Path
) -> None:
    plain, odd = tmp_path / "plain", Path(os.fsdecode(os.fsencode(tmp_path) + b"/odd \xff"))
    plain.mkdir()
    try:
        odd.mkdir()
    except OSError:
        pytest.skip("this file system takes UTF-8 names only")
    for writer in writers():
        writer.write(product, plain)
        writer.write(product, odd)
    assert hashes(odd) == hashes(plain)


def test_same_bytes_twice_in_any_order(product: Product, tmp_path: Path) -> None:
    """Within a process: neither counters of the kernel nor meshes left on a solid may show."""
    runs = []
    for number, order in enumerate((OURS, OURS[::-1], OURS)):
        folder = tmp_path / str(number)
        folder.mkdir()
        for name in order:
            BY_NAME[name].write(product if number < 2 else made(), folder)
        runs.append(hashes(folder))
    assert len(runs[0]) == 6
    assert runs[0] == runs[1] == runs[2]


SCRIPT = """
import sys
from pathlib import Path
from tests.generators.test_writers import BY_NAME, OURS, made
product = made()
for name in OURS:
    BY_NAME[name].write(product, Path(sys.argv[1]))
"""


def test_same_bytes_in_fresh_processes(product: Product, tmp_path: Path) -> None:
    """Across processes: memory addresses and hash seeds differ, the bytes must not."""
    root = Path(__file__).parents[2]
    paths = [str(root), *filter(None, [os.environ.get("PYTHONPATH")])]
    here = tmp_path / "here"
    here.mkdir()
    for name in OURS:
        BY_NAME[name].write(product, here)
    for seed in ("1", "2"):
        folder = tmp_path / seed
        folder.mkdir()
        environment = os.environ | {"PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(paths)}
        subprocess.run(
            [sys.executable, "-c", SCRIPT, str(folder)], env=environment, check=True, cwd=tmp_path
        )
        assert hashes(folder) == hashes(here)


def test_colours_are_put_in_the_order_of_their_shapes() -> None:
    kind = "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION"
    one = (
        f"#10 = {kind}('',(#11),#7);\n#11 = STYLED_ITEM('#8; it''s',(#12),#6);\n"
        f"#12 = COLOUR_RGB('',1.,0.,0.);\n"
        f"#13 = {kind}('',\n    (#14),#5);\n#14 = STYLED_ITEM('',(#12),#4);\n"
    )
    other = (
        f"#10 = {kind}('',\n    (#11),#5);\n#11 = STYLED_ITEM('',(#12),#4);\n"
        f"#12 = COLOUR_RGB('',1.,0.,0.);\n"
        f"#13 = {kind}('',(#14),#7);\n#14 = STYLED_ITEM('#8; it''s',(#12),#6);\n"
    )
    assert one != other
    assert _in_order(one) == _in_order(other) == other


def test_occurrences_are_numbered_anew() -> None:
    text = "DATA;\n#1 = NEXT_ASSEMBLY_USAGE_OCCURRENCE('17','ü','',#2,#3,$);\nENDSEC;"
    assert "".join(_settled(text.encode().splitlines(keepends=True))) == (
        "DATA;\n#1 = NEXT_ASSEMBLY_USAGE_OCCURRENCE('1','\\X2\\00FC\\X0\\','',#2,#3,$);\nENDSEC;"
    )


def test_date_comes_from_the_environment(
    product: Product, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
    assert time_stamp() == "1980-01-01T00:00:00"
    monkeypatch.setenv("SOURCE_DATE_EPOCH", str(NO_DATE + 86400))
    BY_NAME["assembly-step"].write(product, tmp_path)
    assert "'1980-01-02T00:00:00'" in (tmp_path / "assembly.step").read_text("ascii")
    for wrong in ("soon", "9" * 30, ""):
        monkeypatch.setenv("SOURCE_DATE_EPOCH", wrong)
        assert time_stamp() == "1980-01-01T00:00:00"


def test_mesh_normals_look_out_of_the_wood(product: Product) -> None:
    mesh = mesh_of(product.solids.own_solid("shelf"))
    a, b, c = (mesh.points[mesh.triangles[:, i]] for i in range(3))
    facet = np.cross(b - a, c - a)
    for corner_ in range(3):
        assert (np.einsum("ij,ij->i", facet, mesh.normals[mesh.triangles[:, corner_]]) > 0).all()
    assert mesh_volume(mesh) == pytest.approx(product.solids.own_solid("shelf").Volume(), rel=1e-3)


def test_mesh_edges_leave_out_seams(product: Product) -> None:
    """Every piece of a feature edge lies on a flat face; a bore's seam does not."""
    solid = product.solids.own_solid("shelf")
    flat = [f for f in solid.Faces() if f.geomType() == "PLANE"]
    mesh = mesh_of(solid)
    from cadquery import Vertex

    middles = mesh.points[mesh.edges].mean(axis=1)
    far = [
        min(face.distance(Vertex.makeVertex(*map(float, point))) for face in flat)
        for point in middles
    ]
    assert max(far) < 0.03  # the chord error


# --- the picture -------------------------------------------------------------------------------


def png_size(path: Path) -> tuple[int, int]:
    """Width and height from the IHDR chunk (ISO/IEC 15948), whose check sum must be right."""
    data = path.read_bytes()
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    assert data[12:16] == b"IHDR"
    assert struct.unpack(">I", data[29:33])[0] == zlib.crc32(data[12:29])
    width, height = struct.unpack(">II", data[16:24])
    return width, height


needs_driver = pytest.mark.skipif(
    bool(picture._choose_driver(dict(os.environ))), reason="no offscreen OpenGL on this machine"
)


@needs_driver
def test_picture_is_drawn(
    product: Product, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    picture.write(product, tmp_path)
    assert capsys.readouterr().err == ""
    assert png_size(tmp_path / "preview.png") == (1600, 1440)
    image = np.asarray(Image.open(tmp_path / "preview.png").convert("RGB")).astype(float)
    # Nothing is black: an edge has the colour of its wood, darker, and fades to the back.
    assert (image @ np.array([0.2126, 0.7152, 0.0722])).min() > 35
    # Wood has grain: hardly two neighbours on it are of one colour, as they are on the ground.
    front = image[:720, :800]
    wood = np.abs(front - front[0, 0]).sum(axis=2) > 60
    both = wood[:, 1:] & wood[:, :-1]
    changes = np.abs(front[:, 1:] - front[:, :-1]).sum(axis=2)[both] > 0
    assert both.sum() > 10_000 and changes.mean() > 0.5


@pytest.mark.parametrize("towards", [(-0.62, 1.0, -0.52), (0.3, 0.2, 0.9), (1.0, 0.0, 0.0)])
def test_a_picture_is_seen_in_parallel_with_uprights_upright(towards: Vec) -> None:
    from vtkmodules.vtkRenderingCore import vtkRenderer

    corners = np.array([(x, y, z) for x in (0, 900) for y in (0, 400) for z in (0, 700.0)])
    eye = render.Eye(corners, np.array(towards), np.array([0.0, 0.0, 1.0]))
    renderer = vtkRenderer()
    eye.aim(renderer)
    camera = renderer.GetActiveCamera()
    assert camera.GetParallelProjection() == 1
    seen = camera.GetModelViewTransformMatrix()
    matrix = np.array([[seen.GetElement(i, j) for j in range(4)] for i in range(4)])
    at = corners @ matrix[:3, :3].T + matrix[:3, 3]
    for low, high in zip(at[::2], at[1::2], strict=True):
        assert low[0] == pytest.approx(high[0], abs=1e-6) and high[1] > low[1]
    # All of it lies within the picture, and it nearly fills it.
    half = camera.GetParallelScale()
    wide, tall = np.abs(at[:, 0]).max(), np.abs(at[:, 1]).max()
    share = max(wide / (half * render.WIDTH / render.HEIGHT), tall / half)
    assert 0.9 < share <= 1.0
    near, far = eye.clarity(corners).max(), eye.clarity(corners).min()
    assert near > 2 * far  # edges fade to the back


def test_without_a_driver_there_is_a_reason_and_no_file(
    product: Product, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(picture, "find_library", lambda name: None)
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    with pytest.raises(NotWritten, match="^preview.png was not drawn: .*libegl1"):
        picture.write(product, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_drawing_process_that_dies_is_a_reason(
    product: Product, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    crash = tmp_path / "python"
    crash.write_text('#!/bin/sh\ntouch "$6"\nkill -SEGV $$\n')
    crash.chmod(0o755)
    out = tmp_path / "out"
    out.mkdir()
    monkeypatch.setattr(sys, "executable", str(crash))
    monkeypatch.setattr(picture, "_choose_driver", lambda environment: "")
    with pytest.raises(NotWritten, match="preview.png was not drawn"):
        picture.write(product, out)
    assert list(out.iterdir()) == []  # half a picture is taken away


def test_a_flat_piece_is_seen_from_the_side_that_shows() -> None:
    """The corner's bottom faces show (they are called front), its top faces are hidden."""
    solids = solidify(corner())
    front, back, *_ = picture.views(Product(solids.project, solids, ()))
    assert front["title"].endswith("front")
    assert front["towards"][2] > 0.9  # from below, upwards
    assert back["towards"][2] < -0.9
    standing = replace(
        solids.project,
        boards=tuple(
            b.placed(b.pose.then(Pose((0, 0, 0), (1, 0, 0), (0, 0, -1))))
            for b in solids.project.boards
        ),
    )
    stood = solidify(standing)
    # Turned about x, the bottom faces now look towards -y.
    front, back, *_ = picture.views(Product(standing, stood, ()))
    assert front["towards"][1] > 0.9
    assert front["up"] == [0.0, 0.0, 1.0]


def test_a_piece_with_depth_is_seen_from_a_corner(product: Product) -> None:
    front, back, *_ = picture.views(product)
    assert front["towards"][1] > 0 > front["towards"][2]
    assert back["towards"][1] < 0
