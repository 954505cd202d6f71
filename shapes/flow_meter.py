"""Flow meter in line with a tube."""

from __future__ import annotations

from types import MappingProxyType

from shapes.fields import Length, Shape, choice, length
from shapes.fitting import LEAST_WEB_MM, check_wall, way_length
from shapes.part import Bore, Part, Port, Solid, Zone
from shapes.patterns import PORT_DEPTH_MM, GThread, threaded_port
from shapes.pose import DIRECTIONS, Pose, Vec3
from shapes.primitives import Box


class FlowMeter(Shape):
    """A block with a port at either end and a cable at its top.

    Origin in the middle of the block, x along the way through, z up to the cable. Ports: ``in`` (rear) and
    ``out`` (front). A zone on the roof face keeps room for the plug and its cable. Many must be mounted
    a stated way up, and want a straight length of tube before them: see the maker's sheet.
    """

    body_length: Length = length(
        56.0, "along the way through", source="from memory; measure", least=20, most=150
    )
    body_width: Length = length(30.0, "across, in plan", source="from memory; measure", least=16, most=100)
    body_height: Length = length(34.0, "height", source="from memory; measure", least=16, most=100)
    cable_room: Length = length(
        20.0, "height kept free for plug and cable", source="common practice, no source", least=1, most=80
    )
    bore: Length = way_length()
    thread: GThread = choice("G1/4", "thread of the ports", source="ISO 228-1")
    port_depth: Length = length(
        PORT_DEPTH_MM, "depth of the ports' thread", source="common practice: 5 to 8", least=3, most=20
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where the ports do not fit the block."""
        check_wall("body_width", self.body_width, self.thread)
        check_wall("body_height", self.body_height, self.thread)
        least = 2 * self.port_depth + LEAST_WEB_MM
        if self.body_length < least:
            raise ValueError(
                f"body_length {self.body_length:g} mm is too short for two ports "
                f"{self.port_depth:g} mm deep; least {least:g}"
            )
        most = min(self.body_width, self.body_height) - 2 * LEAST_WEB_MM
        if self.bore > most:
            raise ValueError(f"bore {self.bore:g} mm is too wide for this block; most {most:g}")
        ports: dict[str, Port] = {}
        bores = []
        for name, word in (("in", "rear"), ("out", "front")):
            x, y, z = DIRECTIONS[word]
            at: Vec3 = (x * self.body_length / 2, y, z)
            ports[name], bore = threaded_port(at, (x, y, z), thread=self.thread, depth=self.port_depth)
            bores.append(bore)
        bores.append(Bore(ports["in"].port2part, self.bore, self.body_length))
        body = Box((self.body_length, self.body_width, self.body_height))
        side = min(self.body_length, self.body_width)
        middle = Pose.at((0.0, 0.0, (self.body_height + self.cable_room) / 2))
        return Part(
            solids=(Solid("body", body, look="plastic"),),
            ports=MappingProxyType(ports),
            zones=(
                Zone("cable", Box((side, side, self.cable_room)), middle, "its plug and cable leave here"),
            ),
            bores=tuple(bores),
        )
