"""Extender: moves a port out along its own axis."""

from __future__ import annotations

from types import MappingProxyType

from shapes.fields import Length, length
from shapes.fitting import LEAST_WEB_MM, Adapter, bar, check_wall
from shapes.part import Part
from shapes.patterns import threaded_port
from shapes.pose import DIRECTIONS


class Extender(Adapter):
    """A male thread with a port for the next thread straight above it.

    Stands on its thread: origin in the sealing face that meets the port's face, z up along the part.
    Ports: ``thread`` (floor) and ``mouth`` (roof), a port ``body_length`` above the origin.
    """

    body_length: Length = length(
        20.0, "from the port's face to the new one", source="common practice: 10 to 50", least=5, most=150
    )
    body_diameter: Length = length(18.0, "diameter of the body", source="from memory", least=10, most=40)

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        solids = self.stud()
        check_wall("body_diameter", self.body_diameter, self.thread)
        least = max(self.port_depth + LEAST_WEB_MM, self.base_length + 0.5)
        if self.body_length < least:
            raise ValueError(
                f"body_length {self.body_length:g} mm is too short for a base of {self.base_length:g} mm "
                f"and a port {self.port_depth:g} mm deep; least {least:g}"
            )
        mouth, bore = threaded_port(
            (0.0, 0.0, self.body_length), DIRECTIONS["roof"], thread=self.thread, depth=self.port_depth
        )
        return Part(
            solids=(*solids, bar("body", self.body_diameter, self.base_length, self.body_length)),
            ports=MappingProxyType({"thread": self.male(), "mouth": mouth}),
            bores=(self.bored(self.bore, self.body_length), bore),
        )
