"""Tube reservoir."""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import Literal

from shapes.fields import Length, Shape, choice, length
from shapes.part import Bore, Mount, Part, Solid, Zone
from shapes.patterns import G_THREAD_MAJOR_MM, PORT_DEPTH_MM, GThread, threaded_port
from shapes.pose import DIRECTIONS, Pose, Vec3
from shapes.primitives import Box, Cylinder, Plate, RoundOpening

_WALL_MM = 2.0
_FILL_CAP_DIAMETER_MM, _FILL_CAP_HEIGHT_MM = 22.0, 4.0
_BAND_HEIGHT_MM, _BAND_WALL_MM = 10.0, 3.0
_BACK_WIDTH_MM, _BACK_THICKNESS_MM = 30.0, 3.0


class TubeReservoir(Shape):
    """An upright clear tube between two end caps.

    Origin in the middle of the bottom face; z up along the tube's axis. Ports: ``bottom`` in the
    middle of the floor face, ``top`` in the roof face ``top_offset`` toward the front, ``bottom_side``
    in the bottom cap's side toward the window and ``drain`` toward the rear on request. The fill cap
    stands on the roof face, as far toward the rear; ``fill_port`` makes it a port ``fill`` instead.
    Mounts: ``base`` (floor face) sits on a pump's top; ``tube_tray``, ``tube_window``, ``tube_front``
    and ``tube_rear`` are held by a band clamp standing on that side, `slide` along the tube from its
    middle; with a holder, ``back`` (tray side): two bands round the
    tube and a plate to fix to a plain surface. It holds what the tube takes up to the top cap.
    """

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
    bottom_height: Length = length(
        24.0, "height of the bottom cap", source="common practice, no source", least=8, most=80
    )
    top_height: Length = length(
        16.0, "height of the top cap", source="common practice, no source", least=8, most=80
    )
    top_offset: Length = length(
        15.0,
        "the top port's and the fill cap's distance from the axis",
        source="common practice, no source",
        least=0,
        most=60,
    )
    fill_cap: bool = choice(True, "a screw cap in the roof face to fill through", source="common practice")
    fill_port: bool = choice(False, "a threaded fill port in place of the fill cap", source="common practice")
    fill_room: Length = length(
        0.0,
        "room above the fill cap for hand, funnel or bottle",
        source="measured by the builder; 0: not looked at",
        least=0,
        most=300,
    )
    drain: bool = choice(False, "a drain port in the side of the bottom cap", source="common practice")
    side_port: bool = choice(False, "a port in the side of the bottom cap", source="common practice")
    thread: GThread = choice("G1/4", "thread of the ports", source="ISO 228-1")
    port_depth: Length = length(
        PORT_DEPTH_MM, "depth of the ports' thread", source="common practice: 5 to 8", least=3, most=12
    )
    holder: Literal["none", "back"] = choice(
        "none", "bands and plate behind the tube", source="common practice"
    )
    stand_off: Length = length(
        12.0,
        "the tube's outside to the holder's mounting plane",
        source="common practice, no source",
        least=5,
        most=60,
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where tube, caps, ports and holder do not go together."""
        self._check_vessel()
        self._check_ports()
        held = self.holder == "back"
        mounts = {"base": Mount(Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["floor"]), "reservoir")}
        mounts |= self._band_mounts()
        if held:
            at = (0.0, self.diameter / 2 + self.stand_off, self.bottom_height + self.tube_length / 2)
            mounts["back"] = Mount(Pose.facing(at, DIRECTIONS["tray"]), "stand")
        tube_top = Pose.at((0.0, 0.0, self.bottom_height + self.tube_length))
        ports, bores = {}, [Bore(tube_top, self.diameter - 2 * self.wall, self.tube_length, ("tube",))]
        for name, (at, facing, cap) in self._places().items():
            ports[name], bore = threaded_port(
                at, DIRECTIONS[facing], thread=self.thread, depth=self.port_depth, into=(cap,)
            )
            bores.append(bore)
        return Part(
            solids=self._vessel() + (self._holder() if held else ()),
            ports=MappingProxyType(ports),
            mounts=MappingProxyType(mounts),
            zones=self._fill_room(),
            grips=("fill_cap",) if self.fill_cap and not self.fill_port else (),
            bores=tuple(bores),
            coolant_ml=math.pi / 4 * (self.diameter - 2 * self.wall) ** 2 * self.tube_length / 1000.0,
        )

    @property
    def _roof(self) -> float:
        return self.bottom_height + self.tube_length + self.top_height

    def _places(self) -> dict[str, tuple[Vec3, str, str]]:
        """Port -> where, which way, in which solid."""
        places: dict[str, tuple[Vec3, str, str]] = {
            "bottom": ((0.0, 0.0, 0.0), "floor", "bottom_cap"),
            "top": ((self.top_offset, 0.0, self._roof), "roof", "top_cap"),
        }
        if self.side_port:
            at = (0.0, -self.cap_diameter / 2, self.bottom_height / 2)
            places["bottom_side"] = (at, "window", "bottom_cap")
        if self.drain:
            places["drain"] = ((-self.cap_diameter / 2, 0.0, self.bottom_height / 2), "rear", "bottom_cap")
        if self.fill_port:
            places["fill"] = ((-self.top_offset, 0.0, self._roof), "roof", "top_cap")
        return places

    def _band_mounts(self) -> dict[str, Mount]:
        """One a side, in the tube's axis, x up the tube."""
        middle = (0.0, 0.0, self.bottom_height + self.tube_length / 2)
        # Across, wide enough for any band: what counts is that it lies on the tube's length.
        reach, across = self.tube_length / 2, 2 * self.diameter
        return {
            f"tube_{side}": Mount(
                Pose.facing(middle, DIRECTIONS[side]),
                "band",
                surface=((-reach, -across), (reach, across)),
                round_mm=self.diameter,
            )
            for side in ("tray", "window", "front", "rear")
        }

    def _fill_room(self) -> tuple[Zone, ...]:
        if self.fill_room == 0.0:
            return ()
        low = self._roof + (0.0 if self.fill_port or not self.fill_cap else _FILL_CAP_HEIGHT_MM)
        at = (-self.top_offset, 0.0, low + self.fill_room / 2)
        column = Cylinder(_FILL_CAP_DIAMETER_MM, self.fill_room)
        return (Zone("fill", column, Pose.at(at), "filling the reservoir"),)

    def _vessel(self) -> tuple[Solid, ...]:
        bottom, tube, top = self.bottom_height, self.tube_length, self.top_height
        vessel = (
            Solid("bottom_cap", Cylinder(self.cap_diameter, bottom), Pose.at((0.0, 0.0, bottom / 2))),
            Solid("tube", Cylinder(self.diameter, tube), Pose.at((0.0, 0.0, bottom + tube / 2)), "clear"),
            Solid("top_cap", Cylinder(self.cap_diameter, top), Pose.at((0.0, 0.0, self._roof - top / 2))),
        )
        if self.fill_port or not self.fill_cap:
            return vessel
        at = (-self.top_offset, 0.0, self._roof + _FILL_CAP_HEIGHT_MM / 2)
        cap = Cylinder(_FILL_CAP_DIAMETER_MM, _FILL_CAP_HEIGHT_MM)
        return (*vessel, Solid("fill_cap", cap, Pose.at(at), "metal"))

    def _holder(self) -> tuple[Solid, ...]:
        """Two bands that close round the tube, and the plate behind them."""
        radius = self.diameter / 2
        front, back = -radius - _BAND_WALL_MM, radius + self.stand_off - _BACK_THICKNESS_MM
        middle = (front + back) / 2
        band = Plate(
            (self.diameter + 2 * _BAND_WALL_MM, back - front),
            _BAND_HEIGHT_MM,
            (RoundOpening((0.0, -middle), self.diameter),),
        )
        apart = 0.6 * self.tube_length
        centre = self.bottom_height + self.tube_length / 2
        plate = Box((_BACK_WIDTH_MM, _BACK_THICKNESS_MM, apart + _BAND_HEIGHT_MM))
        return (
            Solid("lower_band", band, Pose.at((0.0, middle, centre - apart / 2))),
            Solid("upper_band", band, Pose.at((0.0, middle, centre + apart / 2))),
            Solid("back_plate", plate, Pose.at((0.0, back + _BACK_THICKNESS_MM / 2, centre))),
        )

    def _check_vessel(self) -> None:
        overhang = (self.cap_diameter - self.diameter) / 2
        if overhang < 0.0:
            raise ValueError(
                f"cap_diameter {self.cap_diameter:g} mm is below the tube's {self.diameter:g} mm"
            )
        if self.holder == "back" and self.stand_off < overhang:
            raise ValueError(
                f"stand_off {self.stand_off:g} mm: the caps stand {overhang:g} mm out and would meet the "
                "surface behind"
            )

    def _check_ports(self) -> None:
        major = G_THREAD_MAJOR_MM[self.thread]
        cap_radius = self.cap_diameter / 2
        fills = self.fill_cap or self.fill_port
        fill_radius = _FILL_CAP_DIAMETER_MM / 2 if fills else 0.0
        reach = self.top_offset + max(major / 2 + _WALL_MM, fill_radius)
        if reach > cap_radius:
            raise ValueError(
                f"top_offset {self.top_offset:g} mm: port or fill cap reaches {reach:.4g} mm from the axis, "
                f"the cap {cap_radius:g} mm"
            )
        least = (major / 2 + fill_radius + _WALL_MM) / 2
        if fills and self.top_offset < least:
            raise ValueError(
                f"top_offset {self.top_offset:g} mm: port and fill cap run into each other; least {least:.4g}"
            )
        lowest = min(self.bottom_height, self.top_height)
        if self.port_depth > lowest - 1.0:
            raise ValueError(f"port_depth {self.port_depth:g} mm goes through a cap of {lowest:g} mm")
        if not (self.side_port or self.drain):
            return
        if self.bottom_height < major + 2 * _WALL_MM:
            raise ValueError(
                f"bottom_height {self.bottom_height:g} mm is too low for a {self.thread} port in its side; "
                f"least {major + 2 * _WALL_MM:.4g}"
            )
        web = cap_radius - self.port_depth - major / 2
        if web < _WALL_MM:
            raise ValueError(
                f"port_depth {self.port_depth:g} mm leaves {web:.4g} mm between side and bottom port; "
                f"least {_WALL_MM:g}"
            )
