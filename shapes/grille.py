"""Fan grille."""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import Literal

from shapes.fields import Length, Shape, choice, count, length
from shapes.part import Part, Solid
from shapes.patterns import FAN_HOLE_MM, FAN_HOLE_SPACING_MM, fan_faces, row_centres
from shapes.primitives import Plate, RectOpening, RoundOpening


class Grille(Shape):
    """A thin sheet with a field of slots in front of each fan, screwed on with the fans.

    Origin in the middle of the sheet; x along the row of fans, y across, z through the sheet.
    Mounts on both faces: ``a`` (roof) and ``b`` (floor) for the whole row, ``a1``, ``b1`` and so on
    for one fan, counted from the rear. Finger guard and dust mesh are made the same way; the slots
    run along x and are as wide as stated, so nothing thicker passes.
    """

    fans: int = count(1, "fans in the row", source="common practice", least=1, most=4)
    fan_size: Literal[120, 140] = choice(120, "size of the fans [mm]", source="common practice")
    fan_pitch: Length | None = length(
        None,
        "fan middle to fan middle; not given: fans flush, their size",
        source="geometry of flush frames",
        least=120,
        most=160,
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
        pitch = float(self.fan_size) if self.fan_pitch is None else self.fan_pitch
        if self.fans > 1 and pitch < self.fan_size:
            raise ValueError(f"fan_pitch {pitch:g} mm: fans of {self.fan_size} mm would overlap")
        centres = row_centres(self.fans, pitch)
        mounts = fan_faces(
            size=self.fan_size,
            count=self.fans,
            pitch=pitch,
            spacing=FAN_HOLE_SPACING_MM[self.fan_size],
            diameter=FAN_HOLE_MM,
            thickness=self.thickness,
        )
        sheet = Plate(
            ((self.fans - 1) * pitch + self.fan_size, self.fan_size),
            self.thickness,
            tuple(slot for x in centres for slot in self._slots(x)),
            tuple(RoundOpening(hole.at, hole.diameter) for hole in mounts["a"].rows[str(self.fan_size)]),
        )
        return Part(solids=(Solid("sheet", sheet, look="metal"),), mounts=MappingProxyType(mounts))

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
