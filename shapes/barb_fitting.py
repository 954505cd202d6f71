"""Barb fitting for soft tube."""

from __future__ import annotations

from shapes.fields import Length, Shape, choice, length
from shapes.fitting import StraightFitting
from shapes.part import Part, Socket
from shapes.patterns import GThread


class BarbFitting(Shape):
    """A straight barb for soft tube, the tube held by a clamp round it.

    Stands on its thread: origin in the sealing face that meets the port's face, z up along the
    fitting. Ports: ``thread`` (floor) and ``mouth`` (roof), the tip of the barb. The tube goes
    ``insertion`` onto the barb, down to the base; the clamp is the room tube and clamp take there,
    its screw or lugs included. The barb is as thick as the tube's inside: its ridges are not drawn.
    """

    tube_inside: Length = length(
        12.7, "inside diameter of the tube", source="common practice: 1/2 in x 3/4 in", least=5, most=25
    )
    tube_outside: Length = length(
        19.05, "outside diameter of the tube", source="common practice: 1/2 in x 3/4 in", least=7, most=35
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
    base_diameter: Length = length(
        18.0,
        "diameter of the base on the port's face",
        source="DIN 3852-2 stud face, G1/4",
        least=10,
        most=40,
    )
    base_length: Length = length(
        5.0, "length of the base below the tube", source="common practice, no source", least=1, most=30
    )
    bore: Length | None = length(
        None,
        "diameter of the way through; not given: 9, or 2 less than the tube's inside",
        source="from memory",
        least=3,
        most=20,
    )
    thread: GThread = choice("G1/4", "thread", source="ISO 228-1")
    thread_length: Length = length(
        5.0, "length of the thread below the sealing face", source="common practice: 5 to 6", least=2, most=20
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        if self.tube_inside >= self.tube_outside:
            raise ValueError(
                f"tube_inside {self.tube_inside:g} mm must be below tube_outside {self.tube_outside:g} mm"
            )
        return StraightFitting(
            thread=self.thread,
            thread_length=self.thread_length,
            base_diameter=self.base_diameter,
            base_length=self.base_length,
            sleeve="clamp",
            sleeve_diameter=self.tube_outside + 4.0 if self.clamp_diameter is None else self.clamp_diameter,
            sleeve_length=self.insertion,
            tube_outside=self.tube_outside,
            bore=min(9.0, self.tube_inside - 2.0) if self.bore is None else self.bore,
            socket=Socket(self.insertion, "soft", self.tube_outside, self.tube_inside),
            barb=self.tube_inside,
        ).part()
