"""What the straight fittings share: a thread, a base that seals on the port's face, a sleeve for the tube."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from shapes.part import Bore, Part, Port, Socket, Solid
from shapes.patterns import G_THREAD_MAJOR_MM
from shapes.pose import DIRECTIONS, Pose
from shapes.primitives import Cylinder

#: Least wall between the coolant's bore and thread or barb [mm].
LEAST_WALL_MM = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class StraightFitting:
    """A fitting that stands on its thread: origin in the sealing face, z up to the tube.

    sleeve : name of the solid round the tube's end (collar, clamp), ``sleeve_length`` long [mm]
    bore : diameter of the coolant's way through [mm]
    barb : diameter of the barb inside the tube [mm], None for none. It stands in the sleeve's
        socket: the two share room as primitives, not once the socket is cut.
    """

    thread: str
    thread_length: float
    base_diameter: float
    base_length: float
    sleeve: str
    sleeve_diameter: float
    sleeve_length: float
    tube_outside: float
    bore: float
    socket: Socket
    barb: float | None = None

    def part(self) -> Part:
        """The part; ValueError for dimensions that do not go together."""
        self._check()
        mouth_z = self.base_length + self.sleeve_length
        insertion = self.socket.insertion
        major = G_THREAD_MAJOR_MM[self.thread]
        solids = [
            _bar("thread", major, -self.thread_length, 0.0),
            _bar("base", self.base_diameter, 0.0, self.base_length),
            _bar(self.sleeve, self.sleeve_diameter, self.base_length, mouth_z),
        ]
        if self.barb is not None:
            solids.append(_bar("barb", self.barb, mouth_z - insertion, mouth_z))
        mouth = Pose.facing((0.0, 0.0, mouth_z), DIRECTIONS["roof"])
        return Part(
            solids=tuple(solids),
            ports=MappingProxyType(
                {
                    "thread": Port(
                        Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["floor"]), self.thread, self.thread_length
                    ),
                    "mouth": Port(mouth),
                }
            ),
            bores=(
                Bore(mouth, self.bore, mouth_z + self.thread_length),
                Bore(mouth, self.tube_outside, insertion, (self.sleeve,)),
            ),
            socket=self.socket,
        )

    def _check(self) -> None:
        major = G_THREAD_MAJOR_MM[self.thread]
        if self.base_diameter < major + 3.0:
            raise ValueError(
                f"base_diameter {self.base_diameter:g} mm cannot seal round a {self.thread} thread of "
                f"{major:g} mm; least {major + 3.0:.5g}"
            )
        if self.sleeve_diameter < self.tube_outside + 2 * LEAST_WALL_MM:
            raise ValueError(
                f"{self.sleeve}_diameter {self.sleeve_diameter:g} mm does not go round a tube of "
                f"{self.tube_outside:g} mm; least {self.tube_outside + 2 * LEAST_WALL_MM:g}"
            )
        if self.socket.insertion > self.sleeve_length:
            raise ValueError(
                f"insertion {self.socket.insertion:g} mm is deeper than the {self.sleeve}'s "
                f"{self.sleeve_length:g} mm"
            )
        if self.bore > major - 2.0 - 2 * LEAST_WALL_MM:
            raise ValueError(
                f"bore {self.bore:g} mm is too wide for a {self.thread} thread; "
                f"most {major - 2.0 - 2 * LEAST_WALL_MM:.5g}"
            )
        within = self.tube_outside if self.barb is None else self.barb
        if self.bore > within - 2 * LEAST_WALL_MM:
            raise ValueError(
                f"bore {self.bore:g} mm is too wide for a tube end of {within:g} mm; "
                f"most {within - 2 * LEAST_WALL_MM:g}"
            )


def _bar(name: str, diameter: float, low: float, high: float) -> Solid:
    return Solid(name, Cylinder(diameter, high - low), Pose.at((0.0, 0.0, (low + high) / 2)), "metal")
