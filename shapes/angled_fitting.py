"""Angled compression fitting for rigid or soft tube."""

from __future__ import annotations

from types import MappingProxyType
from typing import Literal

from shapes.angled import Angled
from shapes.elbow import Elbow
from shapes.fields import Length, choice, length
from shapes.fitting import Sleeve, hose_sleeve, rigid_sleeve
from shapes.part import Bore, Part, Port


class AngledFitting(Angled):
    """A compression fitting that turns the tube by 45 or 90 degrees.

    Stands on its thread: origin in the sealing face that meets the port's face, z up along the
    thread's axis, the tube leaves toward x (front). Ports: ``thread`` (floor) and ``mouth``, where the tube
    leaves the collar, ``reach`` out along the tube's axis from where the two axes cross. In a scene
    ``turn`` rolls it about its thread. One that swivels may have any turn; a fixed one (``swivel: false``)
    stands where its thread tightens, so measure its turn dry before tube is cut. What a 90 degree one
    sweeps while it is screwed in is a circle of diameter 2 sqrt(reach^2 + (collar_diameter / 2)^2);
    ``swing_room`` keeps it free of parts.
    """

    tube: Literal["rigid", "soft"] = choice("rigid", "kind of tube it takes", source="common practice")
    tube_outside: Length | None = length(
        None,
        "outside diameter of the tube; not given: 14, or 3/4 in for soft tube",
        source="common practice",
        least=6,
        most=35,
    )
    tube_inside: Length | None = length(
        None,
        "inside diameter, for soft tube only; not given: 1/2 in",
        source="common practice",
        least=5,
        most=25,
    )
    insertion: Length = length(
        10.0, "how far the tube goes in", source="common practice: 6 to 12; measure", least=3, most=25
    )
    collar_diameter: Length | None = length(
        None,
        "diameter of the collar; not given: 8 more than rigid tube, 4 more than soft",
        source="common practice",
        least=8,
        most=50,
    )
    collar_length: Length = length(
        14.0, "length of the collar", source="common practice, no source; measure", least=4, most=40
    )
    reach: Length = length(
        26.0, "from where the axes cross to the mouth", source="from memory; measure", least=8, most=100
    )

    def build(self) -> Part:
        """The part in its own frame. ValueError for dimensions that do not go together."""
        solids = self.stud()
        way = self.bored(self.bore, self.base_length, ("thread", "base"))
        sleeve = self._sleeve()
        sleeve.check()
        arm = self.reach - self.collar_length
        elbow = self.elbow(arm)
        elbow.check()
        self._check_room(elbow, sleeve, arm)
        mouth = elbow.outlet(self.reach)
        ends = sleeve.solids(elbow.outlet())
        names = tuple(solid.name for solid in ends)
        low = min(self.base_length, elbow.lowest(arm, sleeve.diameter))
        return Part(
            solids=(*solids, elbow.solid(), *ends),
            ports=MappingProxyType({"thread": self.male(), "mouth": Port(mouth)}),
            zones=self.zones(elbow, self.reach, sleeve.diameter, low),
            bores=(way, Bore(mouth, sleeve.bore, self.collar_length, names), sleeve.socket_bore(mouth)),
            socket=sleeve.socket,
            grips=sleeve.grips,
        )

    def _sleeve(self) -> Sleeve:
        if self.tube == "rigid":
            if self.tube_inside is not None:
                raise ValueError(
                    f"tube_inside {self.tube_inside:g} mm is for soft tube; rigid tube is held by its outside"
                )
            outside = 14.0 if self.tube_outside is None else self.tube_outside
            return rigid_sleeve(self.collar_diameter, self.collar_length, outside, self.insertion, self.bore)
        outside = 19.05 if self.tube_outside is None else self.tube_outside
        inside = 12.7 if self.tube_inside is None else self.tube_inside
        narrowed = min(self.bore, inside - 2.0)
        return hose_sleeve(
            "collar", self.collar_diameter, self.collar_length, inside, outside, self.insertion, narrowed
        )

    def _check_room(self, elbow: Elbow, sleeve: Sleeve, arm: float) -> None:
        """The collar must stand clear of the base, and of the face the fitting is screwed on."""
        if not elbow.clears_base(self.base_diameter, arm):
            raise ValueError(
                f"reach {self.reach:g} mm brings the {self.collar_length:g} mm collar into the base of "
                f"{self.base_diameter:g} mm; make it longer"
            )
        low = elbow.lowest(arm, sleeve.diameter)
        if low < 0.0:
            raise ValueError(
                f"the collar of {sleeve.diameter:g} mm stands {-low:.4g} mm below the sealing face; "
                f"corner_height must be at least {self.corner_height - low:.5g}"
            )
