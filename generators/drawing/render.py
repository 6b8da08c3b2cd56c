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

Array = NDArray[np.float64]

WIDTH, HEIGHT = 800, 720  # pixels of one view
_GLASS = 0.16
_BORED, _TINTED = 0.5, 0.5  # the wall of a bore: share of the wood's colour, and opacity
_FINER = 2  # drawn this much larger and averaged, which smooths edges on any driver
_MARGIN = 1.08
_ANGLE = 22.0  # degrees, top to bottom
_EDGE = (0.24, 0.17, 0.11)
_INK = (0.30, 0.30, 0.30)


def main(scene: Path, picture: Path) -> None:
    """Draw the views of a scene in rows of two into a PNG file.

    Args:
        scene: npz file: `about` (JSON with `parts`: shape, colour, metal, and the placements
            `matrix` and `apart`; `views`: title, towards, up, and whether the boards are like
            `glass` or taken `apart`), and per shape N `points-N` in mm, `normals-N`, as rows
            of points `triangles-N` and `edges-N`, and `bored-N`, which of the triangles are the
            walls of bores.
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
        renderer = _renderer(parts, shapes, view["glass"])
        left, down = n % columns, rows - 1 - n // columns
        renderer.SetViewport(left / columns, down / rows, (left + 1) / columns, (down + 1) / rows)
        _aim(renderer, corners, np.array(view["towards"]), np.array(view["up"]))
        _caption(renderer, view["title"])
        window.AddRenderer(renderer)
    window.Render()
    _save(window, picture)


def _placed(points: Array, part: dict[str, Any]) -> Array:
    matrix = np.array(part["matrix"])
    placed: Array = points @ matrix[:3, :3].T + matrix[:3, 3]
    return placed


def _renderer(parts: list[dict[str, Any]], shapes: dict[str, Any], glass: bool) -> Any:
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
        for actor in _actors(part, shapes[part["shape"]], glass):
            renderer.AddActor(actor)
    if glass:
        renderer.SetUseDepthPeeling(1)
        renderer.SetMaximumNumberOfPeels(12)
    return renderer


def _actors(part: dict[str, Any], shape: dict[str, Any], glass: bool) -> list[Any]:
    matrix = vtkMatrix4x4()
    matrix.DeepCopy([float(v) for row in part["matrix"] for v in row])

    def actor(points: Array, cells: Any, lines: bool) -> Any:
        rows = len(cells)
        table = np.hstack([np.full((rows, 1), cells.shape[1]), cells]).astype(np.int64)
        listed = vtkCellArray()
        listed.ImportLegacyFormat(
            numpy_to_vtkIdTypeArray(table.ravel(), deep=True)  # type: ignore[no-untyped-call]
        )
        data = vtkPolyData()
        held = vtkPoints()
        held.SetData(_vtk(points))
        data.SetPoints(held)
        if lines:
            data.SetLines(listed)
        else:
            data.SetPolys(listed)
            data.GetPointData().SetNormals(_vtk(shape["normals"]))
        mapper = vtkPolyDataMapper()
        mapper.SetInputData(data)
        if not lines:
            mapper.SetResolveCoincidentTopologyToPolygonOffset()
            mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(2, 2)
        made = vtkActor()
        made.SetMapper(mapper)
        made.SetUserMatrix(matrix)
        return made

    def skin(triangles: Any, shade: float, opacity: float) -> Any:
        made = actor(shape["points"], triangles, lines=False)
        look = made.GetProperty()
        look.SetColor(*(shade * value for value in part["colour"]))
        look.SetAmbient(0.24)
        look.SetDiffuse(0.86)
        look.SetOpacity(opacity)
        if part["metal"]:
            look.SetSpecular(0.7)
            look.SetSpecularPower(25)
        return made

    glass = glass and not part["metal"]
    triangles, bored = shape["triangles"], shape["bored"]
    skins = [skin(triangles[~bored] if glass else triangles, 1.0, _GLASS if glass else 1.0)]
    if glass and bored.any():
        skins.append(skin(triangles[bored], _BORED, _TINTED))
    rim = actor(shape["points"], shape["edges"], lines=True)
    rim.GetProperty().SetColor(*(_INK if part["metal"] else _EDGE))
    rim.GetProperty().SetLineWidth((0.9 if glass else 1.3) * _FINER)
    if glass:
        rim.GetProperty().SetOpacity(0.6)
    rim.GetProperty().LightingOff()
    return [*skins, rim]


def _aim(renderer: Any, points: Array, towards: Array, up: Array) -> None:
    """Look along `towards` from where all points just fit into the view."""
    ahead = towards / np.linalg.norm(towards)
    right = np.cross(ahead, up)
    right /= np.linalg.norm(right)
    frame = np.array([right, np.cross(right, ahead), ahead])
    seen = points @ frame.T
    middle = (seen.min(axis=0) + seen.max(axis=0)) / 2
    room = np.tan(np.radians(_ANGLE / 2)) / _MARGIN * np.array([WIDTH / HEIGHT, 1.0])
    for _ in range(3):  # nearer points spread wider; centre what is seen, then step back
        off = seen - middle
        distance = float((np.abs(off[:, :2]) / room - off[:, 2:]).max())
        drawn = off[:, :2] / (distance + off[:, 2:])
        middle[:2] += (drawn.min(axis=0) + drawn.max(axis=0)) / 2 * distance
    camera = renderer.GetActiveCamera()
    camera.SetViewAngle(_ANGLE)
    camera.SetFocalPoint(*(middle @ frame))
    camera.SetPosition(*((middle - np.array([0.0, 0.0, distance])) @ frame))
    camera.SetViewUp(*frame[1])
    renderer.ResetCameraClippingRange()


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
