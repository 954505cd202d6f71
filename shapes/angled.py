"""What angled fittings have in common: how far they turn, whether they swivel, and what they sweep."""

from __future__ import annotations

from typing import Literal

from shapes.elbow import Elbow
from shapes.fields import Length, choice, length
from shapes.fitting import LEAST_WALL_MM, Stud, way_length
from shapes.part import Zone

_MEASURE = "from memory; measure"


class Angled(Stud):
    """A stud with a body that turns a corner over its base."""

    angle: Literal[45, 90] = choice(
        90, "between thread and outlet, degrees", source="common practice: 45, 90"
    )
    swivel: bool = choice(
        True,
        "turns on its base once screwed in; a fixed one ends up wherever its thread tightens",
        source="common practice",
    )
    corner_height: Length = length(
        14.0, "from the port's face to where the two axes cross", source=_MEASURE, least=5, most=60
    )
    body_diameter: Length = length(18.0, "diameter of the body", source=_MEASURE, least=8, most=40)
    bore: Length = way_length()
    swing_room: bool = choice(
        False, "keep the circle free that it sweeps as it is screwed in", source="common practice"
    )

    def elbow(self, arm: float) -> Elbow:
        """The body, ``arm`` long from where the axes cross [mm]; ValueError for one too thin."""
        if self.body_diameter < self.bore + 2 * LEAST_WALL_MM:
            raise ValueError(
                f"body_diameter {self.body_diameter:g} mm does not go round a bore of {self.bore:g} mm; "
                f"least {self.bore + 2 * LEAST_WALL_MM:g}"
            )
        return Elbow(
            angle=self.angle,
            diameter=self.body_diameter,
            bore=self.bore,
            start=self.base_length,
            corner=self.corner_height,
            arm=arm,
        )

    def zones(self, elbow: Elbow, reach: float, diameter: float, low: float) -> tuple[Zone, ...]:
        """The circle swept, where it is asked for."""
        return (elbow.swing_zone(reach, diameter, low),) if self.swing_room else ()
