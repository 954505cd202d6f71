"""Distribution plate: a flat plate with channels of its own between any number of ports."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import Field

from shapes.custom import Name
from shapes.face_ports import FacePort, Ports, block_ports
from shapes.fields import Frozen, Length, Lengths2, Shape, choice, count
from shapes.fields import length as mm
from shapes.part import Bore, Hole, Mount, Part, Solid
from shapes.patterns import FAN_HOLE_MM, FAN_HOLE_SPACING_MM, fan_faces
from shapes.pose import DIRECTIONS, Pose
from shapes.primitives import Plate, Point2, RoundOpening

_LEAST_WEB_MM = 1.0
#: What a channel may join beside ports, where there is a pump's seat.
PUMP_ENDS = ("pump_in", "pump_out")


class Channel(Frozen):
    """One channel: the ports it joins, and its length where that is known better."""

    joins: Annotated[
        tuple[Name, ...],
        Field(
            description="names of ports, in their order along the channel; pump_in, pump_out", min_length=2
        ),
    ]
    length: Annotated[
        Length | None, Field(description="length; not given: straight from port to port", gt=0, le=5000)
    ] = None


_PORTS = {
    "in": FacePort(face="roof", at=(-120.0, 0.0)),
    "out": FacePort(face="roof", at=(120.0, 0.0)),
}
_CHANNELS = {"main": Channel(joins=("in", "out"))}


class DistributionPlate(Shape):
    """A plate that lies flat, ports in its faces and edges.

    Origin in the middle of the plate; x along it, y across, z through its thickness. Ports open
    where stated. Mounts: ``face_roof`` and ``face_floor`` stand on plain surfaces; with ``fans``,
    ``a`` (roof face) and ``b`` (floor face) screw to a fan row and ``a1``, ``b1`` and so on carry one
    fan each; with ``pump_at``, ``pump`` takes a `pump` with ``with_top: false``. A channel says
    which ports are joined: each port is in exactly one. The coolant inside is channel width times
    depth times length, straight from port to port where no length is stated: real channels run
    round corners and hold somewhat more.
    """

    length: Length = mm(300.0, "length along x", source="common practice, no source", least=30, most=800)
    width: Length = mm(120.0, "width along y", source="common practice, no source", least=20, most=600)
    thickness: Length = mm(
        20.0, "thickness of the plate", source="common practice: 15 to 30", least=6, most=80
    )
    ports: Ports = choice(_PORTS, "name of each port and where it opens", source="the builder's drawing")
    channels: dict[Name, Channel] = choice(
        _CHANNELS, "name of each channel and the ports it joins", source="the builder's drawing"
    )
    channel_width: Length = mm(
        12.0, "width of the channels", source="common practice, no source", least=2, most=60
    )
    channel_depth: Length = mm(
        10.0, "depth of the channels", source="common practice, no source", least=2, most=60
    )
    fans: int = count(0, "fans its holes are made for, along x", source="common practice", least=0, most=4)
    fan_size: Literal[120, 140] = choice(120, "size of those fans [mm]", source="common practice")
    pump_at: Lengths2 | None = choice(
        None, "middle of the pump's seat, x and y; not given: none", source="the builder's drawing"
    )
    pump_face: Literal["roof", "floor"] = choice(
        "floor", "the face the pump hangs on", source="the builder's drawing"
    )
    pump_width: Length = mm(
        60.0, "diameter or edge of the motor", source="from memory; measure", least=20, most=120
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where channels, holes, pump and ports do not go together."""
        self._check_channels()
        half = (self.length / 2, self.width / 2, self.thickness / 2)
        ports, bores = block_ports(self.ports, (-half[0], -half[1], -half[2]), half, "plate")
        corner = (half[0], half[1])
        mounts = {
            f"face_{face}": Mount(
                Pose.facing((0.0, 0.0, z), DIRECTIONS[face]),
                "stand",
                surface=((-corner[0], -corner[1]), corner),
                opposite=f"face_{other}",
            )
            for face, z, other in (("roof", half[2], "floor"), ("floor", -half[2], "roof"))
        }
        mounts |= self._fan_mounts()
        if self.pump_at is not None:
            mounts["pump"] = self._pump_mount(self.pump_at)
        holes = mounts["a"].rows[str(self.fan_size)] if "a" in mounts else ()
        _check_screws(holes, bores, corner)
        screws = tuple(RoundOpening(hole.at, hole.diameter) for hole in holes)
        plate = Plate((self.length, self.width), self.thickness, (), screws)
        return Part(
            solids=(Solid("plate", plate, look="clear"),),
            ports=MappingProxyType(ports),
            mounts=MappingProxyType(mounts),
            bores=bores,
            coolant_ml=self._coolant_ml(),
            channels=MappingProxyType({name: channel.joins for name, channel in self.channels.items()}),
        )

    def _check_channels(self) -> None:
        floor = (self.thickness - self.channel_depth) / 2
        if floor < _LEAST_WEB_MM:
            raise ValueError(
                f"channel_depth {self.channel_depth:g} mm leaves {floor:.4g} mm of plate on each side; "
                f"least {_LEAST_WEB_MM:g}"
            )
        for end in PUMP_ENDS:
            if end in self.ports:
                raise ValueError(f"port {end}: that name means 1 end of the pump's seat")
        ends = (*self.ports, *(PUMP_ENDS if self.pump_at is not None else ()))
        joined: dict[str, str] = {}
        for name, channel in self.channels.items():
            for end in channel.joins:
                if end not in ends:
                    raise ValueError(
                        f"channel {name}: unknown port {end!r}; the plate's {len(ends)} are {', '.join(ends)}"
                    )
                if end in joined:
                    raise ValueError(
                        f"port {end} is joined by {joined[end]} and by {name}: 2 channels that meet are one"
                    )
                joined[end] = name
        left = [end for end in ends if end not in joined]
        if left:
            raise ValueError(
                f"{len(left)} of {len(ends)} ports lead nowhere, no channel joins {', '.join(left)}"
            )

    def _coolant_ml(self) -> float:
        """Channel by channel: section times length, half of it each way from a pump's seat."""
        total = 0.0
        for channel in self.channels.values():
            along = channel.length
            if along is None:
                along = sum(math.dist(a, b) for a, b in pairwise(map(self._place, channel.joins)))
            total += along * self.channel_width * self.channel_depth
        return total / 1000.0

    def _place(self, end: str) -> Point2:
        """Where a port stands in the plane of the plate."""
        if end in PUMP_ENDS:
            assert self.pump_at is not None
            return self.pump_at
        port = self.ports[end]
        x, y, _ = DIRECTIONS[port.face]
        if port.face in ("roof", "floor"):
            return port.at
        if x:
            return (x * self.length / 2, port.at[0])
        return (port.at[0], y * self.width / 2)

    def _fan_mounts(self) -> Mapping[str, Mount]:
        if not self.fans:
            return {}
        size = self.fan_size
        return fan_faces(
            size=size,
            count=self.fans,
            pitch=float(size),
            spacing=FAN_HOLE_SPACING_MM[size],
            diameter=FAN_HOLE_MM,
            thickness=self.thickness,
        )

    def _pump_mount(self, at: Point2) -> Mount:
        for offset, over, word in ((at[0], self.length, "x"), (at[1], self.width, "y")):
            room = (over - self.pump_width) / 2
            if abs(offset) > room:
                raise ValueError(
                    f"pump_at {offset:g} mm along {word}: a motor of {self.pump_width:g} mm runs over the "
                    f"edge of the plate's {over:g} mm"
                )
        for name, port in self.ports.items():
            reach = max(abs(port.at[0] - at[0]), abs(port.at[1] - at[1]))
            if port.face == self.pump_face and reach < self.pump_width / 2:
                raise ValueError(f"port {name} opens under the pump, {reach:.4g} mm from its middle")
        z = self.thickness / 2 if self.pump_face == "roof" else -self.thickness / 2
        return Mount(Pose.facing((*at, z), DIRECTIONS[self.pump_face]), "pump")


