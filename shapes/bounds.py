"""How far primitives and parts reach along a direction, in closed form."""

from __future__ import annotations

import math

import numpy as np

from shapes.part import Part
from shapes.pose import Array, Pose, compose
from shapes.primitives import Arc, Box, Cylinder, Mesh, Plate, Primitive, Prism, Straight, TubeRun

Span = tuple[float, float]
_AXES = np.eye(3)


def primitive_span(primitive: Primitive, here2there: Pose, direction: Array) -> Span:
    """Least and greatest distance along a unit ``direction`` (3,) of a placed primitive [mm]."""
    along = here2there.rotation.T @ direction
    shift = float(here2there.origin @ direction)
    low, high = _own_span(primitive, float(along[0]), float(along[1]), float(along[2]))
    return low + shift, high + shift


def primitive_box(primitive: Primitive, here2there: Pose) -> tuple[Array, Array]:
    """Low and high corner (3,) of a placed primitive's box along the outer axes [mm]."""
    match primitive:
        case Box(size=size):
            half = np.abs(here2there.rotation) @ (0.5 * np.array(size))
        case Plate(size=(length, width), thickness=thickness):
            half = np.abs(here2there.rotation) @ (0.5 * np.array((length, width, thickness)))
        case Cylinder(diameter=diameter, length=length):
            along = here2there.z_axis
            across = np.sqrt(np.maximum(1.0 - along * along, 0.0))
            half = 0.5 * (length * np.abs(along) + diameter * across)
        case _:
            spans = np.array([primitive_span(primitive, here2there, axis) for axis in _AXES])
            return spans[:, 0], spans[:, 1]
    return here2there.origin - half, here2there.origin + half


def part_span(part: Part, part2scene: Pose, direction: Array) -> Span:
    """The same over all solids of a part; its origin where it has none."""
    spans = [
        primitive_span(solid.primitive, compose(solid.solid2part, part2scene), direction)
        for solid in part.solids
    ]
    if not spans:
        here = float(part2scene.origin @ direction)
        return here, here
    return min(low for low, _ in spans), max(high for _, high in spans)


def part_box(part: Part, part2scene: Pose) -> tuple[Array, Array]:
    """Low and high corner (3,) of the part's box along the scene's axes [mm]."""
    spans = np.array([part_span(part, part2scene, axis) for axis in _AXES])
    return spans[:, 0], spans[:, 1]


def _own_span(primitive: Primitive, x: float, y: float, z: float) -> Span:
    match primitive:
        case Box(size=(length, width, height)):
            return _even((abs(x) * length + abs(y) * width + abs(z) * height) / 2.0)
        case Plate(size=(length, width), thickness=thickness):
            return _even((abs(x) * length + abs(y) * width + abs(z) * thickness) / 2.0)
        case Cylinder(diameter=diameter, length=length):
            return _even((abs(z) * length + math.hypot(x, y) * diameter) / 2.0)
        case Prism(corners=corners, height=height):
            flat = [x * cx + y * cy for cx, cy in corners]
            return min(flat) - abs(z) * height / 2.0, max(flat) + abs(z) * height / 2.0
        case TubeRun(pieces=pieces, outside=outside, deviation=deviation):
            radius = outside / 2.0 + deviation
            direction = (x, y, z)
            high = max(_reach(piece, radius, direction) for piece in pieces)
            low = -max(_reach(piece, radius, (-x, -y, -z)) for piece in pieces)
            return low, high
        case Mesh(vertices=vertices):
            along = vertices @ np.array((x, y, z))
            return float(along.min()), float(along.max())


def _even(half: float) -> Span:
    return -half, half


def _reach(piece: Straight | Arc, radius: float, direction: tuple[float, float, float]) -> float:
    """Greatest distance of a tube piece with flat ends along a unit direction."""
    if isinstance(piece, Straight):
        travel = tuple((b - a) / piece.length for a, b in zip(piece.start, piece.end, strict=True))
        rim = radius * math.hypot(*_cross(travel, direction))
        return max(_dot(piece.start, direction), _dot(piece.end, direction)) + rim
    # Along the arc the reach is R p cos(a - a0) + r sqrt(1 - p^2 sin^2(a - a0)), greatest at a0 where
    # the arc passes it, else at an end. With q the direction's part square to the bend's plane,
    # p^2 + q^2 = 1 and the root is hypot(q, p cos(a - a0)), which loses no digits near 0.
    out, along = _dot(piece.outward, direction), _dot(piece.along, direction)
    square = _dot(_cross(piece.outward, piece.along), direction)
    flat = math.hypot(out, along)
    peak = math.atan2(along, out) % (2.0 * math.pi)
    angles = [0.0, piece.angle] + ([peak] if peak <= piece.angle else [])
    reach = max(
        piece.radius * flat * math.cos(angle - peak)
        + radius * math.hypot(square, flat * math.cos(angle - peak))
        for angle in angles
    )
    return _dot(piece.centre, direction) + reach


def _cross(a: tuple[float, ...], b: tuple[float, ...]) -> tuple[float, ...]:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def _dot(a: tuple[float, ...], b: tuple[float, ...]) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
