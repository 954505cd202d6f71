"""Picture detail of what holds or moves coolant: reservoirs, pumps, CPU blocks; grips of fittings."""

from __future__ import annotations

from collections.abc import Iterator

from shapes.detail.bodies import Detail, bevelled, block, joined, knurled, ribbed, turned
from shapes.part import Part, Solid
from shapes.primitives import Box, Cylinder

_FILL = 0.9  # how full a reservoir is drawn
_FILM_MM = 0.1  # between coolant and the wall round it, so that both are drawn
_SIDES = 48


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
