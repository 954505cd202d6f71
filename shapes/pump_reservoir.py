"""Pump and tube reservoir in one, the tube straight above the pump."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import Literal

from shapes.fields import Length, Shape, choice, length
from shapes.part import Bore, Part
from shapes.patterns import PORT_DEPTH_MM, GThread
from shapes.pose import TURNED_OVER, Pose, compose
from shapes.pump import Pump
from shapes.tube_reservoir import TubeReservoir


class PumpReservoir(Shape):
    """A pump whose top is the base of a tube reservoir.

    Origin in the middle of the motor's foot; z up along motor and tube, x and y along the edges of
    the base. Ports: ``out`` (the pump's) in the base's side stated, ``in`` in the roof face toward
    the front, ``in_side`` in the bottom cap toward the window and ``drain`` toward the rear on
    request. Mounts: ``foot`` (floor) stands on a plain surface; ``tube_tray``, ``tube_window``,
    ``tube_front`` and ``tube_rear`` take a band clamp.
    """

    motor: Literal["round", "square"] = choice("round", "the motor's outline", source="common practice")
    motor_width: Length = length(
        60.0, "diameter or edge of the motor", source="from memory; measure", least=20, most=120
    )
    motor_height: Length = length(
        38.0, "height of the motor below the base", source="from memory; measure", least=5, most=150
    )
    base_width: Length = length(
        64.0, "edge of the base, square in plan", source="from memory; measure", least=40, most=150
    )
    base_height: Length = length(
        28.0, "height of the base", source="from memory; measure", least=12, most=120
    )
    diameter: Length = length(
        60.0, "outside diameter of the tube", source="common practice: 50, 60", least=30, most=120
    )
    wall: Length = length(3.0, "wall of the tube", source="common practice, no source", least=1, most=10)
    tube_length: Length = length(
        150.0, "length of tube between the caps", source="common practice: 100 to 250", least=30, most=500
    )
    cap_diameter: Length = length(
        64.0, "diameter of the caps", source="common practice, no source", least=30, most=150
    )
    out_side: Literal["window", "front", "tray", "rear"] = choice(
        "window", "the side the outlet opens to", source="common practice"
    )
    side_inlet: bool = choice(False, "a second inlet in the bottom cap", source="common practice")
    drain: bool = choice(False, "a drain port in the bottom cap", source="common practice")
    thread: GThread = choice("G1/4", "thread of the ports", source="ISO 228-1")
    port_depth: Length = length(
        PORT_DEPTH_MM, "depth of the ports' thread", source="common practice: 5 to 8", least=3, most=12
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where pump and reservoir do not go together."""
        pump = self._pump().build()
        tank = self._reservoir().build()
        mate = compose(tank.mounts["base"].mount2part.inverse, TURNED_OVER, pump.mounts["top"].mount2part)
        taken = {"in": pump.ports["in"], "bottom": tank.ports["bottom"]}
        within = [port.port2part for port in taken.values()]
        raised = _raised(tank, mate)
        names = {"top": "in", "bottom_side": "in_side", "drain": "drain"}
        return replace(
            raised,
            solids=(*pump.solids, *raised.solids),
            ports=MappingProxyType(
                {"out": pump.ports["out"]}
                | {new: raised.ports[old] for old, new in names.items() if old in raised.ports}
            ),
            mounts=MappingProxyType(
                {"foot": pump.mounts["foot"]}
                | {name: mount for name, mount in raised.mounts.items() if mount.kind == "band"}
            ),
            bores=tuple(
                [bore for bore in pump.bores if bore.bore2part is not within[0]]
                + [
                    raised_bore
                    for bore, raised_bore in zip(tank.bores, raised.bores, strict=True)
                    if bore.bore2part is not within[1]
                ]
            ),
        )

    def _pump(self) -> Pump:
        return Pump(
            motor=self.motor,
            motor_width=self.motor_width,
            motor_height=self.motor_height,
            top_width=self.base_width,
            top_height=self.base_height,
            out_side=self.out_side,
            thread=self.thread,
            port_depth=self.port_depth,
        )

    def _reservoir(self) -> TubeReservoir:
        return TubeReservoir(
            diameter=self.diameter,
            wall=self.wall,
            tube_length=self.tube_length,
            cap_diameter=self.cap_diameter,
            side_port=self.side_inlet,
            drain=self.drain,
            thread=self.thread,
            port_depth=self.port_depth,
        )


def _raised(part: Part, part2there: Pose) -> Part:
    """The part as it stands in another frame."""

    def bore(one: Bore) -> Bore:
        return replace(one, bore2part=compose(one.bore2part, part2there))

    return replace(
        part,
        solids=tuple(replace(one, solid2part=compose(one.solid2part, part2there)) for one in part.solids),
        ports=MappingProxyType(
            {
                name: replace(port, port2part=compose(port.port2part, part2there))
                for name, port in part.ports.items()
            }
        ),
        mounts=MappingProxyType(
            {
                name: replace(mount, mount2part=compose(mount.mount2part, part2there))
                for name, mount in part.mounts.items()
            }
        ),
        zones=tuple(replace(one, zone2part=compose(one.zone2part, part2there)) for one in part.zones),
        bores=tuple(bore(one) for one in part.bores),
    )
