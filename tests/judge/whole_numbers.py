"""Primitives and poses as whole numbers, so that recorded pairs are small and exact.

Lengths are hundredths of a millimetre, angles hundredths of a degree. A tube is written as its
bend table and starts at its own origin along x.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from scipy.spatial.transform import Rotation

from shapes.pose import Array, Pose
from shapes.primitives import (
    Arc,
    Box,
    Cylinder,
    Opening,
    Plate,
    Primitive,
    Prism,
    RectOpening,
    RoundOpening,
    Straight,
    TubeRun,
)

KINDS = ("box", "cylinder", "prism", "plate", "tube")
MOST_CORNERS, MOST_OPENINGS, MOST_BENDS = 8, 3, 2
#: How many numbers describe one primitive of each kind; shorter ones end in zeros.
WIDTHS = {
    "box": 3,
    "cylinder": 2,
    "prism": 2 + 2 * MOST_CORNERS,
    "plate": 4 + 5 * MOST_OPENINGS,
    "tube": 5 + 4 * MOST_BENDS,
}
PAIR_KINDS = tuple((a, b) for i, a in enumerate(KINDS) for b in KINDS[i:])


def hundredths(values: Sequence[float] | Array) -> list[int]:
    """Numbers rounded to whole hundredths."""
    return [round(100.0 * float(value)) for value in values]


def primitive_of(kind: str, numbers: Sequence[int] | Array) -> Primitive:
    """The primitive that these whole numbers describe."""
    counted = [int(value) for value in numbers]
    values = [value / 100.0 for value in counted]
    match kind:
        case "box":
            return Box((values[0], values[1], values[2]))
        case "cylinder":
            return Cylinder(values[0], values[1])
        case "prism":
            corners = tuple((values[2 + 2 * k], values[3 + 2 * k]) for k in range(counted[1]))
            return Prism(corners, values[0])
        case "plate":
            rows = [values[4 + 5 * k : 9 + 5 * k] for k in range(counted[3])]
            return Plate((values[0], values[1]), values[2], tuple(_opening(row) for row in rows))
        case "tube":
            return _tube(values, counted[3])
    raise ValueError(f"unknown kind {kind!r}; known: {', '.join(KINDS)}")


def _opening(row: list[float]) -> Opening:
    """x, y, length, width, and 1 for a rectangle or 0 for a round hole."""
    x, y, length, width, rectangular = row
    return RectOpening((x, y), (length, width)) if rectangular else RoundOpening((x, y), length)


def _tube(values: list[float], bends: int) -> TubeRun:
    """outside, inside, deviation, number of bends, last straight; straight, turn, bend, radius each."""
    outside, inside, deviation, _, last = values[:5]
    at, travel, inward = np.zeros(3), np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    pieces: list[Straight | Arc] = []
    for row in range(bends):
        straight, turn, bend, radius = values[5 + 4 * row : 9 + 4 * row]
        if straight > 0.0:
            pieces.append(Straight(_plain(at), _plain(at + straight * travel)))
            at = at + straight * travel
        cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        inward = cos * inward + sin * np.cross(travel, inward)
        centre = at + radius * inward
        pieces.append(Arc(_plain(centre), _plain(-inward), _plain(travel), radius, math.radians(bend)))
        cos, sin = math.cos(math.radians(bend)), math.sin(math.radians(bend))
        at = centre + radius * (sin * travel - cos * inward)
        travel, inward = cos * travel + sin * inward, cos * inward - sin * travel
    if last > 0.0:
        pieces.append(Straight(_plain(at), _plain(at + last * travel)))
    return TubeRun(tuple(pieces), outside, inside, deviation)


def _plain(point: Array) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in point)
    return (x, y, z)


def first_pose(numbers: Sequence[int] | Array) -> Pose:
    """Place and turn of a pair's first body from six whole numbers."""
    x, y, z, about_x, about_y, about_z = (int(value) / 100.0 for value in numbers)
    return Pose.at((x, y, z), (about_x, about_y, about_z))


def second_pose(numbers: Array) -> Pose:
    """Pose from a rotation vector and an origin, six floats: exact contact needs every digit."""
    return Pose(Rotation.from_rotvec(numbers[:3]).as_matrix(), numbers[3:])


def pose_numbers(pose: Pose) -> Array:
    """The inverse of ``second_pose``."""
    return np.concatenate((Rotation.from_matrix(pose.rotation).as_rotvec(), pose.origin))
