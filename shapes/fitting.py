"""What fittings share: a stud that is screwed in, a sleeve for a tube's end, a port for the next thread."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from shapes.fields import Length, Shape, choice, length
from shapes.part import Bore, Part, Port, Socket, Solid
from shapes.patterns import G_THREAD_MAJOR_MM, PORT_DEPTH_MM, GThread
from shapes.pose import DIRECTIONS, IDENTITY, Pose, compose
from shapes.primitives import Cylinder

#: Least wall between the coolant's bore and thread or barb [mm].
LEAST_WALL_MM = 0.8
#: Least face round a thread: what seals beside it, and the wall round a port [mm].
LEAST_SEAT_MM = 1.5
#: Least metal behind the end of a port's thread [mm].
LEAST_WEB_MM = 2.0
_CP = "common practice, no source"


def way_length() -> Any:
    """The parameter ``bore``."""
    return length(9.0, "diameter of the way through", source="from memory", least=3, most=20)


class Stud(Shape):
    """What is screwed into a port: a male thread, and the base that seals on the port's face."""

    base_diameter: Length = length(
        18.0,
        "diameter of the base on the port's face",
        source="DIN 3852-2 stud face, G1/4",
        least=10,
        most=40,
    )
    base_length: Length = length(
        4.0, "length of the base above the port's face", source=_CP, least=1, most=30
    )
    thread: GThread = choice("G1/4", "thread", source="ISO 228-1")
    thread_length: Length = length(
        5.0, "length of the thread below the sealing face", source="common practice: 5 to 6", least=2, most=20
    )

    def stud(self) -> tuple[Solid, Solid]:
        """The solids ``thread`` and ``base``; ValueError for a base that does not seal round the thread."""
        major = G_THREAD_MAJOR_MM[self.thread]
        if self.base_diameter < major + 2 * LEAST_SEAT_MM:
            raise ValueError(
                f"base_diameter {self.base_diameter:g} mm cannot seal round a {self.thread} thread of "
                f"{major:g} mm; least {major + 2 * LEAST_SEAT_MM:.5g}"
            )
        return (
            bar("thread", major, -self.thread_length, 0.0),
            bar("base", self.base_diameter, 0.0, self.base_length),
        )

    def male(self) -> Port:
        """The port ``thread``, in the sealing face."""
        below = Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["floor"])
        return Port(below, self.thread, self.thread_length, male=True)

    def bored(self, diameter: float, high: float, into: tuple[str, ...] = ()) -> Bore:
        """The coolant's way from ``high`` down through the thread; ValueError for one too wide for it."""
        most = G_THREAD_MAJOR_MM[self.thread] - 2.0 - 2 * LEAST_WALL_MM
        if diameter > most:
            raise ValueError(f"bore {diameter:g} mm is too wide for a {self.thread} thread; most {most:.5g}")
        return Bore(above(high), diameter, high + self.thread_length, into)


class Adapter(Stud):
    """A stud whose other end is a port for the next thread."""

    port_depth: Length = length(
        PORT_DEPTH_MM, "depth of the port's thread", source="common practice: 5 to 8", least=3, most=20
    )

    bore: Length = way_length()


