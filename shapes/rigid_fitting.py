"""Straight compression fitting for rigid tube."""

from __future__ import annotations

from shapes.fields import Length, Shape, choice, length
from shapes.fitting import StraightFitting
from shapes.part import Part, Socket
from shapes.patterns import GThread


class RigidFitting(Shape):
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
    base_diameter: Length = length(
        18.0,
        "diameter of the base on the port's face",
        source="DIN 3852-2 stud face, G1/4",
        least=10,
        most=40,
    )
    base_length: Length = length(
        4.0, "length of the base below the collar", source="common practice, no source", least=1, most=30
    )
    bore: Length = length(9.0, "diameter of the way through", source="from memory", least=3, most=20)
    thread: GThread = choice("G1/4", "thread", source="ISO 228-1")
    thread_length: Length = length(
        5.0, "length of the thread below the sealing face", source="common practice: 5 to 6", least=2, most=20
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        collar = self.tube_outside + 8.0 if self.collar_diameter is None else self.collar_diameter
        return StraightFitting(
            thread=self.thread,
            thread_length=self.thread_length,
            base_diameter=self.base_diameter,
            base_length=self.base_length,
            sleeve="collar",
            sleeve_diameter=collar,
            sleeve_length=self.collar_length,
            tube_outside=self.tube_outside,
            bore=self.bore,
            socket=Socket(self.insertion, "rigid", outside=self.tube_outside),
        ).part()
