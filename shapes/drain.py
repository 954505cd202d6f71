"""Drain: a valve on a port, closed by a cap or ending in a barb."""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal

from shapes.fields import Length, choice, length
from shapes.fitting import LEAST_WEB_MM, Stud, bar, way_length
from shapes.inline import STEM_MM, Lever
from shapes.part import Part, Solid, Zone
from shapes.pose import Pose
from shapes.primitives import Box, Cylinder


class Drain(Stud):
    """A valve to empty the loop by, with a cap or a barb for a hose at its end.

    Stands on its thread: origin in the sealing face that meets the port's face, z up along the way out,
    the lever on the front (x). Port: ``thread`` (floor); the valve closes it. Zones: the quarter turn of the
    lever toward the tray (y), and, as a warning, room beyond the end for a hose or a cup. Put it at the
    loop's lowest port, and drain only with the power off and unplugged.
    """

    body_width: Length = length(
        24.0, "edge of the square valve", source="from memory; measure", least=12, most=60
    )
    body_length: Length = length(
        30.0, "length of the valve", source="from memory; measure", least=10, most=100
    )
    lever_length: Length = length(
        25.0, "from the stem's axis to the lever's tip", source="from memory; measure", least=6, most=80
    )
    end: Literal["cap", "barb"] = choice("cap", "what its end carries", source="common practice")
    end_diameter: Length = length(
        18.0, "diameter of cap or barb", source="from memory; measure", least=6, most=40
    )
    end_length: Length = length(
        10.0, "length of cap or barb", source="from memory; measure", least=2, most=60
    )
    room: Length = length(
        40.0, "free length beyond the end", source="common practice, no source", least=1, most=200
    )
    bore: Length = way_length()

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        if self.bore > min(self.body_width, self.end_diameter) - LEAST_WEB_MM:
            raise ValueError(
                f"bore {self.bore:g} mm is too wide for a valve of {self.body_width:g} mm with an end of "
                f"{self.end_diameter:g} mm; most {min(self.body_width, self.end_diameter) - LEAST_WEB_MM:g}"
            )
        if self.end_diameter > self.body_width + 2 * STEM_MM:
            raise ValueError(
                f"end_diameter {self.end_diameter:g} mm stands in the lever's way on a valve of "
                f"{self.body_width:g} mm; most {self.body_width + 2 * STEM_MM:g}"
            )
        start = self.base_length
        middle, high = start + self.body_length / 2, start + self.body_length
        tip = high + self.end_length
        lever = Lever(middle, self.body_width, self.lever_length)
        turning, where = lever.room()
        body = Box((self.body_width, self.body_width, self.body_length))
        cup = Cylinder(self.end_diameter, self.room)
        return Part(
            solids=(
                *self.stud(),
                Solid("body", body, Pose.at((0.0, 0.0, middle)), "metal"),
                *lever.solids(),
                bar(self.end, self.end_diameter, high, tip),
            ),
            ports=MappingProxyType({"thread": self.male()}),
            zones=(
                Zone("lever", turning, where, "the lever turns through it to open the drain"),
                Zone(
                    "hose",
                    cup,
                    Pose.at((0.0, 0.0, tip + self.room / 2)),
                    "a hose or cup is put there to drain the loop",
                    "warning",
                ),
            ),
            bores=(self.bored(self.bore, high if self.end == "cap" else tip),),
        )
