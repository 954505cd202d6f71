"""Coupler with a male thread at both ends."""

from __future__ import annotations

from types import MappingProxyType

from shapes.fields import Length, choice, length
from shapes.fitting import Stud, above, bar, way_length
from shapes.part import Part, Port
from shapes.patterns import G_THREAD_MAJOR_MM


class MaleCoupler(Stud):
    """Two male threads back to back: joins two ports.

    Stands on one thread: origin in the sealing face that meets the first port's face, z up along the
    part. Ports: ``thread`` (floor) and ``mouth`` (roof), the other thread, in its own sealing face. A fixed
    one turns as a whole and can join two ports only where one of the parts can be turned onto it; the
    ends of a rotary one turn on each other, which takes ``joint_length`` more between the two faces.
    """

    rotary: bool = choice(False, "the two ends turn on each other", source="common practice")
    joint_length: Length = length(
        8.0, "length of a rotary one's joint above the base", source="from memory; measure", least=3, most=40
    )
    bore: Length = way_length()

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        thread, base = self.stud()
        high = self.base_length + (self.joint_length if self.rotary else 0.0)
        joint = (bar("joint", self.base_diameter, self.base_length, high),) if self.rotary else ()
        tip = high + self.thread_length
        other = bar("thread_2", G_THREAD_MAJOR_MM[self.thread], high, tip)
        mouth = Port(above(high), self.thread, self.thread_length, male=True)
        return Part(
            solids=(thread, base, *joint, other),
            ports=MappingProxyType({"thread": self.male(), "mouth": mouth}),
            bores=(self.bored(self.bore, tip),),
        )
