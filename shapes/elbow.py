"""A round body that turns a corner: from a stud's base up, then out under an angle toward the front."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from shapes.part import Solid, Zone
from shapes.pose import IDENTITY, Array, Pose, Vec3
from shapes.primitives import Arc, Cylinder, Straight, TubeRun


@dataclass(frozen=True, slots=True, kw_only=True)
class Elbow:
    """The body between base and outlet; its axis lies in x-z and ends at ``outlet``.

    angle : between the thread's axis and the outlet's [degrees], above 0 to 90
    diameter, bore : of the body and the way through it [mm]
    start : top of the base [mm]
    corner : height where the two axes cross [mm]
    arm : from there to the body's end along the outlet's axis [mm]
    """

    angle: int
    diameter: float
    bore: float
    start: float
    corner: float
    arm: float

    @property
    def radius(self) -> float:
        """Of its centreline: the tightest that leaves the body an inside [mm]."""
        return self.diameter / 2 + 0.5

    @property
    def setback(self) -> float:
        """From where the axes cross to either end of the bend, R tan(angle / 2) [mm]."""
        return self.radius * math.tan(math.radians(self.angle) / 2)

    @property
    def way_out(self) -> Array:
        """Unit vector of the outlet's axis (3,)."""
        return Pose.at((0.0, 0.0, 0.0), (0.0, float(self.angle), 0.0)).z_axis

    def outlet(self, reach: float | None = None) -> Pose:
        """The frame on the outlet's axis ``reach`` from where the axes cross, the arm's end unless stated."""
        x, y, z = (float(value) for value in self.way_out * (self.arm if reach is None else reach))
        return Pose.facing((x, y, z + self.corner), self.way_out)

    def check(self, depth: float = 0.0) -> None:
        """ValueError where the bend does not fit; ``depth`` of a port's thread in the arm's end [mm]."""
        if self.corner < self.start + self.setback:
            raise ValueError(
                f"corner_height {self.corner:g} mm leaves no room for the bend over a base of "
                f"{self.start:g} mm; least {_up(self.start + self.setback)}"
            )
        if self.arm < self.setback + depth:
            raise ValueError(
                f"reach leaves {self.arm:.5g} mm of body from the corner; bend and outlet need at least "
                f"{_up(self.setback + depth)}"
            )

    def solid(self) -> Solid:
        """The body, hollow as it is exported."""
        sin, _, cos = (float(value) for value in self.way_out)
        radius, low = self.radius, self.corner - self.setback
        end: Vec3 = (radius * (1.0 - cos), 0.0, low + radius * sin)
        mouth: Vec3 = (self.arm * sin, 0.0, self.corner + self.arm * cos)
        arc = Arc((radius, 0.0, low), (-1.0, 0.0, 0.0), (0.0, 0.0, 1.0), radius, math.radians(self.angle))
        pieces: list[Straight | Arc] = [arc]
        if low - self.start > 1e-6:
            pieces.insert(0, Straight((0.0, 0.0, self.start), (0.0, 0.0, low)))
        if self.arm - self.setback > 1e-6:
            pieces.append(Straight(end, mouth))
        return Solid("elbow", TubeRun(tuple(pieces), self.diameter, self.bore), IDENTITY, "metal")

    def swing(self, reach: float, diameter: float) -> float:
        """Diameter of the circle a round outlet of this ``diameter`` and ``reach`` sweeps about z [mm].

        The rim of the outlet's end is furthest out: with X = reach sin a, r its radius and c = cos of
        the place on the rim, (X + r c cos a)^2 + r^2 (1 - c^2), greatest at c = X cos a / (r sin^2 a).
        """
        sin, _, cos = (float(value) for value in self.way_out)
        out, rim = reach * sin, diameter / 2
        place = min(out * cos / (rim * sin * sin), 1.0)
        return 2 * math.hypot(out + rim * place * cos, rim * math.sqrt(1.0 - place * place))

    def swing_zone(self, reach: float, diameter: float, low: float) -> Zone:
        """The room above ``low`` that the outlet sweeps as the fitting is screwed in."""
        sin, _, cos = (float(value) for value in self.way_out)
        high = self.corner + reach * cos + diameter / 2 * sin
        return Zone(
            "swing",
            Cylinder(self.swing(reach, diameter), high - low),
            Pose.at((0.0, 0.0, (low + high) / 2)),
            "the fitting sweeps this circle as it is screwed in",
            only_parts=True,
        )

    def lowest(self, reach: float, diameter: float) -> float:
        """Lowest point of a disc of this ``diameter`` across the outlet's axis at ``reach`` [mm]."""
        return self.corner + reach * float(self.way_out[2]) - diameter / 2 * float(self.way_out[0])

    def clears_base(self, base_diameter: float, reach: float) -> bool:
        """Whether what stands beyond ``reach`` on the outlet's axis is clear of the base by its end plane."""
        rim = np.array((base_diameter / 2, 0.0, self.start - self.corner))
        return float(rim @ self.way_out) <= reach + 1e-9


def _up(length: float) -> str:
    """A least length rounded up, so that what is advised is enough."""
    return f"{math.ceil(length * 100 - 1e-9) / 100:g}"
