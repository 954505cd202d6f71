"""Straight compression fitting for rigid tube."""

from __future__ import annotations

from shapes.fields import Length, length
from shapes.fitting import Stud, rigid_sleeve, straight, way_length
from shapes.part import Part


class RigidFitting(Stud):
    """A straight compression fitting for rigid tube.

    Stands on its thread: origin in the sealing face that meets the port's face, z up along the
    fitting. Ports: ``thread`` (floor) and ``mouth`` (roof), where the tube leaves the collar.
    The tube goes ``insertion`` into the collar.
    """

    tube_outside: Length = length(
        14.0, "outside diameter of the tube", source="common practice: 12, 14, 16", least=6, most=25
    )
    insertion: Length = length(
        10.0, "how far the tube goes in", source="common practice: 6 to 12; measure", least=3, most=25
    )
    collar_diameter: Length | None = length(
        None,
        "diameter of the collar; not given: 8 more than the tube",
        source="common practice: 12 has 18 to 22, 14 has 20 to 24, 16 has 22 to 26",
        least=8,
        most=40,
    )
    collar_length: Length = length(
        14.0, "length of the collar", source="common practice, no source; measure", least=4, most=40
    )
    bore: Length = way_length()

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        return straight(
            self,
            rigid_sleeve(
                self.collar_diameter, self.collar_length, self.tube_outside, self.insertion, self.bore
            ),
        )
