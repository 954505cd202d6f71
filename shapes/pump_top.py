"""Pump top: the block with the ports that one or two pump motors screw into from below."""

from __future__ import annotations

from types import MappingProxyType

from shapes.face_ports import FacePort, Ports, block_ports
from shapes.fields import Length, Shape, choice, count
from shapes.fields import length as mm
from shapes.part import Mount, Part
from shapes.patterns import row_centres
from shapes.pose import DIRECTIONS, Pose
from shapes.solids import block

_PORTS = {"in": FacePort(face="roof"), "out": FacePort(face="window")}


class PumpTop(Shape):
    """A pump top with its ports where they are stated.

    Origin in the middle of the floor face, on which the motors hang; x along the row of motors,
    y across, z up. Mounts: ``motor_1``, ``motor_2`` (floor face, from the rear) take a `pump` with
    ``with_top: false``; ``top`` stands on the first port stated in the roof face and takes a
    reservoir, whose bottom port then meets it; ``back`` (tray face) stands on a plain surface.
    """

    pumps: int = count(1, "motors side by side", source="common practice", least=1, most=2)
    pump_pitch: Length = mm(
        70.0, "motor middle to motor middle", source="common practice, no source", least=20, most=150
    )
    motor_width: Length = mm(
        60.0, "diameter or edge of a motor", source="from memory; measure", least=20, most=120
    )
    length: Length | None = mm(
        None,
        "length along x; not given: 4 more than the motors take",
        source="from memory; measure",
        least=24,
        most=300,
    )
    width: Length = mm(64.0, "width along y", source="from memory; measure", least=24, most=150)
    height: Length = mm(28.0, "height", source="from memory; measure", least=12, most=120)
    ports: Ports = choice(_PORTS, "name of each port and where it opens", source="common practice; measure")

    def build(self) -> Part:
        """The part in its own frame. ValueError where motors or ports do not go together."""
        centres = row_centres(self.pumps, self.pump_pitch)
        if self.pumps > 1 and self.pump_pitch < self.motor_width:
            raise ValueError(
                f"pump_pitch {self.pump_pitch:g} mm: motors of {self.motor_width:g} mm would overlap"
            )
        taken = centres[-1] - centres[0] + self.motor_width
        along = taken + 4.0 if self.length is None else self.length
        if along < taken or self.width < self.motor_width:
            raise ValueError(
                f"the top, {along:g} x {self.width:g} mm, does not cover its motors, "
                f"{taken:g} x {self.motor_width:g} mm"
            )
        low, high = (-along / 2, -self.width / 2, 0.0), (along / 2, self.width / 2, self.height)
        self._check_floor(centres)
        ports, bores = block_ports(self.ports, low, high, "top")
        mounts = {
            f"motor_{number}": Mount(Pose.facing((x, 0.0, 0.0), DIRECTIONS["floor"]), "pump")
            for number, x in enumerate(centres, 1)
        }
        for name, port in self.ports.items():
            if port.face == "roof":
                mounts["top"] = Mount(ports[name].port2part, "reservoir")
                break
        back = Pose.facing((0.0, self.width / 2, self.height / 2), DIRECTIONS["tray"])
        mounts["back"] = Mount(back, "stand")
        return Part(
            solids=(block("top", low, high, "plastic"),),
            ports=MappingProxyType(ports),
            mounts=MappingProxyType(mounts),
            bores=bores,
        )

    def _check_floor(self, centres: tuple[float, ...]) -> None:
        for name, port in self.ports.items():
            for x in centres:
                away = max(abs(port.at[0] - x), abs(port.at[1]))
                if port.face == "floor" and away < self.motor_width / 2:
                    raise ValueError(f"port {name} opens into a motor, {away:.4g} mm from its middle")
