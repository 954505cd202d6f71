"""Bulkhead: takes a tube through a sheet."""

from __future__ import annotations

from types import MappingProxyType

from shapes.fields import Length, Shape, choice, length
from shapes.fitting import LEAST_SEAT_MM, LEAST_WEB_MM, bar, check_wall, way_length
from shapes.part import Bore, Mount, Part, Port
from shapes.patterns import PORT_DEPTH_MM, GThread, threaded_port
from shapes.pose import DIRECTIONS, Pose


class Bulkhead(Shape):
    """A threaded barrel through a hole in a sheet, a port in each end.

    A flange bears on one side of the sheet, a nut on the other. Origin in the seat of the flange on
    the sheet's face, z up out of the sheet. Ports: ``flange`` (roof)
    and ``nut`` (floor), on the far side. Mount: ``sheet`` (floor), on a "bulkhead" hole of a panel.
    State the ``panel``'s thickness with any gasket: the nut stands that far behind the seat.
    """

    panel: Length = length(
        1.0, "thickness of the sheet it goes through", source="common practice: 0.8 to 4", least=0.3, most=20
    )
    flange_diameter: Length = length(
        26.0, "diameter of the flange", source="from memory; measure", least=14, most=60
    )
    flange_length: Length = length(5.0, "height of the flange", source="from memory", least=1, most=40)
    barrel_diameter: Length = length(
        20.0, "outside diameter of the barrel's thread", source="from memory; measure", least=11, most=50
    )
    barrel_length: Length = length(
        18.0, "from the flange's seat to the far end", source="from memory; measure", least=3, most=80
    )
    nut_diameter: Length = length(
        27.0, "diameter of the nut over its corners", source="from memory; measure", least=14, most=70
    )
    nut_length: Length = length(5.0, "height of the nut", source="from memory", least=1, most=30)
    bore: Length = way_length()
    thread: GThread = choice("G1/4", "thread of the ports", source="ISO 228-1")
    port_depth: Length = length(
        PORT_DEPTH_MM, "depth of the ports' thread", source="common practice: 5 to 8", least=3, most=20
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        self._check()
        under_nut = -self.panel - self.nut_length
        solids = [
            bar("flange", self.flange_diameter, 0.0, self.flange_length),
            bar("barrel", self.barrel_diameter, -self.panel, 0.0),
            bar("nut", self.nut_diameter, under_nut, -self.panel),
        ]
        if self.barrel_length + under_nut > 1e-6:
            solids.append(bar("barrel_end", self.barrel_diameter, -self.barrel_length, under_nut))
        ports: dict[str, Port] = {}
        bores = []
        for name, word, z in (("flange", "roof", self.flange_length), ("nut", "floor", -self.barrel_length)):
            ports[name], bore = threaded_port(
                (0.0, 0.0, z), DIRECTIONS[word], thread=self.thread, depth=self.port_depth
            )
            bores.append(bore)
        through = self.flange_length + self.barrel_length
        seat = Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["floor"])
        return Part(
            solids=tuple(solids),
            ports=MappingProxyType(ports),
            mounts=MappingProxyType({"sheet": Mount(seat, "bulkhead")}),
            bores=(*bores, Bore(ports["flange"].port2part, self.bore, through)),
        )

    def _check(self) -> None:
        check_wall("barrel_diameter", self.barrel_diameter, self.thread)
        for what, diameter in (("flange", self.flange_diameter), ("nut", self.nut_diameter)):
            if diameter < self.barrel_diameter + 2 * LEAST_SEAT_MM:
                raise ValueError(
                    f"{what}_diameter {diameter:g} mm does not bear round a barrel of "
                    f"{self.barrel_diameter:g} mm; least {self.barrel_diameter + 2 * LEAST_SEAT_MM:g}"
                )
        if self.barrel_length < self.panel + self.nut_length:
            raise ValueError(
                f"barrel_length {self.barrel_length:g} mm does not reach through a panel of "
                f"{self.panel:g} mm and its nut of {self.nut_length:g} mm; "
                f"least {self.panel + self.nut_length:g}"
            )
        through, least = self.flange_length + self.barrel_length, 2 * self.port_depth + LEAST_WEB_MM
        if through < least:
            raise ValueError(
                f"flange_length and barrel_length make {through:g} mm, too short for two ports "
                f"{self.port_depth:g} mm deep; least {least:g}"
            )
        if self.bore > self.barrel_diameter - 2 * LEAST_WEB_MM:
            raise ValueError(
                f"bore {self.bore:g} mm is too wide for a barrel of {self.barrel_diameter:g} mm; "
                f"most {self.barrel_diameter - 2 * LEAST_WEB_MM:g}"
            )
