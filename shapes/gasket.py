"""Gasket between fans and a radiator or panel."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from shapes.fields import Length, Shape, choice, count, length
from shapes.part import Part
from shapes.patterns import FAN_HOLE_SPACING_MM, check_duct, fan_sheet
from shapes.primitives import RoundOpening


class Gasket(Shape):
    """A soft frame around the duct of each fan, so that no air slips past; as thick as it is pressed.

    Origin in the middle of the frame; x along the row of fans, y across, z through it. Mounts on
    both faces: ``a`` (roof) and ``b`` (floor) for the whole row, ``a1``, ``b1`` and so on for one fan,
    counted from the rear. Its thickness counts for the length of the screws.
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
        1.5,
        "thickness when pressed",
        source="common practice, no source: 1 to 3 of soft sheet",
        least=0.3,
        most=6,
    )
    opening: Length | None = length(
        None,
        "diameter of the opening; not given: 4 less than the fan",
        source="common practice, no source",
        least=40,
        most=198,
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where the opening runs into the holes or the edge."""
        opening = self.fan_size - 4.0 if self.opening is None else self.opening
        check_duct(opening, self.fan_size, FAN_HOLE_SPACING_MM[self.fan_size])

        def ducts(x: float) -> Iterator[RoundOpening]:
            yield RoundOpening((x, 0.0), opening)

        return fan_sheet(
            size=self.fan_size,
            count=self.fans,
            pitch=self.fan_pitch,
            thickness=self.thickness,
            openings=ducts,
            name="frame",
            look="plastic",
        )
