"""Circulation pump that lies on its side: a long motor behind a head with the ports."""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal

from shapes.face_ports import FacePort, block_ports
from shapes.fields import Length, Shape, choice, length
from shapes.part import Mount, Part
from shapes.patterns import PORT_DEPTH_MM, GThread
from shapes.pose import DIRECTIONS, Pose
from shapes.solids import bar, block


class InlinePump(Shape):
    """A pump that lies, its motor a round bar behind the head.

    Origin in the middle of the foot's floor face; x along the motor, which points to the rear, y
    across, z up. Ports: ``in`` in the middle of the head's front face, ``out`` in the middle of the
    side stated. Mount ``foot`` (floor) stands on a plain surface.
    """

    motor_width: Length = length(
        70.0, "diameter of the motor", source="from memory; measure", least=20, most=150
    )
    motor_length: Length = length(
        90.0, "length of the motor behind the head", source="from memory; measure", least=10, most=250
    )
    head_width: Length = length(
        74.0,
        "edge of the head, square seen from the front",
        source="from memory; measure",
        least=24,
        most=160,
    )
    head_length: Length = length(
        32.0, "length of the head along x", source="from memory; measure", least=18, most=100
    )
    foot_width: Length = length(70.0, "width of the foot", source="from memory; measure", least=10, most=160)
    foot_height: Length = length(
        8.0, "height of the foot under motor and head", source="from memory; measure", least=1, most=40
    )
    out_side: Literal["roof", "window", "tray"] = choice(
        "roof", "the side the outlet opens to", source="common practice"
    )
    thread: GThread = choice("G1/4", "thread of the ports", source="ISO 228-1")
    port_depth: Length = length(
        PORT_DEPTH_MM, "depth of the ports' thread", source="common practice: 5 to 8", least=3, most=12
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where motor, head and ports do not go together."""
        if self.motor_width > self.head_width:
            raise ValueError(
                f"motor_width {self.motor_width:g} mm is above the head's {self.head_width:g} mm"
            )
        whole, half = self.motor_length + self.head_length, self.head_width / 2
        axis_z = self.foot_height + half
        joint_x = whole / 2 - self.head_length
        low, high = (joint_x, -half, self.foot_height), (whole / 2, half, self.foot_height + self.head_width)
        ports, bores = block_ports(
            {
                "in": FacePort(face="front", thread=self.thread, depth=self.port_depth),
                "out": FacePort(face=self.out_side, thread=self.thread, depth=self.port_depth),
            },
            low,
            high,
            "head",
        )
        foot_low = (-whole / 2, -self.foot_width / 2, 0.0)
        return Part(
            solids=(
                bar("motor", (joint_x, 0.0, axis_z), "rear", self.motor_length, self.motor_width, "black"),
                block("head", low, high, "plastic"),
                block("foot", foot_low, (whole / 2, self.foot_width / 2, self.foot_height), "plastic"),
            ),
            ports=MappingProxyType(ports),
            mounts=MappingProxyType(
                {"foot": Mount(Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["floor"]), "stand")}
            ),
            bores=bores,
        )
