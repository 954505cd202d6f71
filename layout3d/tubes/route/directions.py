"""Directions a leg may take, and the sequences of them that bend by allowed angles."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
import numpy.typing as npt

from shapes.pose import Array, Pose

Indices = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]

#: Two directions nearer than this are one [radians].
_SAME = 1e-9
#: Bend angles are kept to this [degrees].
_ANGLE_DEG = 1e-6
#: Where any angle may be bent, it lies between these [degrees].
LEAST_TURN_DEG, SHARPEST_DEG = 0.1, 150.0
_FLAT = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Directions:
    """N unit directions and what combinations of up to three of them can make.

    vectors : (N, 3)
    angle : (N, N) between them [degrees]
    rank : by size 1, 2, 3: whether that many are independent, (N,) * size
    inverse : by size: rows that read each coefficient off a sum, (N,) * size + (size, 3)
    """

    vectors: Array
    angle: Array
    independent: dict[int, Bools]
    inverse: dict[int, Array]


def case_directions(mouths: tuple[Pose, Pose]) -> Array:
    """The case axes, their 45-degree diagonals and the axes of both mouths, both ways: (N, 3)."""
    steps = itertools.product((-1.0, 0.0, 1.0), repeat=3)
    square = sorted((v for v in steps if 1 <= np.abs(v).sum() <= 2), key=lambda v: float(np.abs(v).sum()))
    own = [sign * mouth.rotation[:, axis] for mouth in mouths for axis in (2, 0, 1) for sign in (1.0, -1.0)]
    return distinct(np.array([*(np.asarray(v) / np.linalg.norm(v) for v in square), *own]))


def all_diagonals() -> Array:
    """The diagonals of the case's cube, both ways: (8, 3)."""
    corners: Array = np.array(list(itertools.product((-1.0, 1.0), repeat=3)))
    diagonals: Array = corners / np.sqrt(3.0)
    return diagonals


def distinct(directions: Array) -> Array:
    """The directions (N, 3) without repeats, the first of each kept."""
    found: list[Array] = []
    for direction in directions:
        if all(float(np.abs(direction - known).max()) > _SAME for known in found):
            found.append(direction)
    return np.array(found)


def place_of(direction: Array, directions: Array) -> int:
    """Where a direction (3,) stands among directions (N, 3)."""
    return int(np.abs(directions - direction).max(axis=1).argmin())


def prepared(directions: Array) -> Directions:
    """The directions with their angles and inverses; worked out once for each set."""
    return _prepared(directions.shape[0], directions.tobytes())


@lru_cache(maxsize=16)
def _prepared(count: int, raw: bytes) -> Directions:
    vectors = np.frombuffer(raw).reshape(count, 3)
    ones = np.ones(count, dtype=bool)
    pair_normal = _cross(vectors[:, None], vectors[None, :])
    square = (pair_normal**2).sum(-1)
    pair = (
        np.stack((_cross(vectors[None, :], pair_normal), _cross(pair_normal, vectors[:, None])), axis=-2)
        / np.where(square > _FLAT**2, square, 1.0)[..., None, None]
    )
    volume = np.einsum("ijx,kx->ijk", pair_normal, vectors)
    # Of a, b, c the rows are b x c, c x a and a x b over the volume.
    full = (count, count, count, 3)
    rows = (
        np.broadcast_to(pair_normal[None], full),
        np.broadcast_to(pair_normal.transpose(1, 0, 2)[:, None], full),
        np.broadcast_to(pair_normal[:, :, None], full),
    )
    solid = np.abs(volume) > _FLAT
    triple = np.stack(rows, axis=-2) / np.where(solid, volume, 1.0)[..., None, None]
    return Directions(
        vectors,
        angles_between(vectors[:, None], vectors[None, :]),
        {1: ones, 2: square > _FLAT**2, 3: solid},
        {1: vectors[:, None], 2: pair, 3: triple},
    )


def angles_between(first: Array, second: Array) -> Array:
    """Angles between unit vectors (..., 3) [degrees], accurate near 0 and 180 too."""
    cross = np.sqrt((_cross(first, second) ** 2).sum(-1))
    angle: Array = np.degrees(np.arctan2(cross, (first * second).sum(-1)))
    return angle


def follows(known: Directions, angles_deg: tuple[float, ...] | Literal["any"]) -> Bools:
    """Which direction may follow which, (N, N): they turn by one of the angles, or any up to the sharpest.

    A turn by 180 degrees has no vertex and is left out.
    """
    if angles_deg == "any":
        return (known.angle >= LEAST_TURN_DEG) & (known.angle <= SHARPEST_DEG)
    may = np.zeros(known.angle.shape, dtype=bool)
    for angle in angles_deg:
        if 0.0 < angle < 180.0:
            may |= np.abs(known.angle - angle) <= _ANGLE_DEG
    return may


def sequences(may_follow: Bools, leave: int, arrive: int, bends: int) -> Indices:
    """Every chain of ``bends + 1`` directions (S, bends + 1) from ``leave`` to ``arrive``."""
    chains = np.array([[leave]])
    for step in range(bends):
        if step == bends - 1:
            chains = chains[may_follow[chains[:, -1], arrive]]
            chains = np.column_stack((chains, np.full(len(chains), arrive)))
        else:
            row, onward = np.nonzero(may_follow[chains[:, -1]])
            chains = np.column_stack((chains[row], onward))
    return chains


def _cross(a: Array, b: Array) -> Array:
    ax, ay, az = a[..., 0], a[..., 1], a[..., 2]
    bx, by, bz = b[..., 0], b[..., 1], b[..., 2]
    return np.stack((ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx), axis=-1)
