"""The exact primitives every part is made of, each in a frame of its own.

All lengths in mm. A box, cylinder, prism and plate is centred on its origin; a plate
lies in its x-y plane, a cylinder and a prism stand along z. A tube run and a mesh carry their
own coordinates. Nothing here measures or draws: the checker, the STEP writer and the mesh
writer each read these values.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from shapes.pose import Array, Vec3

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

    def spoke_at(self, angle: float | Array) -> Array:
        """Unit vectors (..., 3) from the centre out to the points at these angles (...) [radians]."""
        return _turned(self.outward, self.along, angle)

    def point_at(self, angle: float | Array) -> Array:
        """Points (..., 3) of the centreline at these angles (...) [radians, mm]."""
        points: Array = self.radius * self.spoke_at(angle) + np.asarray(self.centre)
        return points

    def direction_at(self, angle: float | Array) -> Array:
        """Unit directions of travel (..., 3) at these angles (...) [radians]."""
        return _turned(self.along, np.negative(self.outward), angle)


def _turned(here: Vec3 | Array, ahead: Vec3 | Array, angle: float | Array) -> Array:
    """The unit vector ``here`` turned toward ``ahead``, a quarter turn on, by angles (...) [radians]."""
    angle = np.asarray(angle, dtype=float)[..., None]
    turned: Array = np.cos(angle) * np.asarray(here) + np.sin(angle) * np.asarray(ahead)
    return turned


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


@dataclass(frozen=True, slots=True)
class Source:
    """Where a mesh came from: the file, the hash of its bytes, and which of its solids.

    ``exact``: the file holds the true solid (STEP), not triangles.
    """

    path: str
    sha256: str
    solid: int = 0
    exact: bool = False


@dataclass(frozen=True, eq=False)
class Mesh:
    """A closed surface of triangles, counter-clockwise seen from outside; equal by content.

    vertices : (n, 3) float64 [mm], read-only
    triangles : (m, 3) int32 numbers of vertices, read-only
    deviation : how far the true surface may lie from any triangle [mm]; the checker takes it off
        every gap
    bulges : (m, 6, 3) float32 for curved triangles: the true surface over one lies in the hull of its
        corners and of the middles of its sides (0 to 1, 1 to 2, 2 to 0, and once more) moved by these
        [mm]. None where all lie in the true surface
    source : the file it was read from, if any

    ValueError for a surface with an edge that triangles do not pass both ways (it is open), or
    one that encloses no volume (it is turned inside out).
    """

    vertices: Array
    triangles: npt.NDArray[np.int32]
    deviation: float = 0.0
    bulges: npt.NDArray[np.float32] | None = None
    source: Source | None = None

    def __post_init__(self) -> None:
        for name, kind in (("vertices", np.float64), ("triangles", np.int32), ("bulges", np.float32)):
            given = getattr(self, name)
            if given is None:
                continue
            array = np.array(given, dtype=kind)
            array.flags.writeable = False
            object.__setattr__(self, name, array)
        if not (math.isfinite(self.spread) and self.deviation >= 0.0):
            raise ValueError(f"deviation must be at least 0 mm, got {self.deviation:g}")
        if self.vertices.ndim != 2 or self.vertices.shape[1:] != (3,) or self.triangles.shape[1:] != (3,):
            raise ValueError(f"a mesh needs rows of 3, got {self.vertices.shape} and {self.triangles.shape}")
        if not len(self.triangles) or not np.isfinite(self.vertices).all():
            raise ValueError(f"a mesh needs finite triangles, got {len(self.triangles)}")
        if self.triangles.min() < 0 or self.triangles.max() >= len(self.vertices):
            raise ValueError(f"a triangle names a vertex that is none of the {len(self.vertices)}")
        if self.bulges is not None and self.bulges.shape != (len(self.triangles), 6, 3):
            raise ValueError(f"bulges need a row of 6 for every triangle, got {self.bulges.shape}")
        if count := len(open_edges(self.triangles)):
            raise ValueError(f"a mesh must be closed; {count} edges are open")
        if not self.volume > 0.0:
            raise ValueError(f"a mesh must enclose a volume, its triangles outward; got {self.volume:g} mm3")

    @cached_property
    def corners(self) -> Array:
        """The corners of every triangle, (m, 3, 3) [mm]."""
        return self.vertices[self.triangles]

    @cached_property
    def spread(self) -> float:
        """How far the true surface may lie from the triangles at most [mm]."""
        if self.bulges is None:
            return self.deviation
        longest = np.sqrt(np.einsum("mkc,mkc->mk", self.bulges, self.bulges).max(initial=0.0))
        return self.deviation + float(longest)

    @property
    def volume(self) -> float:
        """Enclosed volume [mm3], by the divergence theorem."""
        a, b, c = (self.corners - self.vertices.mean(axis=0)).transpose(1, 0, 2)
        return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0

    @cached_property
    def digest(self) -> bytes:
        """A hash of all that the mesh is."""
        content = blake2b(self.vertices.tobytes(), digest_size=20)
        stated = repr((self.deviation, self.source)).encode()
        bulges = b"" if self.bulges is None else self.bulges.tobytes()
        for part in (self.triangles.tobytes(), bulges, stated):
            content.update(part)
        return content.digest()

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Mesh) and self.digest == other.digest

    def __hash__(self) -> int:
        return hash(self.digest)

    def __repr__(self) -> str:
        return f"Mesh({len(self.triangles)} triangles, {self.digest.hex()[:8]})"


def open_edges(triangles: npt.NDArray[np.int32]) -> npt.NDArray[np.int64]:
    """Edges (k, 2) of triangles (m, 3) that are not passed equally often both ways."""
    ends = triangles.astype(np.int64)
    start, end = ends.reshape(-1), np.roll(ends, -1, axis=1).reshape(-1)
    count = int(ends.max(initial=0)) + 1
    edge = np.minimum(start, end) * count + np.maximum(start, end)
    order = np.argsort(edge, kind="stable")
    edge, sign = edge[order], np.where(start < end, 1, -1)[order]
    first = np.flatnonzero(np.append(True, edge[1:] != edge[:-1]))
    loose = edge[first[np.add.reduceat(sign, first) != 0]]
    return np.column_stack((loose // count, loose % count))


Primitive: TypeAlias = Box | Cylinder | Prism | Plate | TubeRun | Mesh
