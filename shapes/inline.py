"""Bodies with a way straight through: what valves, couplings and their like share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shapes.fields import choice
from shapes.fitting import LEAST_WEB_MM, Adapter, check_wall
from shapes.part import Bore, Port, Solid
from shapes.patterns import threaded_port
from shapes.pose import DIRECTIONS, Pose
from shapes.primitives import Box, Cylinder

#: A valve's stem, and the thickness and width of its lever, from memory [mm].
STEM_MM = 5.0
_THICK_MM, _BROAD_MM = 4.0, 8.0


@dataclass(frozen=True, slots=True)
class Inlet:
    """The lower end of a body: its solids, its one port, its bores, and where the body begins [mm]."""

    solids: tuple[Solid, ...]
    ports: dict[str, Port]
    bores: tuple[Bore, ...]
    start: float


class Inline(Adapter):
    """A body along z whose lower end is a port or a male thread."""

    inlet: Literal["female", "male"] = choice(
        "female", "the lower end: a port, or a thread that is screwed into one", source="common practice"
    )

    def lower_end(self, into: tuple[str, ...], high: float) -> Inlet:
        """The inlet of a body made of the solids ``into``, with the way through up to ``high``."""
        start = self.base_length if self.inlet == "male" else 0.0
        if self.inlet == "male":
            return Inlet(self.stud(), {"thread": self.male()}, (self.bored(self.bore, high),), start)
        port, thread = threaded_port(
            (0.0, 0.0, 0.0), DIRECTIONS["floor"], thread=self.thread, depth=self.port_depth, into=into
        )
        return Inlet((), {"in": port}, (thread, Bore(port.port2part, self.bore, high, into)), start)

    def upper_end(self, into: tuple[str, ...], high: float) -> tuple[Port, Bore]:
        """The port ``out`` in the roof face at ``high``."""
        return threaded_port(
            (0.0, 0.0, high), DIRECTIONS["roof"], thread=self.thread, depth=self.port_depth, into=into
        )

    def check_body(self, what: str, width: float, length: float, ports: int) -> None:
        """ValueError where this many ports do not fit a body this wide and long [mm]."""
        check_wall(f"{what}_width", width, self.thread)
        least = ports * self.port_depth + LEAST_WEB_MM
        if length < least:
            number = "a port" if ports == 1 else f"{ports} ports"
            raise ValueError(
                f"{what}_length {length:g} mm is too short for {number} {self.port_depth:g} mm deep; "
                f"least {least:g}"
            )
        if self.bore > width - 2 * LEAST_WEB_MM:
            raise ValueError(
                f"bore {self.bore:g} mm is too wide for a body of {width:g} mm; "
                f"most {width - 2 * LEAST_WEB_MM:g}"
            )


@dataclass(frozen=True, slots=True)
class Lever:
    """A valve's lever on a stem, on the front of a square body; a quarter turn closes the valve.

    axis_z : height of the stem's axis; width : of the body; length : from the stem's axis to the tip [mm]
    """

    axis_z: float
    width: float
    length: float

    def solids(self) -> tuple[Solid, Solid]:
        """Stem and lever, the lever along z as it stands when the valve is open."""
        near = self.width / 2
        stem = Pose.facing((near + STEM_MM / 2, 0.0, self.axis_z), DIRECTIONS["front"])
        middle = (near + STEM_MM + _THICK_MM / 2, 0.0, self.axis_z + (self.length - _BROAD_MM / 2) / 2)
        grip = Box((_THICK_MM, _BROAD_MM, self.length + _BROAD_MM / 2))
        return (
            Solid("stem", Cylinder(_BROAD_MM, STEM_MM), stem, "metal"),
            Solid("lever", grip, Pose.at(middle)),
        )

    def room(self) -> tuple[Box, Pose]:
        """The room the lever takes on its quarter turn, from roof toward tray."""
        low, high = -_BROAD_MM / 2, self.length
        middle = (low + high) / 2
        box = Box((_THICK_MM, high - low, high - low))
        return box, Pose.at((self.width / 2 + STEM_MM + _THICK_MM / 2, middle, self.axis_z + middle))
