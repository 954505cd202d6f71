"""Axial case fan."""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal

from shapes.fields import Length, Shape, choice, length
from shapes.part import Mount, Part, Solid
from shapes.patterns import FAN_HOLE_MM, FAN_HOLE_SPACING_MM, check_duct, fan_holes
from shapes.pose import DIRECTIONS, Pose
from shapes.primitives import Cylinder, Plate, RoundOpening


class Fan(Shape):
    """A square fan that lies flat and blows to the roof.

    Origin in the middle of the frame; x and y along the frame's edges, z with the air: in at the
    ``inlet`` (floor face), out at the ``outlet`` (roof face): the arrow moulded on most frames. In a
    stack ``air: intake`` or ``exhaust`` turns it the right way. The rotor is the room its blades sweep;
    it touches nothing.
    """

    size: Literal[80, 92, 120, 140, 180, 200] = choice(
        120, "edge of the frame [mm]", source="common practice"
    )
    thickness: Length = length(
        25.0, "thickness of the frame", source="common practice: 25, also 15 and 38", least=6, most=60
    )
    hole_spacing: Length | None = length(
        None,
        "corner hole to corner hole along an edge; not given: the spacing usual for the size",
        source="common practice: 120 has 105, 140 has 124.5; 180 differs from maker to maker, 153 to 165",
        least=40,
        most=195,
    )
    opening: Length | None = length(
        None,
        "diameter of the duct through the frame; not given: 4 less than the edge",
        source="common practice, no source",
        least=40,
        most=198,
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where the duct runs into the holes or the edge."""
        spacing = FAN_HOLE_SPACING_MM[self.size] if self.hole_spacing is None else self.hole_spacing
        opening = self.size - 4.0 if self.opening is None else self.opening
        if spacing > self.size - FAN_HOLE_MM - 1.0:
            raise ValueError(
                f"hole_spacing {spacing:g} mm does not fit a frame of {self.size} mm; "
                f"most {self.size - FAN_HOLE_MM - 1.0:g}"
            )
        check_duct(opening, self.size, spacing)
        holes = fan_holes(spacing, FAN_HOLE_MM)
        frame = Plate(
            (self.size, self.size),
            self.thickness,
            (RoundOpening((0.0, 0.0), opening),),
            tuple(RoundOpening(hole.at, hole.diameter) for hole in holes),
        )
        rows = MappingProxyType({str(self.size): holes})
        inlet = Pose.facing((0.0, 0.0, -self.thickness / 2), DIRECTIONS["floor"])
        outlet = Pose.facing((0.0, 0.0, self.thickness / 2), DIRECTIONS["roof"])
        return Part(
            solids=(
                Solid("frame", frame),
                Solid("rotor", Cylinder(opening - 2.0, self.thickness - 2.0), look="plastic"),
            ),
            mounts=MappingProxyType(
                {
                    "inlet": Mount(inlet, "fan", rows, opposite="outlet"),
                    "outlet": Mount(outlet, "fan", rows, opposite="inlet"),
                }
            ),
        )
