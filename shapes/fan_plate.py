"""Fan-hole plate: screws to a fan position and carries a pump, a reservoir's clamp or the like."""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal

from shapes.fields import Length, Shape, choice, count, length
from shapes.part import Mount, Part, Solid, Zone
from shapes.patterns import FAN_HOLE_MM, FAN_HOLE_SPACING_MM, fan_holes, row_centres
from shapes.pose import DIRECTIONS, Pose
from shapes.primitives import Cylinder, Plate, RoundOpening

_LEAST_WEB_MM = 1.0
#: Pan head of an M4 screw, ISO 7045: 8 mm across, 3.1 mm high.
_HEAD_MM = 8.0


class FanPlate(Shape):
    """A plain plate with the holes of one or more fans.

    Origin in the middle of the plate; x along the row of fans, y across, z through the plate.
    Mounts: ``fan`` (floor face) screws to a fan row, a radiator or a fan; ``face`` (roof face) is a
    plain surface to stand on, `slide` along x and `shift` along y from its middle. Round each hole
    the room of a screw's head stays free on the roof face; 0 for countersunk screws.
    """

    fans: int = count(1, "fans in the row", source="common practice", least=1, most=4)
    fan_size: Literal[80, 92, 120, 140, 200] = choice(120, "size of the fans [mm]", source="common practice")
    thickness: Length = length(
        3.0, "thickness of the plate", source="common practice, no source", least=1, most=20
    )
    margin: Length = length(
        7.5,
        "hole's middle to the edge of the plate",
        source="geometry of a 120 mm frame: (120 - 105) / 2",
        least=3.2,
        most=40,
    )
    screw_head: Length = length(
        3.1, "height of the screws' heads above the plate", source="ISO 7045 M4", least=0, most=10
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where the holes run out of the plate."""
        spacing = FAN_HOLE_SPACING_MM[self.fan_size]
        web = self.margin - FAN_HOLE_MM / 2
        if web < _LEAST_WEB_MM:
            raise ValueError(
                f"margin {self.margin:g} mm leaves {web:.4g} mm to the edge; least {_LEAST_WEB_MM:g}"
            )
        centres = row_centres(self.fans, float(self.fan_size))
        holes = tuple(hole for x in centres for hole in fan_holes(spacing, FAN_HOLE_MM, x))
        along, across = centres[-1] - centres[0] + spacing + 2 * self.margin, spacing + 2 * self.margin
        screws = tuple(RoundOpening(hole.at, hole.diameter) for hole in holes)
        half = self.thickness / 2
        floor = Pose.facing((0.0, 0.0, -half), DIRECTIONS["floor"])
        roof = Pose.facing((0.0, 0.0, half), DIRECTIONS["roof"])
        corner = (along / 2, across / 2)
        heads = (
            ()
            if self.screw_head == 0.0
            else tuple(
                Zone(
                    f"head_{number}",
                    Cylinder(_HEAD_MM, self.screw_head),
                    Pose.at((*hole.at, half + self.screw_head / 2)),
                    "a fan screw's head",
                )
                for number, hole in enumerate(holes, 1)
            )
        )
        return Part(
            solids=(Solid("plate", Plate((along, across), self.thickness, (), screws), look="metal"),),
            mounts=MappingProxyType(
                {
                    "fan": Mount(floor, "fan", MappingProxyType({str(self.fan_size): holes})),
                    "face": Mount(roof, "stand", surface=((-corner[0], -corner[1]), corner)),
                }
            ),
            zones=heads,
        )
