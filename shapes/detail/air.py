"""Picture detail of what moves or takes up air: fans, fins of radiators, air coolers, a supply's guard."""

from __future__ import annotations

from collections.abc import Iterator

from shapes.detail.bodies import (
    Detail,
    Facets,
    bevelled,
    blades,
    block,
    fin_rows,
    joined,
    ring,
    turned,
)
from shapes.part import Part, Solid
from shapes.pose import Pose
from shapes.primitives import Box, Cylinder, Plate, RectOpening, RoundOpening

_TUBE_PITCH_MM, _TUBE_MM = 9.5, 2.0  # flat water tubes across a radiator
_FIN_PITCH_MM, _MOST_FINS = 3.2, 150
_GUARD_MM, _GUARD_PITCH_MM = 1.6, 13.0
_RIM_MM, _MESH_PITCH_MM, _THREAD_MM = 12.0, 4.0, 0.9
_ROUND = 48


def rotor(_: Part, solid: Solid) -> Iterator[Detail]:
    """Hub, blades, and the struts that hold the motor on the outlet side."""
    if isinstance(solid.primitive, Cylinder):
        half = solid.primitive.length / 2.0
        yield from spinner(solid.name, solid.primitive.diameter / 2.0, -half, half, Pose.at((0.0, 0.0, 0.0)))


def spinner(host: str, radius: float, low: float, high: float, fan2host: Pose) -> Iterator[Detail]:
    """A fan between two heights of its own frame, air from low to high, struts at the high end."""
    depth = high - low
    strut = min(2.5, depth / 6.0)
    hub, top = 0.36 * radius, high - 1.4 * strut
    chamfer = min(2.0, depth / 6.0)
    cap = turned(((hub - chamfer, low), (hub, low + chamfer), (hub, top)), _ROUND)
    vanes = blades(hub * 0.97, radius - 0.8, low + 0.2, top, 9)
    bars = []
    for turn in range(4):
        bar = block((0.2 * hub, -strut / 2.0, high - strut), (radius * 0.995, strut / 2.0, high))
        bars.append(_placed(bar, Pose.at((0.0, 0.0, 0.0), (0.0, 0.0, 45.0 + 90.0 * turn))))
    seat = turned(((hub, high - strut), (hub, high)), _ROUND)
    yield Detail("hub", host, "black", _placed(cap, fan2host))
    yield Detail("blades", host, "plastic", _placed(vanes, fan2host))
    yield Detail("struts", host, "black", _placed(joined((*bars, seat)), fan2host))


def fins(_: Part, solid: Solid) -> Iterator[Detail]:
    """A radiator's core: flat water tubes along the row, zigzag fins between them."""
    if not isinstance(solid.primitive, Box):
        return
    x, y, z = (length / 2.0 for length in solid.primitive.size)
    count = max(2, round(2.0 * y / _TUBE_PITCH_MM))
    pitch = (2.0 * y - _TUBE_MM) / count
    lows = [-y + number * pitch for number in range(count + 1)]
    tubes = joined(block((-x, low, -0.96 * z), (x, low + _TUBE_MM, 0.96 * z)) for low in lows)
    rows = [(low + _TUBE_MM, low + pitch) for low in lows[:-1]]
    yield Detail("water_tubes", solid.name, "black", tubes)
    corners = ((-x, -y, -z), (x, y, z))
    # A long core gets coarser fins: nobody sees more of them, and the picture stays small.
    fin_pitch = max(_FIN_PITCH_MM, 2.0 * x / _MOST_FINS)
    yield Detail("zigzag_fins", solid.name, "metal", fin_rows(*corners, rows, fin_pitch))


