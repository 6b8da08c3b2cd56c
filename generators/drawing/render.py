"""Draws a scene without a display: run as `python -m slantbore.generators.drawing.render`.

A process of its own, because a machine without an OpenGL driver ends it with a segmentation fault.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import vtkmodules.vtkRenderingFreeType
import vtkmodules.vtkRenderingOpenGL2  # noqa: F401
from numpy.typing import NDArray
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray, vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkImageData, vtkPolyData
from vtkmodules.vtkCommonMath import vtkMatrix4x4
from vtkmodules.vtkIOImage import vtkPNGWriter
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkLight,
    vtkPolyDataMapper,
    vtkRenderer,
    vtkRenderWindow,
    vtkTextActor,
    vtkWindowToImageFilter,
)

from .wood import SHADING

Array = NDArray[np.float64]

WIDTH, HEIGHT = 800, 720  # pixels of one view
_GLASS = 0.16
_BORED, _TINTED = 0.5, 0.5  # the wall of a bore: share of the wood's colour, and opacity
_FINER = 2  # drawn this much larger and averaged, which smooths edges on any driver
_MARGIN = 1.08
_EDGE = 0.36  # share of the wood's colour that its edges have
_NEAR, _FAR = 0.85, 0.3  # opacity of the edges at the front and at the back of the piece
_INK = (0.30, 0.30, 0.30)


def main(scene: Path, picture: Path) -> None:
    """Draw the views of a scene in rows of two into a PNG file.

    Args:
        scene: npz file: `about` (JSON with `parts`: shape, colour, metal, and the placements
            `matrix` and `apart`, of wood its `grain` and `seed`; `views`: title, towards, up, and
            whether the boards are like `glass` or taken `apart`), and per shape N `points-N` in
            mm, `normals-N`, as rows of points `triangles-N` and `edges-N`, and `bored-N`, which of
            the triangles are the walls of bores.
        picture: the file to write.
    """
    with np.load(scene) as arrays:
        about = json.loads(bytes(arrays["about"]))
        shapes = {
            name: {
                kind: arrays[f"{kind}-{name}"]
                for kind in ("points", "triangles", "normals", "edges", "bored")
            }
            for name in {part["shape"] for part in about["parts"]}
        }
    views = about["views"]
    window = vtkRenderWindow()
    window.SetOffScreenRendering(1)
    window.SetMultiSamples(0)
    window.SetAlphaBitPlanes(1)
    columns = min(2, len(views))
    rows = -(-len(views) // columns)
    window.SetSize(WIDTH * _FINER * columns, HEIGHT * _FINER * rows)
    for n, view in enumerate(views):
        place = "apart" if view["apart"] else "matrix"
        parts = [{**part, "matrix": part[place]} for part in about["parts"]]
        corners = np.concatenate([_placed(shapes[p["shape"]]["points"], p) for p in parts])
        eye = Eye(corners, np.array(view["towards"]), np.array(view["up"]))
        renderer = _renderer(parts, shapes, view["glass"], eye)
        left, down = n % columns, rows - 1 - n // columns
        renderer.SetViewport(left / columns, down / rows, (left + 1) / columns, (down + 1) / rows)
        eye.aim(renderer)
        _caption(renderer, view["title"])
        window.AddRenderer(renderer)
    window.Render()
    _save(window, picture)


def _placed(points: Array, part: dict[str, Any]) -> Array:
    matrix = np.array(part["matrix"])
    placed: Array = points @ matrix[:3, :3].T + matrix[:3, 3]
    return placed


class Eye:
    """Looks along a direction from where all points just fit in, in parallel: uprights are upright.

    Attributes:
        frame: right, up and ahead, (3, 3).
        middle: of what is seen, in that frame (mm).
        half: half the height of the picture (mm).
        deep: nearest and furthest point, along `ahead` (mm).
    """

    def __init__(self, points: Array, towards: Array, up: Array) -> None:
        ahead = towards / np.linalg.norm(towards)
        right = np.cross(ahead, up)
        right /= np.linalg.norm(right)
        self.frame = np.array([right, np.cross(right, ahead), ahead])
        seen = points @ self.frame.T
        low, high = seen.min(axis=0), seen.max(axis=0)
        self.middle = (low + high) / 2
        self.half = float(max((high[0] - low[0]) * HEIGHT / WIDTH, high[1] - low[1])) / 2 * _MARGIN
        self.deep = float(low[2]), float(high[2])

    def aim(self, renderer: Any) -> None:
        """Set a renderer's camera."""
        back = self.middle - np.array([0.0, 0.0, self.deep[1] - self.deep[0] + 1.0])
        camera = renderer.GetActiveCamera()
        camera.ParallelProjectionOn()
        camera.SetParallelScale(self.half)
        camera.SetFocalPoint(*(self.middle @ self.frame))
        camera.SetPosition(*(back @ self.frame))
        camera.SetViewUp(*self.frame[1])
        renderer.ResetCameraClippingRange()

    def clarity(self, points: Array) -> Array:
        """Opacity of edges at some points: the further back, the fainter."""
        near, far = self.deep
        share: Array = np.clip((points @ self.frame[2] - near) / max(far - near, 1e-9), 0, 1)
        return _NEAR + (_FAR - _NEAR) * share

    @property
    def pull(self) -> Array:
        """A pixel and a half towards the eye: edges lie that much nearer than they are (mm)."""
        nearer: Array = -3 * self.half / (HEIGHT * _FINER) * self.frame[2]
        return nearer


