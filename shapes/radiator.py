"""Radiator for one to four fans."""

from __future__ import annotations

from itertools import combinations
from types import MappingProxyType
from typing import Literal

import numpy as np

from shapes.fields import Length, Shape, choice, count, length
from shapes.part import Bore, Hole, Part, Port, Solid
from shapes.patterns import (
    FAN_HOLE_SPACING_MM,
    G_THREAD_MAJOR_MM,
    PORT_DEPTH_MM,
    GThread,
    fan_faces,
    threaded_port,
)
from shapes.pose import DIRECTIONS, Array, Pose
from shapes.primitives import Box, Plate, RectOpening, RoundOpening

#: Major diameters: M3 and M4 by ISO 261, #6-32 UNC 0.138 in.
ExtraPort = Literal["rear_a", "rear_b", "rear_end", "front_a", "front_b", "front_end"]
_SCREW_MM = {"M3": 3.0, "M4": 4.0, "#6-32": 3.505}
_LEAST_CORE_MM = 6.0
_PORT_WALL_MM = 2.0
_HOLE_MARGIN_MM = 5.0


class Radiator(Shape):
    """A radiator that lies flat, fans above or below it.

    Origin in the middle of the fin core: x along the row of fans, y across, z through the
    thickness. The tank with the ports is at the rear end, the other tank at the front end.
    Mounts: ``a`` (roof face) and ``b`` (floor face) with the holes of all fans, to hang it on rails;
    ``a1``, ``b1`` and so on for one fan each, counted from the ports. Ports: ``in`` (window side)
    and ``out`` (tray side) in the rear tank for U-flow, ``out`` in the front tank for cross-flow;
    ``extra`` in the end of the front tank; ``extra_rear_a`` and so on in the middle of the tank and
    face each entry of ``extra_ports`` names. The gap between the holes of neighbouring fans is
    ``fan_pitch`` less ``hole_spacing``. Screws may go ``screw_depth`` past the face before they meet
    the fins: a longer one pierces a water tube.
    """

    fans: int = count(1, "fans in the row", source="common practice", least=1, most=4)
    fan_size: Literal[120, 140, 180, 200] = choice(120, "size of the fans [mm]", source="common practice")
    fan_pitch: Length | None = length(
        None,
        "fan middle to fan middle; not given: fans flush, their size",
        source="geometry of flush frames; some 140 mm radiators have 144.5: 20 between the fans' holes",
        least=120,
        most=230,
    )
    hole_spacing: Length | None = length(
        None,
        "hole to hole of one fan; not given: the spacing usual for the fan",
        source="common practice: 120 has 105, 140 has 124.5; 180 differs, 153 to 165",
        least=90,
        most=185,
    )
    thickness: Length = length(
        30.0,
        "thickness between the mounting faces",
        source="common practice: slim 27 to 30",
        least=18,
        most=100,
    )
    width: Length | None = length(
        None,
        "width over all; not given: 4 more than the fan",
        source="common practice: 2 to 8 more than the fan",
        least=120,
        most=230,
    )
    port_tank: Length = length(
        26.0, "length of the rear tank", source="common practice: both tanks add 25 to 40", least=8, most=80
    )
    far_tank: Length | None = length(
        None,
        "length of the front tank; not given: 12, in cross-flow the same as port_tank",
        source="common practice: both tanks add 25 to 40",
        least=5,
        most=80,
    )
    flow: Literal["u", "cross"] = choice(
        "u", "both ports in one tank (u) or one in each (cross)", source="common practice"
    )
    port_face: Literal["a", "b", "end"] = choice(
        "b", "the ports open in face a, face b or the end of the tank", source="common practice"
    )
    port_pitch: Length = length(
        60.0,
        "in to out across the tank (u)",
        source="common practice, no source; measure",
        least=20,
        most=200,
    )
    extra_port: bool = choice(
        False, "a third port in the end of the front tank, to bleed or drain", source="common practice"
    )
    extra_ports: tuple[ExtraPort, ...] = choice(
        (),
        "further ports, by tank and face: rear_a, front_end and so on",
        source="common practice: radiators with up to seven ports",
    )
    thread: GThread = choice("G1/4", "thread of the ports", source="ISO 228-1")
    port_depth: Length = length(
        PORT_DEPTH_MM, "depth of the ports' thread", source="common practice: 5 to 8", least=3, most=20
    )
    screw: Literal["M3", "M4", "#6-32"] = choice(
        "M3", "thread of the fan holes", source="ISO 261, UNC; common practice which"
    )
    screw_depth: Length = length(
        5.0,
        "greatest depth of a screw past the face: the room between frame and fins",
        source="common practice: at most 5 unless the data sheet says more",
        least=1,
        most=20,
    )
    sheet: Length = length(
        1.0, "thickness of frame and sides", source="common practice, no source", least=0.5, most=3
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where fans, screws, tanks and ports do not go together."""
        self._check_core()
        mounts = fan_faces(
            size=self.fan_size,
            count=self.fans,
            pitch=self._pitch,
            spacing=self._spacing,
            diameter=_SCREW_MM[self.screw],
            thickness=self.thickness,
            thread=self.screw,
            screw_depth=self.screw_depth,
        )
        threaded = self._ports()
        return Part(
            solids=self._solids(mounts["a"].rows[str(self.fan_size)]),
            ports=MappingProxyType({name: port for name, (port, _) in threaded.items()}),
            mounts=MappingProxyType(mounts),
            bores=tuple(bore for _, bore in threaded.values()),
        )

    @property
    def _pitch(self) -> float:
        return float(self.fan_size) if self.fan_pitch is None else self.fan_pitch

    @property
    def _spacing(self) -> float:
        return FAN_HOLE_SPACING_MM[self.fan_size] if self.hole_spacing is None else self.hole_spacing

    @property
    def _width(self) -> float:
        return self.fan_size + 4.0 if self.width is None else self.width

    @property
    def _core_length(self) -> float:
        return (self.fans - 1) * self._pitch + self.fan_size

    @property
    def _far_tank(self) -> float:
        if self.far_tank is not None:
            return self.far_tank
        return 12.0 if self.flow == "u" else self.port_tank

    def _check_core(self) -> None:
        if self.fans > 1 and self._pitch < self.fan_size:
            raise ValueError(f"fan_pitch {self._pitch:g} mm: fans of {self.fan_size} mm would overlap")
        if self._width < self.fan_size:
            raise ValueError(f"width {self._width:g} mm is below the fan's {self.fan_size} mm")
        most_spacing = self.fan_size - _SCREW_MM[self.screw] - 1.0
        if self._spacing > most_spacing:
            raise ValueError(
                f"hole_spacing {self._spacing:g} mm does not fit a fan of {self.fan_size} mm; "
                f"most {most_spacing:g}"
            )
        if self.screw_depth < self.sheet:
            raise ValueError(f"screw_depth {self.screw_depth:g} mm is below the sheet's {self.sheet:g} mm")
        core = self.thickness - 2 * self.screw_depth
        if core < _LEAST_CORE_MM:
            raise ValueError(
                f"thickness {self.thickness:g} mm less screw_depth {self.screw_depth:g} mm on both faces "
                f"leaves {core:g} mm of fins; least {_LEAST_CORE_MM:g}"
            )

    def _solids(self, holes: tuple[Hole, ...]) -> tuple[Solid, ...]:
        core, width, thick, sheet = self._core_length, self._width, self.thickness, self.sheet
        inset = self._spacing - 2 * _HOLE_MARGIN_MM
        frame = Plate(
            (core, width),
            sheet,
            (RectOpening((0.0, 0.0), ((self.fans - 1) * self._pitch + inset, inset)),),
            tuple(RoundOpening(hole.at, hole.diameter) for hole in holes),
        )
        side = Box((core, sheet, thick - 2 * sheet))
        side_y, face_z = (width - sheet) / 2, (thick - sheet) / 2
        fins = Box((core, width - 2 * sheet, thick - 2 * self.screw_depth))
        rear_x, front_x = -(core + self.port_tank) / 2, (core + self._far_tank) / 2
        return (
            Solid("fins", fins, look="metal"),
            Solid("frame_a", frame, Pose.at((0.0, 0.0, face_z))),
            Solid("frame_b", frame, Pose.at((0.0, 0.0, -face_z))),
            Solid("side_window", side, Pose.at((0.0, -side_y, 0.0))),
            Solid("side_tray", side, Pose.at((0.0, side_y, 0.0))),
            Solid("rear_tank", Box((self.port_tank, width, thick)), Pose.at((rear_x, 0.0, 0.0))),
            Solid("front_tank", Box((self._far_tank, width, thick)), Pose.at((front_x, 0.0, 0.0))),
        )

    def _ports(self) -> dict[str, tuple[Port, Bore]]:
        half = self.port_pitch / 2
        if self.flow == "u":
            ports = {
                "in": self._port("rear", -half, self.port_face),
                "out": self._port("rear", half, self.port_face),
            }
        else:
            ports = {
                "in": self._port("rear", 0.0, self.port_face),
                "out": self._port("front", 0.0, self.port_face),
            }
        if self.extra_port:
            beside_out = self.flow == "cross" and self.port_face == "end"
            ports["extra"] = self._port("front", half if beside_out else 0.0, "end")
        for place in self.extra_ports:
            tank, _, face = place.partition("_")
            ports[f"extra_{place}"] = self._port("rear" if tank == "rear" else "front", 0.0, face)
        self._check_apart(ports)
        return ports

    def _check_apart(self, ports: dict[str, tuple[Port, Bore]]) -> None:
        """Bores as squares around their threads: apart by the least wall, or refused."""
        if len(set(self.extra_ports)) < len(self.extra_ports):
            named, places = len(self.extra_ports), len(set(self.extra_ports))
            raise ValueError(f"extra_ports names {named} ports in {places} places: each place takes one")
        boxes = {name: _bore_box(bore) for name, (_, bore) in ports.items()}
        for first, second in combinations(boxes, 2):
            (low, high), (other_low, other_high) = boxes[first], boxes[second]
            room = max(float((low - other_high).max()), float((other_low - high).max()))
            if room < _PORT_WALL_MM / 2 - 1e-9:
                left = f"{room:.4g} mm of tank between their threads" if room > 0.0 else "their threads meet"
                raise ValueError(
                    f"ports {first} and {second}: {left}, {_PORT_WALL_MM / 2:g} mm wanted; "
                    "larger tanks or other places keep them apart"
                )

    def _port(self, tank: Literal["rear", "front"], y: float, face: str) -> tuple[Port, Bore]:
        """A port in the middle of a tank's face; ValueError where its thread does not fit there."""
        length = self.port_tank if tank == "rear" else self._far_tank
        across, along = (self.thickness, length) if face == "end" else (length, self.thickness)
        least = G_THREAD_MAJOR_MM[self.thread] + 2 * _PORT_WALL_MM
        if across < least:
            raise ValueError(
                f"a {self.thread} port needs {least:.4g} mm; the {tank} tank's {face} has {across:g}"
            )
        if abs(y) + least / 2 > self._width / 2:
            raise ValueError(
                f"port_pitch {self.port_pitch:g} mm: a {self.thread} port {abs(y):g} mm off the middle "
                f"runs over the edge of the tank, {self._width:g} mm wide"
            )
        if self.port_depth > along - _PORT_WALL_MM / 2:
            raise ValueError(f"port_depth {self.port_depth:g} mm goes through the {tank} tank's {along:g} mm")
        sign = -1.0 if tank == "rear" else 1.0
        x = sign * (self._core_length / 2 + (length if face == "end" else length / 2))
        z = {"a": self.thickness / 2, "b": -self.thickness / 2, "end": 0.0}[face]
        facing = {"a": "roof", "b": "floor", "end": tank}[face]
        return threaded_port(
            (x, y, z),
            DIRECTIONS[facing],
            thread=self.thread,
            depth=self.port_depth,
            into=(f"{tank}_tank",),
        )


def _bore_box(bore: Bore) -> tuple[Array, Array]:
    """Low and high corner of the room a bore takes, (3,) each [mm]."""
    ends = [bore.bore2part.origin, bore.bore2part.origin - bore.depth * bore.bore2part.z_axis]
    across = (1.0 - np.abs(bore.bore2part.z_axis)) * bore.diameter / 2
    return np.minimum(*ends) - across, np.maximum(*ends) + across
