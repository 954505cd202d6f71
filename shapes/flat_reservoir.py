"""Flat panel reservoir: a frame between two sheets, upright, often screwed to a fan row."""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal

from shapes.face_ports import FacePort, Ports, block_ports
from shapes.fields import Length, Shape, choice, count
from shapes.fields import length as mm
from shapes.part import Hole, Mount, Part, Solid
from shapes.patterns import FAN_HOLE_SPACING_MM, fan_holes, row_centres
from shapes.pose import DIRECTIONS, Pose
from shapes.primitives import Plate, RectOpening, RoundOpening
from shapes.solids import block

#: Major diameter of M4, ISO 261: the thread of the holes for fan screws.
_SCREW_MM = 4.0
_LEAST_WEB_MM = 1.0
_PORTS = {
    "in": FacePort(face="roof", at=(-30.0, 0.0)),
    "fill": FacePort(face="roof", at=(30.0, 0.0)),
    "out": FacePort(face="floor", at=(-30.0, 0.0)),
    "drain": FacePort(face="floor", at=(30.0, 0.0)),
}


class FlatReservoir(Shape):
    """A flat upright panel with coolant between two sheets.

    Origin in the middle of the floor edge; x along the panel, y through it to the tray, z up. Ports
    open in the edges of the frame (front, rear, roof, floor), where stated: by default ``in`` and
    ``fill`` in the roof edge, ``out`` and ``drain`` in the floor edge. Mounts: ``back`` (tray face)
    and ``foot`` (floor edge) stand on plain surfaces; with ``fans``, ``fan`` (tray face) screws to a
    fan row, its x axis up the panel.
    """

    length: Length = mm(120.0, "length along x", source="common practice: as a fan row", least=40, most=600)
    height: Length = mm(240.0, "height", source="common practice: as a fan row", least=40, most=600)
    sheet: Length = mm(5.0, "thickness of each sheet", source="common practice, no source", least=1, most=20)
    depth: Length = mm(
        20.0,
        "thickness of the frame between the sheets",
        source="common practice, no source",
        least=5,
        most=80,
    )
    border: Length = mm(
        14.0, "width of the frame round the coolant", source="common practice, no source", least=4, most=60
    )
    fans: int = count(
        0, "fans its holes are made for, one above the other", source="common practice", least=0, most=4
    )
    fan_size: Literal[120, 140] = choice(120, "size of those fans [mm]", source="common practice")
    ports: Ports = choice(_PORTS, "name of each port and where it opens", source="common practice; measure")

    def build(self) -> Part:
        """The part in its own frame. ValueError where frame, holes and ports do not go together."""
        inner = (self.length - 2 * self.border, self.height - 2 * self.border)
        if min(inner) < 1.0:
            raise ValueError(
                f"border {self.border:g} mm leaves no room for coolant in "
                f"{self.length:g} x {self.height:g} mm"
            )
        for name, port in self.ports.items():
            if port.face in ("window", "tray"):
                raise ValueError(f"port {name}: face {port.face} is one of the 2 sheets; open it in an edge")
            if port.depth > self.border - _LEAST_WEB_MM:
                raise ValueError(
                    f"port {name}: depth {port.depth:g} mm goes through the border's {self.border:g} mm; "
                    f"most {self.border - _LEAST_WEB_MM:g}"
                )
        half_x, half_y = self.length / 2, self.depth / 2
        ports, bores = block_ports(
            self.ports, (-half_x, -half_y, 0.0), (half_x, half_y, self.height), "frame"
        )
        back_y = half_y + self.sheet
        middle = (0.0, back_y, self.height / 2)
        mounts = {
            "back": Mount(Pose.facing(middle, DIRECTIONS["tray"]), "stand"),
            "foot": Mount(Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["floor"]), "stand"),
        }
        holes = self._holes()
        if holes:
            rows = MappingProxyType({str(self.fan_size): holes})
            mounts["fan"] = Mount(mounts["back"].mount2part, "fan", rows)
        return Part(
            solids=self._solids(inner, holes),
            ports=MappingProxyType(ports),
            mounts=MappingProxyType(mounts),
            bores=bores,
            coolant_ml=inner[0] * inner[1] * self.depth / 1000.0,
        )

    def _holes(self) -> tuple[Hole, ...]:
        """The fan holes in the back, x up the panel; ValueError where they would meet the coolant."""
        if not self.fans:
            return ()
        spacing = FAN_HOLE_SPACING_MM[self.fan_size]
        centres = row_centres(self.fans, float(self.fan_size))
        holes = tuple(hole for x in centres for hole in fan_holes(spacing, _SCREW_MM, x))
        over = (centres[-1] + spacing / 2, spacing / 2)
        edge = min(self.height / 2 - over[0], self.length / 2 - over[1]) - _SCREW_MM / 2
        if edge < _LEAST_WEB_MM:
            raise ValueError(
                f"{self.fans} x {self.fan_size} mm fan holes leave {edge:.4g} mm to the edge of a panel of "
                f"{self.length:g} x {self.height:g} mm; least {_LEAST_WEB_MM:g}"
            )
        least = self.length / 2 - over[1] + _SCREW_MM / 2 + _LEAST_WEB_MM
        if self.border < least:
            raise ValueError(
                f"border {self.border:g} mm: the fan screws would meet the coolant; least {least:.4g}"
            )
        return holes

    def _solids(self, inner: tuple[float, float], holes: tuple[Hole, ...]) -> tuple[Solid, ...]:
        half, thick, face = self.depth / 2, self.sheet, (self.height, self.length)
        middle = self.height / 2

        def laid(name: str, y: float, plate: Plate) -> Solid:
            """A plate whose x runs up the panel, as the mounts' do."""
            return Solid(name, plate, Pose.facing((0.0, y, middle), DIRECTIONS["tray"]), "clear")

        screws = tuple(RoundOpening(hole.at, hole.diameter) for hole in holes)
        opening = RectOpening((0.0, 0.0), (inner[1], inner[0]))
        low = (-inner[0] / 2, -half, self.border)
        return (
            laid("frame", 0.0, Plate(face, self.depth, (opening,))),
            laid("front", -half - thick / 2, Plate(face, thick)),
            laid("back", half + thick / 2, Plate(face, thick, (), screws)),
            block("coolant", low, (-low[0], half, self.height - self.border), "coolant"),
        )