def _renderer(parts: list[dict[str, Any]], shapes: dict[str, Any], glass: bool, eye: Eye) -> Any:
    renderer = vtkRenderer()
    renderer.SetBackground(0.965, 0.968, 0.962)  # paper
    renderer.SetAutomaticLightCreation(0)
    # In the camera's frame: a main light from above left, a weak one from the right to fill.
    for place, strength in (((-0.5, 0.8, 1.0), 1.02), ((0.9, 0.0, 0.7), 0.38)):
        light = vtkLight()
        light.SetLightTypeToCameraLight()
        light.SetPosition(*place)
        light.SetFocalPoint(0, 0, 0)
        light.SetIntensity(strength)
        renderer.AddLight(light)
    for part in parts:
        for actor in _actors(part, shapes[part["shape"]], glass, eye):
            renderer.AddActor(actor)
    if glass:
        renderer.SetUseDepthPeeling(1)
        renderer.SetMaximumNumberOfPeels(12)
    return renderer


def _actors(part: dict[str, Any], shape: dict[str, Any], glass: bool, eye: Eye) -> list[Any]:
    glass = glass and not part["metal"]
    triangles, bored = shape["triangles"], shape["bored"]
    skins = [_skin(part, shape, triangles[~bored] if glass else triangles, glass, 1.0)]
    if glass:
        skins[0].GetProperty().SetOpacity(_GLASS)
        if bored.any():
            skins.append(_skin(part, shape, triangles[bored], glass, _BORED))
            skins[1].GetProperty().SetOpacity(_TINTED)
    return [*skins, _rim(part, shape, glass, eye)]


def _skin(
    part: dict[str, Any], shape: dict[str, Any], triangles: Any, glass: bool, shade: float
) -> Any:
    data = _poly(shape["points"])
    data.SetPolys(_cells(triangles))
    data.GetPointData().SetNormals(_vtk(shape["normals"]))
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(data)
    mapper.SetVBOShiftScaleMethod(0)  # the grain wants points as they are
    made = vtkActor()
    made.SetMapper(mapper)
    matrix = vtkMatrix4x4()
    matrix.DeepCopy([float(v) for row in part["matrix"] for v in row])
    made.SetUserMatrix(matrix)
    look = made.GetProperty()
    look.SetColor(*(shade * value for value in part["colour"]))
    look.SetAmbient(0.32)
    look.SetDiffuse(0.8)
    if part["metal"]:
        look.SetSpecular(0.7)
        look.SetSpecularPower(25)
    elif not glass:
        _grain(made, part)
    return made


