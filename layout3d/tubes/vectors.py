"""Three-number vectors as plain tuples: for the few dozen points of a tube faster than arrays."""

from __future__ import annotations

import math

from shapes.pose import Vec3


def add(a: Vec3, b: Vec3) -> Vec3:
    """a + b."""
    return (a[0] + b[0], a[1] + b[1], a[2] + b[2])


def minus(a: Vec3, b: Vec3) -> Vec3:
    """a - b."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def times(a: Vec3, factor: float) -> Vec3:
    """a scaled."""
    return (a[0] * factor, a[1] * factor, a[2] * factor)


def along(start: Vec3, direction: Vec3, distance: float) -> Vec3:
    """The point ``distance`` from ``start`` along ``direction``."""
    return (
        start[0] + direction[0] * distance,
        start[1] + direction[1] * distance,
        start[2] + direction[2] * distance,
    )


def dot(a: Vec3, b: Vec3) -> float:
    """Inner product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Vec3, b: Vec3) -> Vec3:
    """Cross product, right-handed."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def norm(a: Vec3) -> float:
    """Length."""
    return math.sqrt(dot(a, a))


def unit(a: Vec3) -> Vec3:
    """a scaled to length 1; ZeroDivisionError for the zero vector."""
    return times(a, 1.0 / norm(a))


def middle(a: Vec3, b: Vec3) -> Vec3:
    """The point halfway."""
    return times(add(a, b), 0.5)


def half_tangent(a: Vec3, b: Vec3) -> float:
    """Tangent of half the angle between two unit vectors, exact near 0; infinite when opposed."""
    under = norm(add(a, b))
    return norm(minus(a, b)) / under if under > 0.0 else math.inf


def angle(a: Vec3, b: Vec3) -> float:
    """Angle between two unit vectors [radians], exact near 0 and near pi."""
    return 2.0 * math.atan2(norm(minus(a, b)), norm(add(a, b)))


def square_to(axis: Vec3, toward: Vec3) -> Vec3:
    """The unit vector square to unit ``axis`` on the side of ``toward``, which must not be parallel."""
    return unit(minus(toward, times(axis, dot(axis, toward))))


def any_square_to(axis: Vec3) -> Vec3:
    """Some unit vector square to ``axis``, along a coordinate axis where it can be."""
    smallest = min(range(3), key=lambda k: abs(axis[k]))
    return square_to(axis, tuple(1.0 if k == smallest else 0.0 for k in range(3)))  # type: ignore[arg-type]


def turned(vector: Vec3, axis: Vec3, angle_deg: float) -> Vec3:
    """``vector``, square to unit ``axis``, turned about it, right-handed [degrees]."""
    radians = math.radians(angle_deg)
    return add(times(vector, math.cos(radians)), times(cross(axis, vector), math.sin(radians)))
