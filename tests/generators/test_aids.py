"""Shop aids: sound, watertight, flat on their base; a guide's bore lies on the pocket's axis."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import trimesh
from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.GeomAbs import GeomAbs_Cylinder

from slantbore.generators.aids import Aid, aids
from slantbore.generators.aids.brace import brace
from slantbore.generators.drawing.colours import SCREW
from slantbore.generators.solids.faces import face_plane
from slantbore.generators.solids.kernel import cq
from slantbore.generators.solids.meshing import mesh_of
from slantbore.generators.solids.step import Part, write_part
from slantbore.generators.writers.parts_stl import stl_bytes
from slantbore.models.designs import piece_models
from slantbore.models.maths.geometry import Vec, along, dot
from slantbore.models.piece.markout import mark_out
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe

RECIPES = Path(__file__).parents[2] / "recipes"
NAMES = ("washroom-mirror", "slim-mirror", "octagon-mirror", "entry-table")


@pytest.fixture(scope="module", params=NAMES)
def made(request: pytest.FixtureRequest) -> tuple[Project, list[Aid]]:
    project = plan(read_recipe(RECIPES / f"{request.param}.yaml", piece_models()))
    return project, list(aids(project))


def test_every_aid_is_sound_watertight_and_flat_on_its_base(
    made: tuple[Project, list[Aid]], tmp_path: Path
) -> None:
    _, found = made
    assert len({aid.name for aid in found}) == len(found) >= 3
    for aid in found:
        assert aid.solid.isValid()
        path = tmp_path / "aid.stl"
        path.write_bytes(stl_bytes(mesh_of(aid.solid)))
        mesh = trimesh.load_mesh(path)
        assert mesh.is_watertight
        assert mesh.bounds[0][2] == pytest.approx(0.0, abs=1e-5)
        down = mesh.face_normals[:, 2] < -1 + 1e-6
        base = down & (mesh.triangles[:, :, 2].max(axis=1) < 1e-4)
        assert mesh.area_faces[base].sum() > 100.0
        hangs = (mesh.face_normals[:, 2] < -math.sin(math.radians(45.0)) - 1e-4) & ~base
        if aid.name.startswith("drill guide"):
            assert "the bore's roof is bridged, all else stands upright" in aid.about
            [(point, way)] = bore_axes(aid.solid)
            off = mesh.triangles[hangs].reshape(-1, 3) - point
            from_axis = np.linalg.norm(np.cross(off, way), axis=1)
            assert np.ptp(from_axis) < 0.01  # all of it on the bore's own wall
        elif aid.name.startswith("pocket plug"):
            assert "its flanks overhang" in aid.about
        else:
            assert not hangs.any()


def bore_axes(solid: cq.Shape) -> list[tuple[Vec, Vec]]:
    """A point and the direction of each round bore in a solid, those on one axis once."""
    axes = {}
    for face in solid.Faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        if surface.GetType() == GeomAbs_Cylinder:
            axis = surface.Cylinder().Axis()
            at, way = axis.Location(), axis.Direction()
            point, along_ = (at.X(), at.Y(), at.Z()), (way.X(), way.Y(), way.Z())
            axes[tuple(np.round(np.cross(point, along_), 3) + 0.0)] = (point, along_)
    return list(axes.values())


def test_a_guides_bore_is_on_the_pockets_axis(
    made: tuple[Project, list[Aid]], tmp_path: Path
) -> None:
    """Measured on what was written, from its fences' own faces, against the pencil's distances."""
    project, found = made
    guides = [aid for aid in found if aid.name.startswith("drill guide")]
    assert guides
    for aid in guides:
        bore = next(b for b in project.bores if b.name == dict(aid.marks)["bore"])
        board = project.board_named[bore.board]
        mark = mark_out(board, bore)
        write_part(tmp_path / "guide.step", Part(aid.name, aid.solid, SCREW))
        [solid] = cq.importers.importStep(str(tmp_path / "guide.step")).solids().vals()
        assert isinstance(solid, cq.Solid)
        [(point, way)] = bore_axes(solid)
        planes = [plane for face in solid.Faces() if (plane := face_plane(face))]
        # Upside down: the face that lies on the board looks up and is the highest but the fences'.
        levels = sorted({round(p.offset, 6) for p in planes if p.normal[2] > 1 - 1e-9})
        pocket = levels[0]
        mouth = along(point, way, (pocket - point[2]) / way[2])
        assert abs(way[2]) == pytest.approx(math.sin(math.radians(bore.slope)), abs=1e-9)
        # The fence's inner face looks along +x at x = 0.
        assert any(p.normal[0] > 1 - 1e-9 and abs(p.offset) < 1e-9 for p in planes)
        joint = board.face(bore.joint_face).plane
        assert mouth[0] == pytest.approx(joint.gap(mark.mouth), abs=0.01)
        edge = mark.edge if mark.end.side == bore.joint_face else mark.end
        if abs(bore.swing) > 1e-6 or mark.mitre > 1e-6:
            gaps = [
                -p.gap(mouth) for p in planes
                if abs(p.normal[2]) < 1e-9
                and dot(p.normal, (1.0, 0.0, 0.0)) == pytest.approx(
                    dot(edge.plane.normal, joint.normal), abs=1e-6
                )
            ]  # fmt: skip
            wanted = edge.plane.gap(mark.mouth)
            assert min(abs(gap - wanted) for gap in gaps) < 0.01


@pytest.mark.parametrize("angle", [60.0, 90.0, 108.0, 135.0])
def test_a_brace_has_the_corners_angle(angle: float) -> None:
    solid = brace(angle)
    sides = [p for f in solid.Faces() if (p := face_plane(f)) and abs(p.offset) < 1e-9]
    first, second = (p for p in sides if abs(p.normal[2]) < 1e-9)
    between = 180.0 - math.degrees(math.acos(np.clip(dot(first.normal, second.normal), -1, 1)))
    assert between == pytest.approx(angle)


def test_a_plug_fills_its_pocket_without_reaching_the_screw() -> None:
    from slantbore.generators.aids.plug import plug
    from slantbore.generators.solids.solids import bored_solid, unbored_solid

    project = plan(read_recipe(RECIPES / "washroom-mirror.yaml", piece_models()))
    bore = project.bores[0]
    board = project.board_named[bore.board]
    void = unbored_solid(board).Volume() - bored_solid(project, board).Volume()
    solid = plug(board, bore)
    assert solid is not None
    bores = sum(b.board == board.name for b in project.bores)
    assert 0.4 * void / bores < solid.Volume() < 0.95 * void / bores


def test_a_story_stick_has_a_notch_at_every_mark(made: tuple[Project, list[Aid]]) -> None:
    project, found = made
    [stick] = [aid for aid in found if aid.name.startswith("story stick")]
    tips = sorted(
        {
            round(v.toTuple()[0], 3)
            for v in stick.solid.Vertices()
            if abs(v.toTuple()[1] - 3.0) < 1e-6
        }
    )
    wanted = {
        round(d, 3)
        for bore in project.bores
        for mark in [mark_out(project.board_named[bore.board], bore)]
        for d in (mark.run, mark.square)
    }
    for distance in wanted:
        assert min(abs(distance - tip) for tip in tips) <= 0.051
    assert len(tips) <= len(wanted)
