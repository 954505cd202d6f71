"""What all closed cases have in common: outer sizes, sheet, window, feet, panels that come off."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal, TypeAlias

from pydantic import BeforeValidator

from shapes.fields import Length, Shape, choice, length
from shapes.part import Look, Solid
from shapes.pose import DIRECTIONS, Vec3
from shapes.solids import sheet

CP = "common practice, no source"


def _worded(value: object) -> object:
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


#: A fan's size as the word of its row; may be written as a number.
FanWord = BeforeValidator(_worded)
RearFan: TypeAlias = Annotated[Literal["120", "140", "none"], FanWord]


class Case(Shape):
    """A closed case of sheet panels; its origin is the rear lower corner of the shell, window side.

    x to the front, y to the tray, z to the roof.
    """

    width: Length = length(215.0, "outside, window to tray side", source=CP, least=100, most=500)
    depth: Length = length(480.0, "outside, rear to front", source=CP, least=220, most=800)
    height: Length = length(480.0, "outside, without feet", source=CP, least=180, most=900)
    panel: Length = length(
        1.0,
        "thickness of all sheet panels",
        source="common practice; microATX 1.2 asks for 0.94 to 1.32 at the I/O aperture",
        least=0.5,
        most=3,
    )
    window: Literal["glass", "steel", "none"] = choice("glass", "side panel; none: taken off", source=CP)
    glass: Length = length(4.0, "thickness of a glass side panel", source=CP, least=2, most=8)
    feet: Length = length(15.0, "height of the feet", source=CP, above=0, most=80)

    @property
    def _low(self) -> Vec3:
        """Inner lower corner of the shell: rear, window, floor [mm]."""
        return (self.panel, self.glass if self.window == "glass" else self.panel, self.panel)

    @property
    def _high(self) -> Vec3:
        """Inner upper corner of the shell: front, tray side, roof [mm]."""
        return (self.depth - self.panel, self.width - self.panel, self.height - self.panel)

    def _side_panels(self) -> Iterator[Solid]:
        """The two panels that come off sideways, standing between floor and roof."""
        (x0, y0, z0), (x1, y1, z1) = self._low, self._high
        if self.window != "none":
            look: Look = "glass" if self.window == "glass" else "panel"
            yield sheet("window_panel", (x0, 0.0, z0), (x1, y0, z1), look=look)
        yield sheet("tray_panel", (x0, y1, z0), (x1, self.width, z1))

    def _removals(self, **others: str) -> dict[str, Vec3]:
        """Which solids come off, and the way each is drawn off."""
        ways = {"tray_panel": "tray", **others}
        if self.window != "none":
            ways["window_panel"] = "window"
        return {name: DIRECTIONS[way] for name, way in ways.items()}
