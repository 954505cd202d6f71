"""Straight compression fitting for soft tube."""

from __future__ import annotations

from shapes.fields import Length, length
from shapes.fitting import HoseStud, straight
from shapes.part import Part


class SoftFitting(HoseStud):
    """A straight compression fitting for soft tube: a barb in the tube, a collar screwed over it.

    Stands on its thread: origin in the sealing face that meets the port's face, z up along the
    fitting. Ports: ``thread`` (floor) and ``mouth`` (roof), where the tube leaves the collar.
    The tube goes ``insertion`` onto the barb, which is as thick as the tube's inside and ends at the
    mouth.
    """

    collar_diameter: Length | None = length(
        None,
        "diameter of the collar; not given: 4 more than the tube",
        source="common practice: 10/13 has 17 to 19, 10/16 has 20 to 22, 12/16 has 20 to 24",
        least=8,
        most=50,
    )
    collar_length: Length = length(
        14.0, "length of the collar", source="common practice, no source; measure", least=4, most=40
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        return straight(self, self.hose_sleeve("collar", self.collar_diameter, self.collar_length))
