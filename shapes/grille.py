"""Fan grille."""

from __future__ import annotations

import math
from typing import Literal

from shapes.fields import Length, Shape, choice, count, length
from shapes.part import Part
from shapes.patterns import fan_sheet
from shapes.primitives import RectOpening


class Grille(Shape):
    """A thin sheet with a field of slots in front of each fan, screwed on with the fans.

    Origin in the middle of the sheet; x along the row of fans, y across, z through the sheet.
    Mounts on both faces: ``a`` (roof) and ``b`` (floor) for the whole row, ``a1``, ``b1`` and so on
    for one fan, counted from the rear. Finger guard and dust mesh are made the same way; the slots
    run along x and are as wide as stated, so nothing thicker passes.
    """

    fans: int = count(1, "fans in the row", source="common practice", least=1, most=4)
    fan_size: Literal[120, 140, 180, 200] = choice(120, "size of the fans [mm]", source="common practice")
    fan_pitch: Length | None = length(
        None,
        "fan middle to fan middle; not given: fans flush, their size",
        source="geometry of flush frames",
        least=120,
        most=230,
    )
    thickness: Length = length(
        1.0, "thickness of the sheet", source="common practice, no source", least=0.5, most=5
    )
    slot: Length = length(8.0, "width of a slot", source="common practice, no source", least=2, most=12)
    bar: Length = length(
        2.0, "width of a bar between slots", source="common practice, no source", least=1, most=20
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where fans would overlap."""
        return fan_sheet(
            size=self.fan_size,
            count=self.fans,
            pitch=self.fan_pitch,
            thickness=self.thickness,
            openings=self._slots,
            name="sheet",
            look="metal",
        )

    def _slots(self, centre_x: float) -> list[RectOpening]:
        """Slots whose corners all lie in the fan's duct, 6 mm smaller than the fan."""
        radius = self.fan_size / 2 - 3.0
        step = self.slot + self.bar
        most = int((radius - self.slot / 2) // step)
        slots = []
        for number in range(-most, most + 1):
            y = number * step
            half = math.sqrt(radius**2 - (abs(y) + self.slot / 2) ** 2)
            if half > self.slot / 2:
                slots.append(RectOpening((centre_x, y), (2 * half, self.slot)))
        return slots
