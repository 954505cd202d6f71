"""The build as VTK shows it: surfaces, edges, light, soft shade. Only the rendering child imports this."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import vtkmodules.vtkRenderingFreeType
import vtkmodules.vtkRenderingOpenGL2  # noqa: F401  (registers what draws)
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray, vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkImageData, vtkPolyData
from vtkmodules.vtkRenderingCore import (
    vtkActor,
    vtkLight,
    vtkPolyDataMapper,
    vtkRenderer,
    vtkRenderWindow,
    vtkTexture,
    vtkWindowToImageFilter,
)

#: Drawn this many times finer and averaged: the soft shade leaves no other way to smooth edges.
FINER = 2
_PAPER = (0.953, 0.945, 0.922)
_INK = (0.075, 0.09, 0.115)
_HINT = 0.10
_LIFT_SHARE = 2e-4
#: Light from the camera's side: where from (right, up, back), how strong, its colour.
_LAMPS = (
    ((-0.5, 0.9, 1.0), 1.1, (1.0, 0.97, 0.93)),
    ((1.0, 0.1, 0.5), 0.5, (0.90, 0.95, 1.0)),
    ((0.0, -1.0, 0.4), 0.2, (1.0, 1.0, 1.0)),
)
#: How far soft shade reaches, as a share of the build's size, and what it leaves alone.
_SHADE_SHARE, _SHADE_BIAS_SHARE, _SHADE_SAMPLES = 0.06, 0.0007, 48
_MOST_PEELS = 8


@dataclass(frozen=True, slots=True)
class _Shown:
    skin: vtkActor
    edges: vtkActor
    alpha: float


class Stage:
    """One build, rendered from several sides."""

    def __init__(self, size: tuple[int, int]) -> None:
        self.renderer = vtkRenderer()
        self._window = vtkRenderWindow()
        self._window.SetOffScreenRendering(1)
        # More than one sample makes see-through surfaces vanish.
        self._window.SetMultiSamples(0)
        self._window.SetAlphaBitPlanes(1)
        self._window.SetDPI(72)
        self._window.SetSize(size[0] * FINER, size[1] * FINER)
        self._window.AddRenderer(self.renderer)
        self._shown: list[_Shown] = []
        self._light()

    def add(self, arrays: Mapping[str, npt.NDArray[Any]], number: int, look: Mapping[str, Any]) -> None:
        """Body ``number`` of the request: its triangles and its edges."""
        places, normals = arrays[f"places_{number}"], arrays[f"normals_{number}"]
        skin = _actor(_poly(places, polygons=arrays[f"triangles_{number}"], normals=normals))
        paint = skin.GetProperty()
        rough = float(look["roughness"])
        paint.SetColor(*look["srgb"])
        paint.SetAmbient(0.46)
        paint.SetDiffuse(0.84)
        paint.SetSpecular(0.42 * (1.0 - rough))
        paint.SetSpecularPower(6.0 + 70.0 * (1.0 - rough) ** 2)
        paint.SetOpacity(look["alpha"])
        if not look["both_sides"] and look["alpha"] >= 1.0:
            paint.BackfaceCullingOn()
        # Edges lie in the faces they bound: each is lifted off its own.
        lifted = places + normals * (_LIFT_SHARE * float(np.linalg.norm(arrays["high"] - arrays["low"])))
        edges = _actor(_poly(lifted, lines=arrays[f"edges_{number}"]))
        paint = edges.GetProperty()
        paint.SetColor(*_INK)
        paint.LightingOff()
        paint.SetLineWidth(0.8 * FINER)
        for actor in (skin, edges):
            self.renderer.AddActor(actor)
        self._shown.append(_Shown(skin, edges, float(look["alpha"])))

    def shade_ground(self, low: npt.NDArray[Any], high: npt.NDArray[Any]) -> None:
        """A soft shade on the ground under a box, and the reach of soft shade within it."""
        whole = float(np.linalg.norm(high - low))
        self.renderer.SetUseSSAO(True)
        self.renderer.SetSSAORadius(whole * _SHADE_SHARE)
        self.renderer.SetSSAOBias(whole * _SHADE_BIAS_SHARE)
        self.renderer.SetSSAOKernelSize(_SHADE_SAMPLES)
        self.renderer.SetSSAOBlur(True)
        middle, half = (low + high)[:2] / 2.0, (high - low)[:2] * np.array([0.72, 0.85])
        x, y = np.array([-1, 1, 1, -1]) * half[0] + middle[0], np.array([-1, -1, 1, 1]) * half[1] + middle[1]
        places = np.column_stack((x, y, np.full(4, low[2] - 0.5)))
        poly = _poly(places, polygons=np.array([[0, 1, 2], [0, 2, 3]]))
        corners = numpy_to_vtk(np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=np.float32), deep=1)
        poly.GetPointData().SetTCoords(corners)
        self.ground = _actor(poly)
        self.ground.SetTexture(_soft_spot())
        self.ground.GetProperty().LightingOff()
        self.ground.ForceTranslucentOn()
        self.renderer.AddActor(self.ground)

    def look(self, view: Mapping[str, Any]) -> None:
        """Turn the camera; ``hinted`` and ``without`` are numbers of bodies to see through or leave out."""
        camera = self.renderer.GetActiveCamera()
        camera.SetViewAngle(view["fov_deg"])
        camera.SetPosition(*view["eye"])
        camera.SetFocalPoint(*view["target"])
        camera.SetViewUp(*view["up"])
        self.renderer.ResetCameraClippingRange()
        self.ground.SetVisibility(view["ground"])
        hinted, without = set(view["hinted"]), set(view["without"])
        for number, shown in enumerate(self._shown):
            shown.skin.SetVisibility(number not in without)
            shown.edges.SetVisibility(number not in without)
            shown.skin.GetProperty().SetOpacity(min(shown.alpha, _HINT) if number in hinted else shown.alpha)

    def picture(self) -> npt.NDArray[np.uint8]:
        """The picture as it now is: (height, width, 3), its first row the lowest."""
        self._window.Render()
        grab = vtkWindowToImageFilter()
        grab.SetInput(self._window)
        grab.ReadFrontBufferOff()
        grab.ShouldRerenderOff()
        grab.Update()
        image = grab.GetOutput()
        width, height, _ = image.GetDimensions()
        fine = vtk_to_numpy(image.GetPointData().GetScalars()).reshape(height, width, -1)[:, :, :3]
        blocks = fine.reshape(height // FINER, FINER, width // FINER, FINER, 3).astype(np.float32)
        picture: npt.NDArray[np.uint8] = np.rint(blocks.mean(axis=(1, 3))).astype(np.uint8)
        return picture

    def _light(self) -> None:
        renderer = self.renderer
        renderer.SetBackground(*_PAPER)
        renderer.SetUseDepthPeeling(True)
        renderer.SetMaximumNumberOfPeels(_MOST_PEELS)
        renderer.SetOcclusionRatio(0.0)
        renderer.AutomaticLightCreationOff()
        for place, strength, colour in _LAMPS:
            lamp = vtkLight()
            lamp.SetLightTypeToCameraLight()
            lamp.SetPosition(*place)
            lamp.SetFocalPoint(0.0, 0.0, 0.0)
            lamp.SetIntensity(strength)
            lamp.SetColor(*colour)
            renderer.AddLight(lamp)


def save(picture: npt.NDArray[np.uint8], path: str) -> None:
    """The picture as a PNG file."""
    from vtkmodules.vtkIOImage import vtkPNGWriter

    height, width, _ = picture.shape
    image = vtkImageData()
    image.SetDimensions(width, height, 1)
    image.GetPointData().SetScalars(numpy_to_vtk(picture.reshape(-1, 3), deep=1))
    writer = vtkPNGWriter()
    writer.SetFileName(path)
    writer.SetCompressionLevel(9)
    writer.SetInputData(image)
    writer.Write()


def _poly(
    places: npt.NDArray[Any],
    *,
    polygons: npt.NDArray[Any] | None = None,
    lines: npt.NDArray[Any] | None = None,
    normals: npt.NDArray[Any] | None = None,
) -> vtkPolyData:
    poly = vtkPolyData()
    points = vtkPoints()
    points.SetData(numpy_to_vtk(np.ascontiguousarray(places, dtype=np.float32), deep=1))
    poly.SetPoints(points)
    if polygons is not None:
        poly.SetPolys(_cells(polygons))
    if lines is not None:
        poly.SetLines(_cells(lines))
    if normals is not None:
        poly.GetPointData().SetNormals(numpy_to_vtk(np.ascontiguousarray(normals, dtype=np.float32), deep=1))
    return poly


def _cells(numbers: npt.NDArray[Any]) -> vtkCellArray:
    cells = vtkCellArray()
    count, corners = numbers.shape
    offsets = numpy_to_vtkIdTypeArray(np.arange(0, (count + 1) * corners, corners, dtype=np.int64), deep=1)
    flat = numpy_to_vtkIdTypeArray(np.ascontiguousarray(numbers, dtype=np.int64).reshape(-1), deep=1)
    cells.SetData(offsets, flat)
    return cells


def _actor(poly: vtkPolyData) -> vtkActor:
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(poly)
    actor = vtkActor()
    actor.SetMapper(mapper)
    return actor


def _soft_spot() -> vtkTexture:
    """Dark in the middle, clear at its rim."""
    across = np.linspace(-1.0, 1.0, 256)
    off = np.hypot(*np.meshgrid(across, across)).clip(0.0, 1.0)
    shade = 0.46 * (1.0 - off**1.4) ** 1.6
    pixels = np.zeros((256, 256, 4), dtype=np.uint8)
    pixels[:, :, :3] = (20, 24, 30)
    pixels[:, :, 3] = np.rint(255.0 * shade)
    image = vtkImageData()
    image.SetDimensions(256, 256, 1)
    image.GetPointData().SetScalars(numpy_to_vtk(pixels.reshape(-1, 4), deep=1))
    texture = vtkTexture()
    texture.SetInputData(image)
    texture.InterpolateOn()
    return texture


def is_blank(picture: npt.NDArray[np.uint8]) -> bool:
    """Whether every column is one colour but for the background's own change from row to row."""
    return bool((picture == picture[:, :1]).all())


def probe() -> None:
    """Render next to nothing: where graphics cannot be had, this is where it shows."""
    window = vtkRenderWindow()
    window.SetOffScreenRendering(1)
    window.SetSize(16, 16)
    window.AddRenderer(vtkRenderer())
    window.Render()
