"""Band clamp: holds a tube reservoir round its tube and stands on a plain surface."""

from __future__ import annotations

from types import MappingProxyType

from shapes.fields import Length, Shape, length
from shapes.part import Mount, Part, Solid
from shapes.pose import DIRECTIONS, Pose
from shapes.primitives import Plate, RoundOpening
from shapes.solids import block

_LEAST_WEB_MM = 1.0


class BandClamp(Shape):
    """A band round a tube, on a foot.

    Origin in the middle of the foot's floor face; x along the tube, y across, z from the foot to the
    tube. Mounts: ``foot`` (floor face) stands on a plain surface, on an upright one with the tube
    upright; ``band`` takes a tube reservoir by its ``tube_...`` mounts, its tube's upper end toward
    the front. `slide` of a reservoir in its clamp, and of a clamp on its reservoir, moves it along the tube.
    """

    diameter: Length = length(
        60.0, "outside diameter of the tube", source="common practice: 50, 60", least=20, most=120
    )
    band: Length = length(
        3.0, "thickness of the band round the tube", source="common practice, no source", least=1, most=15
    )
    width: Length = length(
        12.0, "width of the band along the tube", source="common practice, no source", least=4, most=60
    )
    stand_off: Length = length(
        12.0,
        "the tube's outside to the foot's floor face",
        source="common practice, no source",
        least=4,
        most=80,
    )
    foot_length: Length = length(
        30.0, "length of the foot along the tube", source="common practice, no source", least=4, most=120
    )
    foot_width: Length = length(
        40.0, "width of the foot", source="common practice, no source", least=10, most=160
    )
    foot_height: Length = length(
        3.0, "thickness of the foot", source="common practice, no source", least=1, most=20
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where the foot would reach the tube."""
        web = self.stand_off - self.foot_height
        if web < _LEAST_WEB_MM:
            raise ValueError(
                f"stand_off {self.stand_off:g} mm less foot_height {self.foot_height:g} mm leaves "
                f"{web:.4g} mm between foot and tube; least {_LEAST_WEB_MM:g}"
            )
        axis_z = self.diameter / 2 + self.stand_off
        top_z = axis_z + self.diameter / 2 + self.band
        middle = (self.foot_height + top_z) / 2
        # Seen along the tube: the plate's x is up (z of the clamp), its y across.
        band = Plate(
            (top_z - self.foot_height, self.diameter + 2 * self.band),
            self.width,
            (RoundOpening((axis_z - middle, 0.0), self.diameter),),
        )
        half_x, half_y = self.foot_length / 2, self.foot_width / 2
        seat = Pose.facing((0.0, 0.0, axis_z), DIRECTIONS["roof"], DIRECTIONS["front"])
        return Part(
            solids=(
                Solid("band", band, Pose.facing((0.0, 0.0, middle), DIRECTIONS["front"]), "metal"),
                block("foot", (-half_x, -half_y, 0.0), (half_x, half_y, self.foot_height), "metal"),
            ),
            mounts=MappingProxyType(
                {
                    "foot": Mount(Pose.facing((0.0, 0.0, 0.0), DIRECTIONS["floor"]), "stand"),
                    "band": Mount(seat, "band", round_mm=self.diameter),
                }
            ),
        )
