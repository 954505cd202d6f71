"""Ball valve in line with a tube."""

from __future__ import annotations

from types import MappingProxyType

from shapes.fields import Length, length
from shapes.inline import Inline, Lever
from shapes.part import Part, Solid, Zone
from shapes.pose import Pose
from shapes.primitives import Box


class BallValve(Inline):
    """A valve with a lever that closes it by a quarter turn.

    Origin in the middle of its lower end (of the sealing face, where that is a thread), z up along the
    way through, the lever on the front (x). Ports: ``in`` (floor), or ``thread`` where the inlet is male,
    and ``out`` (roof); coolant may run either way. The lever is drawn open; a zone keeps its quarter
    turn toward the tray (y) free.
    """

    body_width: Length = length(
        24.0, "edge of the square body", source="from memory; measure", least=12, most=60
    )
    body_length: Length = length(
        40.0, "length of the body", source="from memory; measure", least=10, most=120
    )
    lever_length: Length = length(
        25.0, "from the stem's axis to the lever's tip", source="from memory; measure", least=6, most=80
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        self.check_body("body", self.body_width, self.body_length, 2 if self.inlet == "female" else 1)
        start = self.base_length if self.inlet == "male" else 0.0
        high, middle = start + self.body_length, start + self.body_length / 2
        inlet = self.lower_end(("body",) if self.inlet == "female" else (), high)
        out, bore = self.upper_end(("body",), high)
        body = Box((self.body_width, self.body_width, self.body_length))
        lever = Lever(middle, self.body_width, self.lever_length)
        room, where = lever.room()
        return Part(
            solids=(
                *inlet.solids,
                Solid("body", body, Pose.at((0.0, 0.0, middle)), "metal"),
                *lever.solids(),
            ),
            ports=MappingProxyType({**inlet.ports, "out": out}),
            zones=(Zone("lever", room, where, "the lever turns through it to close the valve"),),
            bores=(*inlet.bores, bore),
        )
