"""Pair of no-spill quick disconnects."""

from __future__ import annotations

from types import MappingProxyType

from shapes.fields import Length, length
from shapes.fitting import bar
from shapes.inline import Inline
from shapes.part import Part, Zone
from shapes.pose import Pose
from shapes.primitives import Cylinder


class QuickDisconnect(Inline):
    """Both halves of a no-spill coupling, joined.

    Origin in the middle of its lower end (of the sealing face, where that is a thread), z up along the
    way through: the half with the insert below, the half with the sleeve above. Ports: ``in`` (floor), or
    ``thread`` where the inlet is male, and ``out`` (roof). To part them the upper half is drawn off along z
    with all that hangs on it: a zone above it warns of parts that stand in its way.
    """

    insert_width: Length = length(
        22.0, "diameter of the lower half", source="from memory; measure", least=12, most=60
    )
    sleeve_width: Length = length(
        26.0, "diameter of the upper half", source="from memory; measure", least=12, most=60
    )
    insert_length: Length = length(
        25.0, "length of the lower half where they are joined", source="from memory", least=8, most=80
    )
    sleeve_length: Length = length(
        30.0, "length of the upper half", source="from memory; measure", least=8, most=80
    )
    pull: Length = length(
        30.0, "how far the halves are drawn apart", source="common practice, no source", least=5, most=100
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        self.check_body("insert", self.insert_width, self.insert_length, 1)
        self.check_body("sleeve", self.sleeve_width, self.sleeve_length, 1)
        start = self.base_length if self.inlet == "male" else 0.0
        split = start + self.insert_length
        high = split + self.sleeve_length
        halves = (
            bar("insert", self.insert_width, start, split),
            bar("sleeve", self.sleeve_width, split, high),
        )
        inlet = self.lower_end(("insert", "sleeve") if self.inlet == "female" else (), high)
        out, bore = self.upper_end(("sleeve",), high)
        room = Cylinder(max(self.insert_width, self.sleeve_width), self.pull)
        return Part(
            solids=(*inlet.solids, *halves),
            ports=MappingProxyType({**inlet.ports, "out": out}),
            zones=(
                Zone(
                    "pull",
                    room,
                    Pose.at((0.0, 0.0, high + self.pull / 2)),
                    "the upper half is drawn off this way",
                    "warning",
                    only_parts=True,
                ),
            ),
            bores=(*inlet.bores, bore),
        )
