"""Directions off the list, for runs whose bend angles are given but whose legs may lie any way."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np

from layout3d.tubes.route.directions import distinct
from shapes.pose import Array

#: Legs after the first bend are tried at this many places round the mouth's axis.
ROLLS = 16


def any_way(leave: Array, arrive: Array, offset: Array, angles_deg: tuple[float, ...]) -> Iterator[Array]:
    """Sets of directions (N, 3), each with ``leave`` and ``arrive``, that hold runs of two and three bends.

    offset : from mouth to mouth; the places round the axis start on its side
    """
    angles = [math.radians(angle) for angle in angles_deg if 0.0 < angle < 180.0]
    two = [d for a, b in itertools.product(angles, repeat=2) for d in on_both(leave, a, arrive, b)]
    firsts = [way for angle in angles for way in _round(leave, angle, offset)]
    if two:
        yield distinct(np.array([leave, arrive, *two]))
    for first in firsts:
        onward = [d for a, b in itertools.product(angles, repeat=2) for d in on_both(first, a, arrive, b)]
        yield distinct(np.array([leave, arrive, first, *onward]))


def on_both(first: Array, first_angle: float, second: Array, second_angle: float) -> list[Array]:
    """The directions at these angles [radians] from two others that are not parallel."""
    cosine = float(first @ second)
    normal = np.cross(first, second)
    square = float(normal @ normal)
    if square < 1e-12:
        return []
    x = (math.cos(first_angle) - cosine * math.cos(second_angle)) / square
    y = (math.cos(second_angle) - cosine * math.cos(first_angle)) / square
    rest = (1.0 - x * x - y * y - 2.0 * x * y * cosine) / square
    if rest < -1e-12:
        return []
    return [x * first + y * second + sign * math.sqrt(max(rest, 0.0)) * normal for sign in (1.0, -1.0)]


def _round(axis: Array, angle: float, offset: Array) -> list[Array]:
    """Directions at an angle [radians] from the axis, all round it from the offset's side on."""
    side = offset - (offset @ axis) * axis
    if float(np.abs(side).max()) < 1e-9:
        side = np.eye(3)[int(np.abs(axis).argmin())]
        side = side - (side @ axis) * axis
    side = side / np.linalg.norm(side)
    across = np.cross(axis, side)
    rolls = 2.0 * math.pi * np.arange(ROLLS) / ROLLS
    return [
        math.cos(angle) * axis + math.sin(angle) * (math.cos(roll) * side + math.sin(roll) * across)
        for roll in rolls
    ]
