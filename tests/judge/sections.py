"""Bars: solids of one section all along an axis, whose distances are those of flat figures."""

from __future__ import annotations

import math

import numpy as np

from shapes.pose import IDENTITY, Array, Pose
from shapes.primitives import Box, Cylinder, Opening, Plate, Primitive, Prism, RoundOpening, Straight, TubeRun

from .features import centreline
from .points import edge_normals


def along(primitive: Primitive) -> Pose:
    """A frame of the primitive whose z is its axis: a tube's runs into its first straight."""
    if isinstance(primitive, TubeRun):
        places, travels = centreline(primitive)
        return Pose.facing(places[0], -travels[0])
    return IDENTITY


def across(opening: Opening) -> tuple[float, float]:
    if isinstance(opening, RoundOpening):
        return (opening.diameter, opening.diameter)
    return opening.size


def clear_of(opening: Opening, outline: Array, radius: float, aside: Array) -> float:
    """Least distance of an upright bar's outline from an opening's rim, negative where it crosses it."""
    placed = outline + aside
    if isinstance(opening, RoundOpening):
        return float(opening.diameter / 2.0 - np.linalg.norm(placed, axis=1).max() - radius)
    return float((np.array(across(opening)) / 2.0 - np.abs(placed)).min() - radius)


def upright(primitive: Primitive) -> Pose:
    """The frame in which ``section`` draws the primitive's section; x of a sheet stands up."""
    if isinstance(primitive, Plate):
        return Pose.facing((0.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    return along(primitive)


def is_bar(primitive: Primitive) -> bool:
    """Whether the section is the same all along."""
    return not isinstance(primitive, TubeRun) or (
        len(primitive.pieces) == 1 and isinstance(primitive.pieces[0], Straight)
    )


def section(primitive: Primitive) -> tuple[Array, float, float, float]:
    """Corners (n, 2) of the section across ``upright``, a radius round them, and the ends along z."""
    match primitive:
        case Box(size=(x, y, z)):
            return _rectangle(x, y), 0.0, -z / 2.0, z / 2.0
        case Plate(size=(x, y)):
            # x stands up, then z lies along the frame's x and y across (roof and its normal).
            return _rectangle(primitive.thickness, y), 0.0, -x / 2.0, x / 2.0
        case Cylinder():
            return np.zeros((1, 2)), primitive.diameter / 2.0, -primitive.length / 2.0, primitive.length / 2.0
        case Prism():
            return np.array(primitive.corners), 0.0, -primitive.height / 2.0, primitive.height / 2.0
        case TubeRun():
            piece = primitive.pieces[0]
            length = piece.length if isinstance(piece, Straight) else 0.0
            return np.zeros((1, 2)), primitive.outside / 2.0 + primitive.deviation, -length, 0.0


def _rectangle(x: float, y: float) -> Array:
    return np.array([[x, y], [-x, y], [-x, -y], [x, -y]]) / 2.0


def bars_apart(one: Primitive, two: Primitive, there: Pose) -> float:
    """Signed distance of two upright bars whose axes are parallel: sections apart, ends apart."""
    outline, radius, low, high = section(one)
    other, other_radius, bottom, top = section(two)
    placed = (other @ there.rotation[:2, :2].T) + there.origin[:2]
    if there.rotation[2, 2] < 0.0:
        bottom, top, placed = -top, -bottom, placed[::-1]
    ends = max(low - (top + there.origin[2]), bottom + there.origin[2] - high)
    sides = _sections_apart(outline, placed) - radius - other_radius
    if ends > 0.0 and sides > 0.0:
        return math.hypot(ends, sides)
    return max(ends, sides)


def _sections_apart(one: Array, two: Array) -> float:
    """Signed distance of two convex polygons or points (n, 2): minus the least translation if they meet."""
    edges = [edge_normals(corners) * sign for corners, sign in ((one, 1.0), (two, -1.0)) if len(corners) > 2]
    widest = -math.inf
    for normals in edges:
        apart = (two @ normals.T).min(axis=0) - (one @ normals.T).max(axis=0)
        widest = max(widest, float(apart.max()))
    if edges and widest <= 0.0:
        return widest
    return min(_rim_distance(one, two), _rim_distance(two, one))


def _rim_distance(corners: Array, points: Array) -> float:
    starts, ends = corners, np.roll(corners, -1, axis=0)
    sides = ends - starts
    length = np.maximum((sides**2).sum(axis=1), 1e-300)
    share = np.clip(np.einsum("psk,sk->ps", points[:, None] - starts, sides) / length, 0.0, 1.0)
    return float(np.linalg.norm(points[:, None] - starts - share[:, :, None] * sides, axis=2).min())
