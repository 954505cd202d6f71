"""Picture detail of what holds or moves coolant: reservoirs, pumps, CPU blocks; grips of fittings."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from shapes.detail.bodies import Detail, bevelled, block, joined, knurled, ribbed, turned
from shapes.part import Part, Solid
from shapes.primitives import Box, Cylinder, Plate

_FILL = 0.9  # how full a reservoir is drawn
_FILM_MM = 0.1  # between coolant and the wall round it, so that both are drawn
_SIDES = 48
_CHANNEL_MM = 12.0


def grip(_: Part, solid: Solid) -> Iterator[Detail]:
    """A knurled collar."""
    bar = solid.primitive
    if isinstance(bar, Cylinder) and bar.length >= 2.0:
        yield Detail("grip", solid.name, solid.look, knurled(bar.diameter / 2.0, bar.length), drilled=True)


def motor(_: Part, solid: Solid) -> Iterator[Detail]:
    """A pump's round motor with ribs along it."""
    bar = solid.primitive
    if isinstance(bar, Cylinder):
        ribs = max(12, round(bar.diameter / 2.2))
        yield Detail(
            "motor", solid.name, solid.look, ribbed(bar.diameter / 2.0, bar.length, ribs), drilled=True
        )


def pump_top(_: Part, solid: Solid) -> Iterator[Detail]:
    """A pump's top in two layers, the lower one a flange."""
    if not isinstance(solid.primitive, Box):
        return
    x, y, z = (length / 2.0 for length in solid.primitive.size)
    seam = -z + 0.28 * z
    bodies = (
        bevelled((-x, -y, seam), (x, y, z), min(2.0, 0.1 * z)),
        bevelled((-x, -y, -z), (x, y, seam - 0.02), min(0.8, 0.1 * z)),
    )
    yield Detail("top", solid.name, solid.look, joined(bodies), drilled=True)


def reservoir_tube(part: Part, solid: Solid) -> Iterator[Detail]:
    """The clear wall of a reservoir and the coolant in it."""
    bar = solid.primitive
    inner = [bore.diameter for bore in part.bores if bore.into == (solid.name,)]
    if not isinstance(bar, Cylinder) or not inner:
        return
    half, radius = bar.length / 2.0, bar.diameter / 2.0
    wall = turned(((radius, -half), (radius, half)), 2 * _SIDES)
    yield Detail("wall", solid.name, solid.look, wall, drilled=True)
    wet = min(inner) / 2.0 - _FILM_MM
    level = -half + _FILL * bar.length
    yield Detail("coolant", solid.name, "coolant", turned(((wet, -half + _FILM_MM), (wet, level)), _SIDES))


def clear_box(_: Part, solid: Solid) -> Iterator[Detail]:
    """A clear body with the coolant in it."""
    if not isinstance(solid.primitive, Box):
        return
    half = [length / 2.0 for length in solid.primitive.size]
    inner = [side - min(6.0, 0.25 * side) for side in half]
    shell = bevelled([-side for side in half], half, min(1.0, 0.1 * min(half)))
    yield Detail("shell", solid.name, solid.look, shell, drilled=True)
    yield Detail("coolant", solid.name, "coolant", block([-side for side in inner], inner))


def cpu_body(_: Part, solid: Solid) -> Iterator[Detail]:
    """A clear block with the coolant over the cold plate, ports away from it."""
    if not isinstance(solid.primitive, Box):
        return
    x, y, z = (length / 2.0 for length in solid.primitive.size)
    body = bevelled((-x, -y, -z), (x, y, z), min(1.5, 0.1 * y))
    yield Detail("body", solid.name, solid.look, body, drilled=True)
    yield Detail(
        "coolant",
        solid.name,
        "coolant",
        block((-0.55 * x, 0.15 * y, -0.45 * z), (0.55 * x, 0.8 * y, 0.45 * z)),
    )
    yield Detail(
        "plate", solid.name, "metal", block((-0.75 * x, 0.82 * y, -0.75 * z), (0.75 * x, 0.99 * y, 0.75 * z))
    )


def channels(part: Part, solid: Solid) -> Iterator[Detail]:
    """A clear plate and the coolant in its channels, from port to port square to the plate's edges."""
    plate = solid.primitive
    if not isinstance(plate, Plate) or plate.openings:
        return
    yield Detail("plate", solid.name, solid.look, plate, drilled=True)
    half = (plate.size[0] / 2.0, plate.size[1] / 2.0)
    wide, deep = min(_CHANNEL_MM / 2.0, 0.4 * min(half)), 0.3 * plate.thickness
    bars = []
    for joins in part.channels.values():
        places = [_inner_end(part, solid, end) for end in joins]
        spots = [
            tuple(min(max(v, wide - h), h - wide) for v, h in zip(at, half, strict=True))
            for at in places
            if at is not None
        ]
        for (ax, ay), (bx, by) in pairwise(spots):
            for (px, py), (qx, qy) in (((ax, ay), (bx, ay)), ((bx, ay), (bx, by))):
                low = (min(px, qx) - wide, min(py, qy) - wide, -deep)
                bars.append(block(low, (max(px, qx) + wide, max(py, qy) + wide, deep)))
    if bars:
        yield Detail("coolant", solid.name, "coolant", joined(bars))


def _inner_end(part: Part, solid: Solid, end: str) -> tuple[float, float] | None:
    """Where a port's thread, or a pump's seat, ends in the plate's plane; None where it has neither."""
    if end in part.ports:
        port = part.ports[end]
        at = port.port2part.origin - port.depth * port.port2part.z_axis
    elif "pump" in part.mounts:
        at = part.mounts["pump"].mount2part.origin
    else:
        return None
    x, y, _ = solid.solid2part.inverse.apply(at).tolist()
    return (x, y)
