"""A power supply."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType

import numpy as np

from shapes.fields import Length, Shape, choice, length
from shapes.form_factors import PSU_SIZE_MM, PsuStyle, psu_holes
from shapes.part import Bore, Mount, Part, Zone
from shapes.pose import DIRECTIONS, Pose, Vec3
from shapes.primitives import Cylinder
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
        None,
        "rear to front; 140 (PS2) or 100 (SFX) if left out, 130 for SFX-L",
        source="from memory",
        least=60,
        most=300,
    )
    cable_room: Length = length(
        45.0,
        "plugs and cable bends before the front face; 0: none",
        source="common practice, no source",
        least=0,
        most=150,
    )

    air_room: Length = length(
        12.7,
        "room before its fan; 0: none. The case it is fixed to is let off",
        source="power supply design guide 4.3 (0.5 in before grilles), secondary source",
        least=0,
        most=100,
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
            zones=tuple(self._zones(low, high, fan_opening)),
            bores=(fan_opening,),
        )

    def _zones(self, low: Vec3, high: Vec3, fan: Bore) -> Iterator[Zone]:
        if self.cable_room:
            near, far = (high[0], *low[1:]), (high[0] + self.cable_room, *high[1:])
            yield room("cable_room", near, far, "the power supply's plugs and cables")
        if self.air_room:
            middle = fan.bore2part.origin + fan.bore2part.z_axis * (self.air_room / 2.0)
            pose = Pose.facing(middle, DIRECTIONS["floor"])
            opening = Cylinder(fan.diameter, self.air_room)
            yield Zone("air_room", opening, pose, "the power supply's fan draws its air here", "warning")
