"""A power supply."""

from __future__ import annotations

from types import MappingProxyType

import numpy as np

from shapes.fields import Length, Shape, choice, length
from shapes.form_factors import PSU_SIZE_MM, PsuStyle, psu_holes
from shapes.part import Bore, Mount, Part, Zone
from shapes.pose import DIRECTIONS, Pose, Vec3
from shapes.solids import block, room

_FAN_OPENING_MM = MappingProxyType({"PS2": 125.0, "SFX": 85.0})
_FAN_DEPTH_MM = 12.0


class PowerSupply(Shape):
    """A power supply as it stands on the case's floor, its fan down.

    Origin: middle of the rear face, the one with the mains inlet; x to the front, y to the tray,
    z to the roof. It is screwed on with four #6-32 screws (PS/2 style) or six (SFX style).
    Mount: ``rear``. Holds mains voltage, also for a while after it is unplugged: never open one.
    """

    style: PsuStyle = choice(
        "PS2",
        "150 x 86 mm or 125 x 63.5 mm face with its screws",
        source="PS/2 and SFX styles, secondary source, original not read; depth from memory",
    )
    depth: Length | None = length(
        None, "rear to front; 140 (PS2) or 100 (SFX) if left out", source="from memory", least=60, most=300
    )
    cable_room: Length = length(
        45.0,
        "plugs and cable bends before the front face; 0: none",
        source="common practice, no source",
        least=0,
        most=150,
    )

    def build(self) -> Part:
        """The supply in its own frame."""
        width, height, usual_depth = PSU_SIZE_MM[self.style]
        depth = usual_depth if self.depth is None else self.depth
        low, high = (0.0, -width / 2.0, -height / 2.0), (depth, width / 2.0, height / 2.0)
        rear = Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["rear"])
        fan = min(_FAN_OPENING_MM[self.style], depth - 15.0)
        fan_opening = Bore(
            Pose.facing(np.array((depth / 2.0, 0.0, low[2])), DIRECTIONS["floor"]), fan, _FAN_DEPTH_MM
        )
        return Part(
            solids=(block("housing", low, high),),
            mounts=MappingProxyType(
                {"rear": Mount(rear, "psu", MappingProxyType({self.style: psu_holes(self.style)}))}
            ),
            zones=(self._cables(low, high),) if self.cable_room else (),
            bores=(fan_opening,),
        )

    def _cables(self, low: Vec3, high: Vec3) -> Zone:
        near, far = (high[0], *low[1:]), (high[0] + self.cable_room, *high[1:])
        return room("cable_room", near, far, "the power supply's plugs and cables")
