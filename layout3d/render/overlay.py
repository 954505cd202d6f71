"""What is written over a rendered picture: pins of findings, and what they mean. For the rendering child."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from vtkmodules.vtkCommonCore import vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
from vtkmodules.vtkRenderingCore import (
    vtkActor2D,
    vtkPolyDataMapper2D,
    vtkRenderer,
    vtkTextActor,
)

_PAPER, _INK = (0.984, 0.980, 0.965), (0.106, 0.137, 0.173)
#: Severity -> fill, rim and text. Errors are square, all else is round.
_PAINTS = {
    "error": ((0.639, 0.227, 0.078), _PAPER, _PAPER),
    "warning": (_PAPER, (0.478, 0.353, 0.0), (0.478, 0.353, 0.0)),
    "note": (_PAPER, _INK, _INK),
}
#: Sizes for a picture 1200 high.
_HALF_PX, _TEXT_PX, _LINE_PX, _MARGIN_PX = 25.0, 25, 22, 26.0


class Overlay:
    """Flat things on a renderer, in pixels from the lower left of a picture ``scale`` times 1200 high."""

    def __init__(self, renderer: vtkRenderer, finer: int, scale: float) -> None:
        self._renderer = renderer
        self._finer = finer
        self._unit = finer * scale
        self._shown: list[vtkActor2D] = []

    def show(self, pins: Sequence[Mapping[str, Any]], lines: Sequence[str]) -> None:
        """These pins and lines in place of those before."""
        for actor in self._shown:
            self._renderer.RemoveViewProp(actor)
        self._shown = []
        for pin in pins:
            self._leader(pin)
        for pin in pins:
            self._pin(pin)
        for row, line in enumerate(reversed(lines)):
            place = (_MARGIN_PX * self._unit, (_MARGIN_PX + row * _LINE_PX * 1.45) * self._unit)
            text = self._text(line, place, _LINE_PX, _INK)
            text.GetTextProperty().SetJustificationToLeft()
            text.GetTextProperty().SetVerticalJustificationToBottom()
            text.GetTextProperty().SetBackgroundColor(*_PAPER)
            text.GetTextProperty().SetBackgroundOpacity(0.86)

    def _leader(self, pin: Mapping[str, Any]) -> None:
        point, at = self._place(pin["point"]), self._place(pin["at"])
        for wide, colour in ((6.0, _PAPER), (2.6, _INK)):
            self._line((point, at), colour, wide * self._unit)
        self._area(_ring(point, 8.0 * self._unit, 24), _PAPER)
        self._area(_ring(point, 6.0 * self._unit, 24), _INK)

    def _pin(self, pin: Mapping[str, Any]) -> None:
        fill, rim, ink = _PAINTS[pin["severity"]]
        at, half = self._place(pin["at"]), _HALF_PX * self._unit
        corners = 4 if pin["severity"] == "error" else 40
        for reach, colour in ((half, rim), (half - 3.0 * self._unit, fill)):
            around = reach * (math.sqrt(2.0) if corners == 4 else 1.0)
            self._area(_ring(at, around, corners), colour)
        # Longer numbers are smaller, so that they stay within.
        size = round(_TEXT_PX * min(1.0, 2.5 / len(pin["text"])))
        text = self._text(pin["text"], at, size, ink)
        text.GetTextProperty().SetJustificationToCentered()
        text.GetTextProperty().SetVerticalJustificationToCentered()
        text.GetTextProperty().BoldOn()

    def _place(self, point: Sequence[float]) -> tuple[float, float]:
        return point[0] * self._finer, point[1] * self._finer

    def _text(self, text: str, at: tuple[float, float], size: int, colour: Sequence[float]) -> vtkTextActor:
        actor = vtkTextActor()
        actor.SetInput(text)
        actor.SetDisplayPosition(round(at[0]), round(at[1]))
        paint = actor.GetTextProperty()
        paint.SetFontFamilyToArial()
        paint.SetFontSize(round(size * self._unit))
        paint.SetColor(*colour)
        self._put(actor)
        return actor

    def _area(self, ring: Sequence[tuple[float, float]], colour: Sequence[float]) -> None:
        cells = vtkCellArray()
        cells.InsertNextCell(len(ring))
        for number in range(len(ring)):
            cells.InsertCellPoint(number)
        poly = _flat(ring)
        poly.SetPolys(cells)
        self._flat_actor(poly, colour)

    def _line(
        self, ends: tuple[tuple[float, float], tuple[float, float]], colour: Sequence[float], wide: float
    ) -> None:
        (x0, y0), (x1, y1) = ends
        far = max(math.hypot(x1 - x0, y1 - y0), 1e-6)
        dx, dy = (y1 - y0) / far * wide / 2.0, -(x1 - x0) / far * wide / 2.0
        self._area(((x0 + dx, y0 + dy), (x1 + dx, y1 + dy), (x1 - dx, y1 - dy), (x0 - dx, y0 - dy)), colour)

    def _flat_actor(self, poly: vtkPolyData, colour: Sequence[float]) -> None:
        mapper = vtkPolyDataMapper2D()
        mapper.SetInputData(poly)
        actor = vtkActor2D()
        actor.SetMapper(mapper)
        actor.GetProperty().SetColor(*colour)
        self._put(actor)

    def _put(self, actor: vtkActor2D) -> None:
        self._renderer.AddViewProp(actor)
        self._shown.append(actor)


def _ring(middle: tuple[float, float], radius: float, corners: int) -> list[tuple[float, float]]:
    """A regular polygon; one of four corners stands on a side."""
    angles = [2.0 * math.pi * (k + 0.5) / corners for k in range(corners)]
    return [(middle[0] + radius * math.cos(a), middle[1] + radius * math.sin(a)) for a in angles]


def _flat(ring: Sequence[tuple[float, float]]) -> vtkPolyData:
    points = vtkPoints()
    for x, y in ring:
        points.InsertNextPoint(x, y, 0.0)
    poly = vtkPolyData()
    poly.SetPoints(points)
    return poly
