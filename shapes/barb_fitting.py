"""Barb fitting for soft tube."""

from __future__ import annotations

from shapes.fields import Length, length
from shapes.fitting import HoseStud, straight
from shapes.part import Part


class BarbFitting(HoseStud):
    """A straight barb for soft tube, the tube held by a clamp round it.

    Stands on its thread: origin in the sealing face that meets the port's face, z up along the
    fitting. Ports: ``thread`` (floor) and ``mouth`` (roof), the tip of the barb. The tube goes
    ``insertion`` onto the barb, down to the base; the clamp is the room tube and clamp take there,
    its screw or lugs included. The barb is as thick as the tube's inside: its ridges are not drawn.
    """

    base_length: Length = length(
        5.0, "length of the base below the tube", source="common practice, no source", least=1, most=30
    )
    insertion: Length = length(
        11.0, "how far the tube goes on", source="common practice: 8 to 11; measure", least=3, most=40
    )
    clamp_diameter: Length | None = length(
        None,
        "diameter of the room tube and clamp take; not given: 4 more than the tube",
        source="common practice, no source; measure",
        least=8,
        most=60,
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        return straight(self, self.hose_sleeve("clamp", self.clamp_diameter, self.insertion))