def _check_screws(holes: tuple[Hole, ...], bores: tuple[Bore, ...], corner: Point2) -> None:
    """ValueError where a fan's screw runs out of the plate or into a port."""
    for hole in holes:
        edge = min(corner[0] - abs(hole.at[0]), corner[1] - abs(hole.at[1])) - hole.diameter / 2
        if edge < _LEAST_WEB_MM:
            raise ValueError(
                f"a fan hole at [{hole.at[0]:g}, {hole.at[1]:g}] leaves {edge:.4g} mm to the edge of the "
                f"plate; least {_LEAST_WEB_MM:g}"
            )
        for bore in bores:
            (x, y, _), (dx, dy, _) = bore.bore2part.origin.tolist(), bore.bore2part.z_axis.tolist()
            along = min(max((x - hole.at[0]) * dx + (y - hole.at[1]) * dy, 0.0), bore.depth)
            away = math.hypot(x - along * dx - hole.at[0], y - along * dy - hole.at[1])
            web = away - (bore.diameter + hole.diameter) / 2
            if web < _LEAST_WEB_MM:
                raise ValueError(
                    f"a fan hole at [{hole.at[0]:g}, {hole.at[1]:g}] leaves {max(web, 0.0):.4g} mm to a "
                    f"port; least {_LEAST_WEB_MM:g}"
                )