def _grain(actor: Any, part: dict[str, Any]) -> None:
    """Shade wood by where a point lies in its board."""
    shader = actor.GetShaderProperty()
    for stage, mark, text in (
        ("Vertex", "PositionVC::Dec", "out vec3 woodAt, woodFace;"),
        ("Vertex", "PositionVC::Impl", "woodAt = vertexMC.xyz; woodFace = normalMC;"),
        ("Fragment", "Color::Dec", f"in vec3 woodAt, woodFace;{SHADING}"),
        (
            "Fragment",
            "Color::Impl",
            "float wood = woodShade(woodAt, woodFace, woodSeed, woodKind);"
            "ambientColor *= wood; diffuseColor *= wood;",
        ),
    ):
        add = getattr(shader, f"Add{stage}ShaderReplacement")
        add(f"//VTK::{mark}", True, f"//VTK::{mark}\n{text}\n", False)
    uniforms = shader.GetFragmentCustomUniforms()
    uniforms.SetUniform3f("woodSeed", part["seed"])
    uniforms.SetUniformf("woodKind", part["grain"])


def _rim(part: dict[str, Any], shape: dict[str, Any], glass: bool, eye: Eye) -> Any:
    """The edges as fine lines, where they stand, a little nearer than they are."""
    points = _placed(shape["points"], part)
    data = _poly(points + eye.pull)
    data.SetLines(_cells(shape["edges"]))
    ink = _INK if part["metal"] else tuple(_EDGE * value for value in part["colour"])
    rgba = np.empty((len(points), 4), dtype=np.uint8)
    rgba[:, :3] = np.rint(255 * np.array(ink))
    rgba[:, 3] = np.rint(255 * eye.clarity(points) * (0.7 if glass else 1.0))
    data.GetPointData().SetScalars(_vtk(rgba))
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(data)
    made = vtkActor()
    made.SetMapper(mapper)
    made.ForceTranslucentOn()
    made.GetProperty().SetLineWidth(0.8 * _FINER)
    made.GetProperty().LightingOff()
    return made


def _poly(points: Array) -> Any:
    held = vtkPoints()
    held.SetData(_vtk(points))
    data = vtkPolyData()
    data.SetPoints(held)
    return data


def _cells(rows: Any) -> Any:
    table = np.hstack([np.full((len(rows), 1), rows.shape[1]), rows]).astype(np.int64)
    listed = vtkCellArray()
    listed.ImportLegacyFormat(
        numpy_to_vtkIdTypeArray(table.ravel(), deep=True)  # type: ignore[no-untyped-call]
    )
    return listed


def _vtk(values: Any) -> Any:
    return numpy_to_vtk(np.ascontiguousarray(values), deep=True)  # type: ignore[no-untyped-call]


def _caption(renderer: Any, text: str) -> None:

    label = vtkTextActor()
    label.SetInput(text)
    label.GetTextProperty().SetFontSize(15 * _FINER)
    label.GetTextProperty().SetColor(*_INK)
    label.SetPosition(14 * _FINER, 12 * _FINER)
    renderer.AddViewProp(label)


def _save(window: Any, picture: Path) -> None:

    grab = vtkWindowToImageFilter()
    grab.SetInput(window)
    grab.ReadFrontBufferOff()
    grab.Update()
    image = grab.GetOutput()
    columns, rows, _ = image.GetDimensions()
    scalars = image.GetPointData().GetScalars()
    pixels = vtk_to_numpy(scalars).reshape(rows, columns, 3)  # type: ignore[no-untyped-call]
    blocks = pixels.reshape(rows // _FINER, _FINER, columns // _FINER, _FINER, 3)
    small = np.rint(blocks.mean(axis=(1, 3))).astype(np.uint8)
    if small.min() == small.max():
        raise SystemExit("the driver drew nothing")
    result = vtkImageData()
    result.SetDimensions(columns // _FINER, rows // _FINER, 1)
    result.GetPointData().SetScalars(_vtk(small.reshape(-1, 3)))
    writer = vtkPNGWriter()
    writer.SetFileName(str(picture))
    writer.SetInputData(result)
    writer.Write()


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