class HoseStud(Stud):
    """A stud with a barb for soft tube."""

    tube_inside: Length = length(
        12.7, "inside diameter of the tube", source="common practice: 1/2 in x 3/4 in", least=5, most=25
    )
    tube_outside: Length = length(
        19.05, "outside diameter of the tube", source="common practice: 1/2 in x 3/4 in", least=7, most=35
    )
    insertion: Length = length(
        10.0, "how far the tube goes on", source="common practice: 8 to 11; measure", least=3, most=25
    )
    bore: Length | None = length(
        None,
        "diameter of the way through; not given: 9, or 2 less than the tube's inside",
        source="from memory",
        least=3,
        most=20,
    )

    def hose_sleeve(self, name: str, diameter: float | None, length: float) -> Sleeve:
        """The sleeve over the barb, 4 mm wider than the tube unless stated."""
        return hose_sleeve(
            name, diameter, length, self.tube_inside, self.tube_outside, self.insertion, self.bore
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Sleeve:
    """The solid round a tube's end: a collar or a clamp, along z from 0 to ``length``.

    bore : diameter of the coolant's way at the tube's end [mm]
    barb : diameter of the barb inside the tube [mm], None for none. It stands in the sleeve's
        socket: the two share room as primitives, not once the socket is cut.
    """

    name: str
    diameter: float
    length: float
    tube_outside: float
    bore: float
    socket: Socket
    barb: float | None = None

    def check(self) -> None:
        """ValueError for dimensions that do not go together."""
        if self.diameter < self.tube_outside + 2 * LEAST_WALL_MM:
            raise ValueError(
                f"{self.name}_diameter {self.diameter:g} mm does not go round a tube of "
                f"{self.tube_outside:g} mm; least {self.tube_outside + 2 * LEAST_WALL_MM:g}"
            )
        if self.socket.insertion > self.length:
            raise ValueError(
                f"insertion {self.socket.insertion:g} mm is deeper than the {self.name}'s {self.length:g} mm"
            )
        within = self.tube_outside if self.barb is None else self.barb
        if self.bore > within - 2 * LEAST_WALL_MM:
            raise ValueError(
                f"bore {self.bore:g} mm is too wide for a tube end of {within:g} mm; "
                f"most {within - 2 * LEAST_WALL_MM:g}"
            )

    def solids(self, sleeve2part: Pose) -> tuple[Solid, ...]:
        """The sleeve and its barb."""
        made = [bar(self.name, self.diameter, 0.0, self.length)]
        if self.barb is not None:
            made.append(bar("barb", self.barb, self.length - self.socket.insertion, self.length))
        return tuple(turned(solid, sleeve2part) for solid in made)

    @property
    def grips(self) -> tuple[str, ...]:
        """A collar is screwed on by hand; what clamps a hose on its barb is not."""
        return ("collar",) if self.name == "collar" else ()

    def socket_bore(self, mouth2part: Pose) -> Bore:
        """The hole the tube goes into."""
        return Bore(mouth2part, self.tube_outside, self.socket.insertion, (self.name,))


def hose_sleeve(
    name: str,
    diameter: float | None,
    length: float,
    tube_inside: float,
    tube_outside: float,
    insertion: float,
    bore: float | None,
) -> Sleeve:
    """A sleeve for soft tube over a barb as thick as the tube's inside [mm].

    Not given, ``diameter`` is 4 more than the tube's and ``bore`` 9 or 2 less than its inside.
    """
    if tube_inside >= tube_outside:
        raise ValueError(f"tube_inside {tube_inside:g} mm must be below tube_outside {tube_outside:g} mm")
    return Sleeve(
        name=name,
        diameter=tube_outside + 4.0 if diameter is None else diameter,
        length=length,
        tube_outside=tube_outside,
        bore=min(9.0, tube_inside - 2.0) if bore is None else bore,
        socket=Socket(insertion, "soft", tube_outside, tube_inside),
        barb=tube_inside,
    )


def rigid_sleeve(
    diameter: float | None, length: float, tube_outside: float, insertion: float, bore: float
) -> Sleeve:
    """A collar for rigid tube, 8 mm wider than it unless stated [mm]."""
    return Sleeve(
        name="collar",
        diameter=tube_outside + 8.0 if diameter is None else diameter,
        length=length,
        tube_outside=tube_outside,
        bore=bore,
        socket=Socket(insertion, "rigid", outside=tube_outside),
    )


def straight(stud: Stud, sleeve: Sleeve) -> Part:
    """A stud with a sleeve straight on it; ValueError for dimensions that do not go together."""
    solids = stud.stud()
    sleeve.check()
    mouth_z = stud.base_length + sleeve.length
    mouth = above(mouth_z)
    return Part(
        solids=(*solids, *sleeve.solids(Pose.at((0.0, 0.0, stud.base_length)))),
        ports=MappingProxyType({"thread": stud.male(), "mouth": Port(mouth)}),
        bores=(stud.bored(sleeve.bore, mouth_z), sleeve.socket_bore(mouth)),
        socket=sleeve.socket,
        grips=sleeve.grips,
    )


def above(z: float) -> Pose:
    """A frame on the z axis that faces the roof [mm]."""
    return Pose.facing((0.0, 0.0, z), DIRECTIONS["roof"])


def bar(name: str, diameter: float, low: float, high: float, bar2part: Pose = IDENTITY) -> Solid:
    """A round bar of metal about z from ``low`` to ``high`` [mm], then placed by ``bar2part``."""
    middle = Pose.at((0.0, 0.0, (low + high) / 2))
    return Solid(name, Cylinder(diameter, high - low), compose(middle, bar2part), "metal")


def turned(solid: Solid, pose: Pose) -> Solid:
    """The solid placed by ``pose``."""
    return Solid(solid.name, solid.primitive, compose(solid.solid2part, pose), solid.look)


def check_wall(what: str, size: float, thread: str) -> None:
    """ValueError where a body of this width is too thin for a port of this thread."""
    major = G_THREAD_MAJOR_MM[thread]
    if size < major + 2 * LEAST_SEAT_MM:
        raise ValueError(
            f"{what} {size:g} mm does not go round a {thread} port of {major:g} mm; "
            f"least {major + 2 * LEAST_SEAT_MM:.5g}"
        )
