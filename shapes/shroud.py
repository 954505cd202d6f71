"""Fan shroud: a spacer that keeps a fan off the fins."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from shapes.fields import Length, Shape, choice, count, length
from shapes.part import Part
from shapes.patterns import FAN_HOLE_SPACING_MM, check_duct, fan_sheet
from shapes.primitives import RoundOpening


class Shroud(Shape):
    """A hollow frame between fan and radiator, so that the hub's dead spot does not lie on the fins.

    Origin in the middle of the frame; x along the row of fans, y across, z with the thickness. Mounts
    on both faces: ``a`` (roof) and ``b`` (floor) for the whole row, ``a1``, ``b1`` and so on for one
    fan, counted from the rear. A fan gutted of its motor serves as one.
    """

    fans: int = count(1, "fans in the row", source="common practice", least=1, most=4)
    fan_size: Literal[80, 92, 120, 140, 180, 200] = choice(
        120, "size of the fans [mm]", source="common practice"
    )
    fan_pitch: Length | None = length(
        None,
        "fan middle to fan middle; not given: fans flush, their size",
        source="geometry of flush frames",
        least=80,
        most=230,
    )
    thickness: Length = length(
        20.0,
        "distance it keeps",
        source="common practice: 7 to 38, a gutted fan 25",
        least=3,
        most=80,
    )
    hole_spacing: Length | None = length(
        None,
        "hole to hole of one fan; not given: the spacing usual for the size",
        source="common practice: 120 has 105, 140 has 124.5; 180 differs, 153 to 165",
        least=40,
        most=195,
    )
    opening: Length | None = length(
        None,
        "diameter of the duct; not given: 4 less than the fan",
        source="common practice, no source",
        least=40,
        most=198,
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where the duct runs into the holes or the edge."""
        spacing = FAN_HOLE_SPACING_MM[self.fan_size] if self.hole_spacing is None else self.hole_spacing
        opening = self.fan_size - 4.0 if self.opening is None else self.opening
        check_duct(opening, self.fan_size, spacing)

        def ducts(x: float) -> Iterator[RoundOpening]:
            yield RoundOpening((x, 0.0), opening)

        return fan_sheet(
            size=self.fan_size,
            count=self.fans,
            pitch=self.fan_pitch,
            spacing=spacing,
            thickness=self.thickness,
            openings=ducts,
            name="frame",
            look="plastic",
        )
