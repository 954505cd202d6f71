"""The exact primitives every part is made of, each in a frame of its own.

All lengths in mm. A box, cylinder, prism and plate is centred on its origin; a plate
lies in its x-y plane, a cylinder and a prism stand along z. A tube run carries its own
coordinates. Nothing here measures or draws: the checker, the STEP writer and the mesh
writer each read these values.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

from shapes.pose import Vec3

Point2: TypeAlias = tuple[float, float]


def _check_positive(**lengths: float) -> None:
    for name, value in lengths.items():
        if not (math.isfinite(value) and value > 0.0):
            raise ValueError(f"{name} must be above 0 mm, got {value:g}")


@dataclass(frozen=True, slots=True)
class Box:
    """A block centred on its origin, edges along its axes."""

    size: Vec3

    def __post_init__(self) -> None:
        x, y, z = self.size
        _check_positive(length=x, width=y, height=z)


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A round bar along z, centred, with flat ends."""

    diameter: float
    length: float

    def __post_init__(self) -> None:
        _check_positive(diameter=self.diameter, length=self.length)


@dataclass(frozen=True, slots=True)
class Prism:
    """A convex polygon in x-y (counter-clockwise corners), drawn out along z, centred on z = 0."""

    corners: tuple[Point2, ...]
    height: float

    def __post_init__(self) -> None:
        _check_positive(height=self.height)
        count = len(self.corners)
        if count < 3:
            raise ValueError(f"a prism needs at least 3 corners, got {count}")
        total_turn = 0.0
        for here in range(count):
            (ax, ay), (bx, by), (cx, cy) = (self.corners[(here + k) % count] for k in range(3))
            cross = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
            if not cross > 1e-9:
                raise ValueError(
                    "prism corners must be convex and counter-clockwise; "
                    f"corner {(here + 1) % count + 1} is not"
                )
            total_turn += math.atan2(cross, (bx - ax) * (cx - bx) + (by - ay) * (cy - by))
        if total_turn > 2.0 * math.pi + 1e-6:
            raise ValueError("prism corners must go round once")


@dataclass(frozen=True, slots=True)
class RoundOpening:
    """A round hole through a plate, at (x, y) of the plate's frame."""

    at: Point2
    diameter: float

    def __post_init__(self) -> None:
        _check_positive(diameter=self.diameter)


@dataclass(frozen=True, slots=True)
class RectOpening:
    """A rectangular hole through a plate, edges along the plate's x and y."""

    at: Point2
    size: Point2

    def __post_init__(self) -> None:
        _check_positive(length=self.size[0], width=self.size[1])


@dataclass(frozen=True, slots=True)
class SlotHole:
    """A screw slot with round ends along the plate's x; ``length`` over all."""

    at: Point2
    length: float
    width: float

    def __post_init__(self) -> None:
        _check_positive(length=self.length, width=self.width)
        if self.length < self.width:
            raise ValueError(f"slot length {self.length:g} mm is below its width {self.width:g} mm")


Opening: TypeAlias = RoundOpening | RectOpening


@dataclass(frozen=True, slots=True)
class Plate:
    """A flat rectangular sheet, centred, z its normal.

    ``openings`` (round and rectangular, clear of each other and inside the sheet or running
    out over its edge) let tubes and parts through. ``screw_holes`` are drawn and exported, but
    the checker takes them as filled: only screws go there.
    """

    size: Point2
    thickness: float
    openings: tuple[Opening, ...] = ()
    screw_holes: tuple[RoundOpening | SlotHole, ...] = ()

    def __post_init__(self) -> None:
        _check_positive(length=self.size[0], width=self.size[1], thickness=self.thickness)


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight stretch of a centreline."""

    start: Vec3
    end: Vec3

    @property
    def length(self) -> float:
        """Length along the centreline [mm]."""
        return math.dist(self.start, self.end)


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular stretch of a centreline.

    The point at angle a is ``centre + radius (cos a * outward + sin a * along)``, a from 0 to
    ``angle`` [radians]; ``outward`` and ``along`` are unit vectors at right angles, ``along``
    the direction of travel at the start.
    """

    centre: Vec3
    outward: Vec3
    along: Vec3
    radius: float
    angle: float

    @property
    def length(self) -> float:
        """Length along the centreline [mm]."""
        return self.radius * self.angle


@dataclass(frozen=True, slots=True)
class TubeRun:
    """A round tube with flat ends along straights and arcs that follow on tangentially.

    ``deviation``: how far the true centreline may lie from these pieces [mm]; the checker adds
    it to the outside radius. 0 for rigid runs, a proven bound for soft ones.
    """

    pieces: tuple[Straight | Arc, ...]
    outside: float
    inside: float
    deviation: float = 0.0

    def __post_init__(self) -> None:
        _check_positive(outside=self.outside)
        if not 0.0 <= self.inside < self.outside:
            raise ValueError(f"inside {self.inside:g} mm must be below outside {self.outside:g} mm")
        if not self.pieces:
            raise ValueError("a tube run needs at least one piece")


Primitive: TypeAlias = Box | Cylinder | Prism | Plate | TubeRun