def mesh(_: Part, solid: Solid) -> Iterator[Detail]:
    """A dust filter: a rim with the screw holes, threads across it both ways."""
    plate = solid.primitive
    if not isinstance(plate, Plate) or plate.openings:
        return
    (x, y), z = (side / 2.0 for side in plate.size), plate.thickness / 2.0
    rim, wide = min(_RIM_MM, 0.2 * y), _THREAD_MM / 2.0
    inner = (x - rim, y - rim)
    hole = RectOpening((0.0, 0.0), (2.0 * inner[0], 2.0 * inner[1]))
    yield Detail(
        "rim", solid.name, solid.look, Plate(plate.size, plate.thickness, (hole,), plate.screw_holes)
    )
    threads = []
    for axis in (0, 1):
        count = max(2, round(2.0 * inner[axis] / _MESH_PITCH_MM))
        # One way lies over the other, as woven.
        low_z, high_z = (-0.3 * z, 0.0) if axis else (0.0, 0.3 * z)
        for number in range(1, count):
            at = -inner[axis] + 2.0 * inner[axis] * number / count
            low, high = [-inner[0], -inner[1], low_z], [inner[0], inner[1], high_z]
            low[axis], high[axis] = at - wide, at + wide
            threads.append(block(low, high))
    yield Detail("threads", solid.name, solid.look, joined(threads))


def air_cooler(_: Part, solid: Solid) -> Iterator[Detail]:
    """A card's cooler: fins under the board, a shroud with one to three fans on the floor side."""
    if not isinstance(solid.primitive, Box):
        return
    x, y, z = (length / 2.0 for length in solid.primitive.size)
    count = min(3, max(1, round(x / y)))
    pitch, depth = 2.0 * x / count, min(16.0, 0.9 * z)
    radius = 0.44 * min(pitch, 2.0 * y)
    middles = [-x + pitch * (number + 0.5) for number in range(count)]
    openings = tuple(RoundOpening((at, 0.0), 2.0 * radius + 2.0) for at in middles)
    shroud = Plate((2.0 * x, 2.0 * y), depth, openings)
    yield Detail("shroud", solid.name, "black", shroud, Pose.at((0.0, 0.0, -z + depth / 2.0)))
    for number, at in enumerate(middles, 1):
        fan2host = Pose.at((at, 0.0, 0.0))
        for body in spinner(solid.name, radius, -z + 1.0, -z + depth, fan2host):
            yield Detail(f"{body.name}_{number}", solid.name, body.look, body.body)
    steps = max(2, round(2.0 * x / 4.0))
    step = 2.0 * x / steps
    plates = [
        block((-x + n * step, -0.96 * y, -z + depth), (-x + n * step + 1.2, 0.96 * y, z))
        for n in range(steps)
    ]
    yield Detail("cooling_fins", solid.name, "metal", joined(plates))


def supply(part: Part, solid: Solid) -> Iterator[Detail]:
    """A power supply's housing, the fan in its opening and the wire guard before it."""
    if not isinstance(solid.primitive, Box):
        return
    x, y, z = (length / 2.0 for length in solid.primitive.size)
    yield Detail("housing", solid.name, solid.look, bevelled((-x, -y, -z), (x, y, z), 1.0), drilled=True)
    for bore in part.bores:
        radius = bore.diameter / 2.0 - 1.0
        fan2host = Pose.at((0.0, 0.0, -z + bore.depth / 2.0))
        half = bore.depth / 2.0
        yield from spinner(solid.name, radius, -half + 2.5, half - 0.2, fan2host)
        rings = [
            ring(at - _GUARD_MM / 2.0, at + _GUARD_MM / 2.0, -z, -z + _GUARD_MM, _ROUND)
            for at in _guard_radii(radius)
        ]
        wide = _GUARD_MM / 2.0
        bars = [
            block((-radius, -wide, -z + 0.1), (radius, wide, -z + _GUARD_MM - 0.1)),
            block((-wide, -radius, -z + 0.2), (wide, radius, -z + _GUARD_MM - 0.2)),
        ]
        yield Detail("guard", solid.name, "metal", joined((*rings, *bars)))


def _guard_radii(radius: float) -> list[float]:
    count = max(2, round(radius / _GUARD_PITCH_MM))
    return [radius * (number + 0.6) / (count + 0.6) for number in range(count)]


def _placed(body: Facets, pose: Pose) -> Facets:
    return Facets(pose.apply(body.vertices), body.triangles, body.sheet)
