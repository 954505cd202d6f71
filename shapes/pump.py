"""Circulation pump with its top."""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal

from shapes.fields import Length, Shape, choice, length
from shapes.part import Mount, Part, Solid
from shapes.patterns import G_THREAD_MAJOR_MM, PORT_DEPTH_MM, GThread, threaded_port
from shapes.pose import DIRECTIONS, OPPOSITE, Pose
from shapes.primitives import Box, Cylinder

_WALL_MM = 2.0


class Pump(Shape):
    """A pump that stands on its motor, the top with the ports above it.

    Origin in the middle of the motor's foot; z up through the middle of motor and top, x and y along
    the edges of the top. Ports: ``in`` in the middle of the roof face, ``out`` in the side stated,
    ``in_side`` opposite to it on request; the side ports are in the middle of the top's height.
    Mounts: ``foot`` (floor) stands on a plain surface, ``top`` (roof face) takes a reservoir, whose
    bottom port then meets ``in``.
    """

    motor: Literal["round", "square"] = choice("round", "the motor's outline", source="common practice")
    motor_width: Length = length(
        60.0, "diameter or edge of the motor", source="from memory; measure", least=20, most=120
    )
    motor_height: Length = length(
        38.0, "height of the motor below the top", source="from memory; measure", least=5, most=150
    )
    top_width: Length = length(
        64.0, "edge of the top, square in plan", source="from memory; measure", least=40, most=150
    )
    top_height: Length = length(28.0, "height of the top", source="from memory; measure", least=12, most=120)
    out_side: Literal["window", "front", "tray", "rear"] = choice(
        "window", "the side the outlet opens to", source="common practice"
    )
    side_inlet: bool = choice(False, "a second inlet opposite the outlet", source="common practice")
    thread: GThread = choice("G1/4", "thread of the ports", source="ISO 228-1")
    port_depth: Length = length(
        PORT_DEPTH_MM, "depth of the ports' thread", source="common practice: 5 to 8", least=3, most=12
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where the ports do not fit the top."""
        major = G_THREAD_MAJOR_MM[self.thread]
        if self.top_height < major + 2 * _WALL_MM:
            raise ValueError(
                f"top_height {self.top_height:g} mm is too low for a {self.thread} port in its side; "
                f"least {major + 2 * _WALL_MM:.4g}"
            )
        web = self.top_width / 2 - self.port_depth - major / 2
        if web < _WALL_MM:
            raise ValueError(
                f"port_depth {self.port_depth:g} mm in a top of {self.top_width:g} mm leaves {web:.4g} mm "
                f"between side and roof port; least {_WALL_MM:g}"
            )
        half, roof = self.top_width / 2, self.motor_height + self.top_height
        middle = self.motor_height + self.top_height / 2
        facing = {"in": "roof", "out": self.out_side}
        if self.side_inlet:
            facing["in_side"] = OPPOSITE[self.out_side]
        ports, bores = {}, []
        for name, word in facing.items():
            x, y, _ = DIRECTIONS[word]
            at = (0.0, 0.0, roof) if word == "roof" else (x * half, y * half, middle)
            ports[name], bore = threaded_port(
                at, DIRECTIONS[word], thread=self.thread, depth=self.port_depth, into=("top",)
            )
            bores.append(bore)
        return Part(
            solids=(
                Solid("motor", self._motor(), Pose.at((0.0, 0.0, self.motor_height / 2))),
                Solid(
                    "top",
                    Box((self.top_width, self.top_width, self.top_height)),
                    Pose.at((0.0, 0.0, middle)),
                    "plastic",
                ),
            ),
            ports=MappingProxyType(ports),
            mounts=MappingProxyType(
                {
                    "foot": Mount(Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["floor"]), "stand"),
                    "top": Mount(Pose.facing((0.0, 0.0, roof), DIRECTIONS["roof"]), "reservoir"),
                }
            ),
            bores=tuple(bores),
        )

    def _motor(self) -> Cylinder | Box:
        if self.motor == "round":
            return Cylinder(self.motor_width, self.motor_height)
        return Box((self.motor_width, self.motor_width, self.motor_height))
