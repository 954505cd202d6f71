"""Rigid poses, and the words builders use for directions.

A pose is named by the two frames it joins: ``port2part`` takes coordinates in the
port's frame to coordinates in the part's frame. Chains read left to right:
``port2scene = compose(port2part, part2scene)``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Array: TypeAlias = npt.NDArray[np.float64]
Vec3: TypeAlias = tuple[float, float, float]

#: Direction words of the case frame, seen through the side window.
DIRECTIONS: dict[str, Vec3] = {
    "rear": (-1.0, 0.0, 0.0),
    "front": (1.0, 0.0, 0.0),
    "window": (0.0, -1.0, 0.0),
    "tray": (0.0, 1.0, 0.0),
    "floor": (0.0, 0.0, -1.0),
    "roof": (0.0, 0.0, 1.0),
}
OPPOSITE: dict[str, str] = {
    "rear": "front",
    "front": "rear",
    "window": "tray",
    "tray": "window",
    "floor": "roof",
    "roof": "floor",
}


def unit(vector: Vec3 | Array) -> Array:
    """The vector scaled to length 1, float64 (3,); ValueError for one shorter than 1e-9."""
    array = np.asarray(vector, dtype=float)
    norm = math.sqrt(float(array @ array))
    if not norm > 1e-9:
        raise ValueError(f"a direction needs a length, got {tuple(array.tolist())}")
    return array / norm


def as_vec3(values: Iterable[float]) -> Vec3:
    """Three numbers of any kind as plain floats, -0.0 made 0.0."""
    x, y, z = (float(value) + 0.0 for value in values)
    return (x, y, z)


def _cos_sin(angle_deg: float) -> tuple[float, float]:
    """Cosine and sine, exact at whole quarter turns so that square builds stay square."""
    quarter, rest = divmod(angle_deg, 90.0)
    if rest == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    angle = math.radians(angle_deg)
    return math.cos(angle), math.sin(angle)


@dataclass(frozen=True, slots=False, eq=False)
class Pose:
    """A rotation and a shift: ``there = rotation @ here + origin``.

    rotation : (3, 3) float64, orthonormal, determinant +1
    origin : (3,) float64 [mm]
    """

    rotation: Array
    origin: Array

    def __post_init__(self) -> None:
        for name in ("rotation", "origin"):
            array = np.array(getattr(self, name), dtype=float)
            array.flags.writeable = False
            object.__setattr__(self, name, array)

    @staticmethod
    def at(origin: Vec3 | Array, rotate_deg: Vec3 = (0.0, 0.0, 0.0)) -> Pose:
        """The pose at ``origin``, turned about the fixed x, then y, then z axis [degrees]."""
        if rotate_deg == (0.0, 0.0, 0.0):
            return Pose(_IDENTITY, np.asarray(origin, dtype=float))
        (cx, sx), (cy, sy), (cz, sz) = (_cos_sin(angle) for angle in rotate_deg)
        about_x = np.array([[1.0, 0.0, 0.0], [0.0, cx, -sx], [0.0, sx, cx]])
        about_y = np.array([[cy, 0.0, sy], [0.0, 1.0, 0.0], [-sy, 0.0, cy]])
        about_z = np.array([[cz, -sz, 0.0], [sz, cz, 0.0], [0.0, 0.0, 1.0]])
        return Pose(about_z @ about_y @ about_x, np.asarray(origin, dtype=float))

    @staticmethod
    def facing(origin: Vec3 | Array, facing: Vec3 | Array, up: Vec3 | Array | None = None) -> Pose:
        """The pose at ``origin`` whose z axis is ``facing`` and whose x axis leans to ``up``.

        ``up`` defaults to the roof, or to the front where ``facing`` is roof or floor.
        ValueError where ``up`` is parallel to ``facing``.
        """
        z_axis = unit(facing)
        if up is None:
            up = DIRECTIONS["front"] if abs(z_axis[2]) > 1.0 - 1e-6 else DIRECTIONS["roof"]
        lean = np.asarray(up, dtype=float)
        lean = lean - (lean @ z_axis) * z_axis
        if float(np.abs(lean).max()) < 1e-9:
            raise ValueError("`up` is parallel to `facing`")
        (ax, ay, az), (bx, by, bz) = z_axis.tolist(), (x_axis := unit(lean)).tolist()
        # np.cross takes ten times as long, and a case has a hundred of these.
        y_axis = (ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx)
        return Pose(np.column_stack((x_axis, y_axis, z_axis)), np.asarray(origin))

    @property
    def x_axis(self) -> Array:
        """The frame's x axis as seen from outside, (3,)."""
        return self.rotation[:, 0]

    @property
    def z_axis(self) -> Array:
        """The frame's z axis as seen from outside, (3,): a port's or mount's facing."""
        return self.rotation[:, 2]

    @cached_property
    def inverse(self) -> Pose:
        """The pose that leads back."""
        return Pose(self.rotation.T, -self.rotation.T @ self.origin)

    def apply(self, points: Array) -> Array:
        """Points (..., 3) of this frame in the outer frame [mm]."""
        return np.asarray(points) @ self.rotation.T + self.origin

    def turn(self, vectors: Array) -> Array:
        """Directions (..., 3) of this frame in the outer frame."""
        return np.asarray(vectors) @ self.rotation.T

    def shifted(self, by: Vec3 | Array) -> Pose:
        """The same turn, the origin moved by ``by`` in the outer frame [mm]."""
        return Pose(self.rotation, self.origin + np.asarray(by))


_IDENTITY = np.eye(3)
IDENTITY = Pose(_IDENTITY, np.zeros(3))
#: Turns a frame over about its x axis: z faces the other way.
TURNED_OVER = Pose(np.diag([1.0, -1.0, -1.0]), np.zeros(3))


def compose(first: Pose, *others: Pose) -> Pose:
    """``compose(a2b, b2c)`` is ``a2c``; any number of poses, left to right."""
    rotation, origin = first.rotation, first.origin
    for other in others:
        rotation, origin = other.rotation @ rotation, other.rotation @ origin + other.origin
    return Pose(rotation, origin)


def about_z(angle_deg: float) -> Pose:
    """A turn about the z axis [degrees], right-handed."""
    return Pose.at((0.0, 0.0, 0.0), (0.0, 0.0, angle_deg))
