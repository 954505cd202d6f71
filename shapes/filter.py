"""Dust filter for one to four fans."""

from __future__ import annotations

from typing import Literal

from shapes.fields import Length, Shape, choice, count, length
from shapes.part import Part
from shapes.patterns import fan_sheet


class Filter(Shape):
    """A framed dust mesh before the fans; nothing passes it, so it is one closed sheet.

    Origin in the middle of the sheet; x along the row of fans, y across, z through it. Mounts on both
    faces: ``a`` (roof) and ``b`` (floor) for the whole row, ``a1``, ``b1`` and so on for one fan,
    counted from the rear. One held by magnets needs no screw, but counts for the screws' length where
    they pass it.
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
        2.0,
        "thickness of frame and mesh",
        source="common practice, no source: 1 to 5",
        least=0.3,
        most=15,
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError where fans would overlap."""
        return fan_sheet(
            size=self.fan_size,
            count=self.fans,
            pitch=self.fan_pitch,
            thickness=self.thickness,
            openings=lambda _: (),
            name="mesh",
            look="black",
        )
