"""Plug with a temperature sensor in it."""

from __future__ import annotations

from types import MappingProxyType

from shapes.fields import Length, length
from shapes.fitting import Stud
from shapes.part import Part, Zone
from shapes.pose import Pose
from shapes.primitives import Cylinder


class TemperaturePlug(Stud):
    """A plug with a sensor whose cable leaves through the head.

    Stands on its thread: origin in the sealing face that meets the port's face, z up. Port: ``thread``
    (floor). The base is its head; above it a round zone keeps room for the cable and its bend.
    """

    cable_room: Length = length(
        20.0, "height kept free above the head", source="common practice, no source", least=1, most=80
    )
    cable_diameter: Length = length(
        8.0, "width kept free above the head", source="common practice, no source", least=1, most=40
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        room = Cylinder(self.cable_diameter, self.cable_room)
        middle = Pose.at((0.0, 0.0, self.base_length + self.cable_room / 2))
        return Part(
            solids=self.stud(),
            ports=MappingProxyType({"thread": self.male()}),
            zones=(Zone("cable", room, middle, "the sensor's cable leaves here"),),
        )
