"""What is wrong with a rigid path, as plain facts: which stretch, how much it has, what it needs.

The findings are worded from these elsewhere; remedies are tried by asking here again.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, TypeAlias

from layout3d.scene.model import RigidTubing
from layout3d.tubes.centreline import NO_TURN
from layout3d.tubes.vectors import angle, half_tangent, middle, minus, times, unit
from shapes.pose import Vec3

#: A length rule fails only when it is missed by more than this [mm].
TOLERANCE_MM = 1e-6

Rule: TypeAlias = Literal["end-straight", "bend-spacing", "bend-radius", "port-direction", "path-corners"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One broken rule of the path itself.

    places : the two points the faulty leg runs between, by number, 0 for the tube's start; a
        single one for a faulty corner
    end : 0 or 1 where it concerns the tube's start or end
    measured, required : lengths [mm]; for ``port-direction`` the angle off the axis and 0 [degrees]
    short_mm : how much longer the straight would have to be [mm]
    """

    rule: Rule
    places: tuple[int, ...]
    measured: float
    required: float
    at: Vec3
    end: Literal[0, 1] | None = None
    short_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Corners:
    """A path by its corners, judged.

    points : both mouths and every corner that turns, in order [mm]
    radii : one per inner point, shrunk where the tubing's own would not fit [mm]
    faults : in order along the tube
    """

    points: tuple[Vec3, ...]
    radii: tuple[float, ...]
    faults: tuple[Fault, ...]

    @property
    def can_be_bent(self) -> bool:
        """No two corners in one place and no fold: there is a run, perhaps of a smaller radius."""
        return all(radius > 0.0 for radius in self.radii)


def judged(points: Sequence[Vec3], axes: tuple[Vec3, Vec3], tubing: RigidTubing) -> Corners:
    """Judge a path by its points.

    points : the first mouth, the corners, the last mouth [mm]
    axes : the way the tube has to leave, and the way it has to arrive (unit)
    """
    same = [k for k in range(len(points) - 1) if math.dist(points[k], points[k + 1]) <= TOLERANCE_MM]
    if same:
        faults = tuple(
            Fault("path-corners", (k, k + 1), math.dist(points[k], points[k + 1]), 0.0, points[k])
            for k in same
        )
        return Corners(tuple(points), (0.0,), faults)
    legs = [unit(minus(after, before)) for before, after in pairwise(points)]
    turning = [k for k in range(1, len(points) - 1) if angle(legs[k - 1], legs[k]) >= NO_TURN]
    folds = [k for k in turning if angle(legs[k - 1], legs[k]) > math.pi - NO_TURN]
    faults = _off_axis(points, (legs[0], legs[-1]), axes)
    if folds:
        faults += tuple(Fault("bend-radius", (k,), 0.0, tubing.bend_radius, points[k]) for k in folds)
        return Corners(tuple(points), (0.0,), faults)
    places = (0, *turning, len(points) - 1)
    tangents = [0.0, *(half_tangent(legs[k - 1], legs[k]) for k in turning), 0.0]
    lengths = [math.dist(points[a], points[b]) for a, b in pairwise(places)]
    fits = [
        length / (before + after) if before + after > 0.0 else math.inf
        for length, before, after in zip(lengths, tangents, tangents[1:], strict=False)
    ]
    radii = tuple(min(tubing.bend_radius, fits[k], fits[k + 1]) for k in range(len(turning)))
    spans = list(pairwise(places))
    for k, (a, b) in enumerate(spans if turning else ()):
        straight = lengths[k] - tubing.bend_radius * (tangents[k] + tangents[k + 1])
        at = middle(points[a], points[b])
        faults += straight_faults(k, len(spans), straight, tubing, (a, b), at, fits[k])
    return Corners(tuple(points[k] for k in places), radii, faults)


def straight_faults(
    which: int,
    count: int,
    straight: float,
    tubing: RigidTubing,
    places: tuple[int, ...],
    at: Vec3,
    fits: float = math.inf,
) -> tuple[Fault, ...]:
    """What is wrong with straight ``which`` of ``count`` (at least 2) that is ``straight`` mm long.

    ``fits``: the largest radius of the bends beside it that leaves a straight of 0 [mm].
    """
    end: Literal[0, 1] | None = 0 if which == 0 else 1 if which == count - 1 else None
    needed = tubing.between_bends if end is None else tubing.end_straight
    if straight < -TOLERANCE_MM:
        return (Fault("bend-radius", places, fits, tubing.bend_radius, at, end, needed - straight),)
    if straight < needed - TOLERANCE_MM:
        rule: Rule = "bend-spacing" if end is None else "end-straight"
        return (Fault(rule, places, max(straight, 0.0), needed, at, end, needed - straight),)
    return ()


def _off_axis(points: Sequence[Vec3], legs: tuple[Vec3, Vec3], axes: tuple[Vec3, Vec3]) -> tuple[Fault, ...]:
    last = len(points) - 1
    ends: tuple[tuple[Literal[0, 1], tuple[int, int], Vec3], ...] = (
        (0, (0, 1), points[0]),
        (1, (last - 1, last), points[last]),
    )
    faults = []
    for end, places, at in ends:
        off = angle(legs[end], axes[end])
        if off > NO_TURN:
            faults.append(Fault("port-direction", places, math.degrees(off), 0.0, at, end))
    return tuple(faults)


def off_axis_by(point: Vec3, mouth: Vec3, axis: Vec3) -> Vec3:
    """The shortest way from ``point`` onto the axis through ``mouth`` [mm]."""
    back = minus(mouth, point)
    along_axis = sum(a * b for a, b in zip(back, axis, strict=True))
    return minus(back, times(axis, along_axis))
