"""Angled adapter: a male thread at one end, a port for the next thread at the other."""

from __future__ import annotations

from types import MappingProxyType

from shapes.angled import Angled
from shapes.fields import Length, length
from shapes.fitting import check_wall
from shapes.part import Part
from shapes.patterns import PORT_DEPTH_MM, threaded_port


class RotaryAdapter(Angled):
    """An adapter that turns a port by 45 or 90 degrees.

    Stands on its thread: origin in the sealing face that meets the port's face, z up along the
    thread's axis, the outlet toward x (front). Ports: ``thread`` (floor) and ``mouth``, a port for the next
    thread, ``reach`` out along the outlet's axis from where the two axes cross. In a scene ``turn`` rolls
    it about its thread. One that swivels may have any turn; a fixed one (``swivel: false``) stands
    where its thread tightens, so measure its turn dry or shim it before you rely on it. What a
    90 degree one sweeps while it is screwed in is a circle of diameter
    2 sqrt(reach^2 + (body_diameter / 2)^2); ``swing_room`` keeps it free of parts.
    """

    reach: Length = length(
        18.0, "from where the axes cross to the mouth", source="from memory; measure", least=5, most=80
    )
    port_depth: Length = length(
        PORT_DEPTH_MM, "depth of the mouth's thread", source="common practice: 5 to 8", least=3, most=20
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        solids = self.stud()
        way = self.bored(self.bore, self.base_length, ("thread", "base"))
        check_wall("body_diameter", self.body_diameter, self.thread)
        elbow = self.elbow(self.reach)
        elbow.check(self.port_depth)
        outlet = elbow.outlet()
        x, y, z = (float(value) for value in outlet.origin)
        ox, oy, oz = (float(value) for value in outlet.z_axis)
        mouth, bore = threaded_port(
            (x, y, z), (ox, oy, oz), thread=self.thread, depth=self.port_depth, into=("elbow",)
        )
        return Part(
            solids=(*solids, elbow.solid()),
            ports=MappingProxyType({"thread": self.male(), "mouth": mouth}),
            zones=self.zones(elbow, self.reach, self.body_diameter, self.base_length),
            bores=(way, bore),
        )
