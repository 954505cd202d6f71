"""Circulation pump with its top."""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal

from shapes.fields import Length, Shape, choice, length
from shapes.part import Bore, Mount, Part, Port, Solid, Zone
from shapes.patterns import G_THREAD_MAJOR_MM, PORT_DEPTH_MM, GThread, threaded_port
from shapes.pose import DIRECTIONS, OPPOSITE, Pose
from shapes.primitives import Box, Cylinder
from shapes.solids import room

_WALL_MM = 2.0
#: Half the width of the room for plug and cable.
_CABLE_MM = 8.0


class Pump(Shape):
    """A pump that stands on its motor, the top with the ports above it.

    Origin in the middle of the motor's foot; z up through the middle of motor and top, x and y along
    the edges of the top. Ports: ``in`` in the middle of the roof face, ``out`` in the side stated,
    ``in_side`` opposite to it on request; the side ports are in the middle of the top's height.
    Mounts: ``foot`` (floor) stands on a plain surface, ``top`` (roof face) takes a reservoir, whose
    bottom port then meets ``in``. With ``with_top: false`` it is the motor alone, its mount ``seat``
    (roof face) screwed under a `pump_top` or a `distribution_plate`.
    """

    motor: Literal["round", "square"] = choice("round", "the motor's outline", source="common practice")
    motor_width: Length = length(
        60.0, "diameter or edge of the motor", source="from memory; measure", least=20, most=120
    )
    motor_height: Length = length(
        38.0, "height of the motor below the top", source="from memory; measure", least=5, most=150
    )
    flange_width: Length | None = length(
        None,
        "diameter or edge of a flange at the motor's upper end; not given: none",
        source="measured by the builder",
        least=20,
        most=150,
    )
    flange_height: Length = length(
        5.0, "height of the flange, part of the motor's", source="from memory; measure", least=1, most=40
    )
    cable_room: Length = length(
        0.0,
        "room for plug and cable, out of the motor's side opposite to the outlet",
        source="measured by the builder; 0: not looked at",
        least=0,
        most=100,
    )
    with_top: bool = choice(True, "a top of its own; else the motor alone", source="common practice")
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
        """The part in its own frame. ValueError where the flange or the ports do not fit."""
        if not self.with_top:
            seat = Pose.facing((0.0, 0.0, self.motor_height), DIRECTIONS["roof"])
            return Part(
                solids=self._motor(),
                mounts=MappingProxyType({"seat": Mount(seat, "pump"), "foot": self._foot()}),
                zones=self._cable(),
            )
        self._check_ports()
        ports, bores = self._ports()
        roof, middle = self.motor_height + self.top_height, self.motor_height + self.top_height / 2
        top = Box((self.top_width, self.top_width, self.top_height))
        return Part(
            solids=(*self._motor(), Solid("top", top, Pose.at((0.0, 0.0, middle)), "plastic")),
            ports=MappingProxyType(ports),
            mounts=MappingProxyType(
                {
                    "foot": self._foot(),
                    "top": Mount(Pose.facing((0.0, 0.0, roof), DIRECTIONS["roof"]), "reservoir"),
                }
            ),
            zones=self._cable(),
            bores=bores,
        )

    def _check_ports(self) -> None:
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

    def _ports(self) -> tuple[dict[str, Port], tuple[Bore, ...]]:
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
        return ports, tuple(bores)

    def _foot(self) -> Mount:
        return Mount(Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["floor"]), "stand")

    def _motor(self) -> tuple[Solid, ...]:
        """The motor and, at its upper end, the flange."""
        if self.flange_width is None:
            return (self._round_or_square("motor", self.motor_width, 0.0, self.motor_height),)
        if self.flange_width < self.motor_width:
            raise ValueError(
                f"flange_width {self.flange_width:g} mm is below the motor's {self.motor_width:g} mm"
            )
        below = self.motor_height - self.flange_height
        if below < 1.0:
            raise ValueError(
                f"flange_height {self.flange_height:g} mm leaves {below:.4g} mm of a motor of "
                f"{self.motor_height:g} mm; least 1"
            )
        return (
            self._round_or_square("motor", self.motor_width, 0.0, below),
            self._round_or_square("flange", self.flange_width, below, self.motor_height),
        )

    def _round_or_square(self, name: str, width: float, low: float, high: float) -> Solid:
        round_bar = self.motor == "round"
        body = Cylinder(width, high - low) if round_bar else Box((width, width, high - low))
        return Solid(name, body, Pose.at((0.0, 0.0, (low + high) / 2)))

    def _cable(self) -> tuple[Zone, ...]:
        """Beside the motor's lower half, at the side opposite to the outlet."""
        if self.cable_room == 0.0:
            return ()
        x, y, _ = DIRECTIONS[OPPOSITE[self.out_side]]
        side = self.motor_width / 2
        ends = [(x * reach, y * reach) for reach in (side, side + self.cable_room)]
        low, high = ([pick(end[axis] for end in ends) for axis in (0, 1)] for pick in (min, max))
        wide = (abs(y) * _CABLE_MM, abs(x) * _CABLE_MM)
        return (
            room(
                "cable",
                (low[0] - wide[0], low[1] - wide[1], 0.0),
                (high[0] + wide[0], high[1] + wide[1], min(2 * _CABLE_MM, self.motor_height)),
                "the pump's plug and cable",
            ),
        )
