"""Picture detail of boards and cards: memory, heat sinks, connectors, chips, backplate lines."""

from __future__ import annotations

from collections.abc import Iterator

from shapes.detail.bodies import Detail, Facets, bevelled, block, joined
from shapes.part import Part, Solid
from shapes.pose import Pose
from shapes.primitives import Box, Plate

_RELIEF_MM = 0.3
_CHIPS = 90
#: Steps of an even, patternless spread over a rectangle: the plastic number's powers.
_SPREAD = (0.7548776662466927, 0.5698402909980532)
_SLOT_GROOVE_MM = 1.8


def circuit_board(_: Part, solid: Solid) -> Iterator[Detail]:
    """The board and, flat on its component side, chips and small parts."""
    plate = solid.primitive
    if not isinstance(plate, Plate) or plate.openings:
        return
    x, y = plate.size
    bare = Plate(plate.size, plate.thickness - _RELIEF_MM, screw_holes=plate.screw_holes)
    top = plate.thickness / 2.0
    yield Detail("board", solid.name, solid.look, bare, Pose.at((0.0, 0.0, -_RELIEF_MM / 2.0)))
    chips: list[Facets] = []
    pads: list[Facets] = []
    for number in range(_CHIPS):
        at_x = (number * _SPREAD[0] % 1.0 - 0.5) * (x - 24.0)
        at_y = (number * _SPREAD[1] % 1.0 - 0.5) * (y - 24.0)
        if any(abs(at_x - hole.at[0]) < 12.0 and abs(at_y - hole.at[1]) < 12.0 for hole in plate.screw_holes):
            continue
        wide, high = ((7.0, 7.0), (2.4, 1.4), (1.4, 2.4), (4.5, 3.0), (9.0, 5.0))[number % 5]
        body = block((at_x - wide, at_y - high, top - _RELIEF_MM), (at_x + wide, at_y + high, top))
        (pads if number % 5 in (1, 2) else chips).append(body)
    yield Detail("chips", solid.name, "black", joined(chips))
    yield Detail("small_parts", solid.name, "metal", joined(pads))


def memory(_: Part, solid: Solid) -> Iterator[Detail]:
    """A module between two heat spreaders, a light bar along its window-side edge."""
    if not isinstance(solid.primitive, Box):
        return
    x, y, z = (length / 2.0 for length in solid.primitive.size)
    foot, bar = y - min(5.0, 0.3 * y), min(5.0, 0.2 * y)
    yield Detail("module", solid.name, "board", block((-0.7, -y + bar, -z), (0.7, y, z)))
    for name, low, high in (("a", -x, -0.7), ("b", 0.7, x)):
        cheek = bevelled((low, -y + bar, -z), (high, foot, z), min(0.8, 0.3 * (high - low)))
        yield Detail(f"spreader_{name}", solid.name, "black", cheek)
    light = bevelled((-x, -y, -z), (x, -y + bar - 0.6, z), min(0.8, 0.3 * x))
    yield Detail("light_bar", solid.name, "metal", light)


def heat_sink(_: Part, solid: Solid) -> Iterator[Detail]:
    """A base on the board and fins across the longer way."""
    if not isinstance(solid.primitive, Box):
        return
    x, y, z = (length / 2.0 for length in solid.primitive.size)
    base = y - 0.7 * y
    yield Detail("base", solid.name, solid.look, block((-x, base, -z), (x, y, z)))
    along = 0 if x > z else 2
    half = max(x, z)
    count = max(3, round(2.0 * half / 6.0))
    pitch = 2.0 * half / (count - 0.35)
    fins = []
    for number in range(count):
        low, high = [-x, -y, -z], [x, base, z]
        low[along] = -half + number * pitch
        high[along] = low[along] + 0.65 * pitch
        fins.append(bevelled(low, high, min(0.5, 0.1 * pitch, 0.2 * (base + y))))
    yield Detail("fins", solid.name, solid.look, joined(fins))


def slot(_: Part, solid: Solid) -> Iterator[Detail]:
    """A connector with the groove the card's edge goes into."""
    if not isinstance(solid.primitive, Box):
        return
    x, y, z = (length / 2.0 for length in solid.primitive.size)
    half = min(_SLOT_GROOVE_MM / 2.0, 0.4 * z)
    floor, end = 0.5 * y, min(2.0, 0.2 * x)
    walls = (
        block((-x, -y, -z), (x, floor, -half)),
        block((-x, -y, half), (x, floor, z)),
        block((-x, -y, -half), (-x + end, floor, half)),
        block((x - end, -y, -half), (x, floor, half)),
        block((-x, floor, -z), (x, y, z)),
    )
    yield Detail("connector", solid.name, "black", joined(walls))


def backplate(_: Part, solid: Solid) -> Iterator[Detail]:
    """A plate with raised lines along it."""
    if not isinstance(solid.primitive, Box):
        return
    x, y, z = (length / 2.0 for length in solid.primitive.size)
    face = z - min(0.6, 0.3 * z)
    bevel = min(0.4, 0.2 * z)
    yield Detail("plate", solid.name, "black", bevelled((-x, -y, -z), (x, y, face), bevel))
    lines = [
        block((-0.9 * x, at * y, face), (0.9 * x - 0.12 * x * n, at * y + 0.02 * y, z))
        for n, at in enumerate((-0.7, -0.5, -0.3, 0.3, 0.5, 0.7))
    ]
    yield Detail("lines", solid.name, "metal", joined(lines))


def drive(_: Part, solid: Solid) -> Iterator[Detail]:
    """A drive's housing with a label on its roof face."""
    if not isinstance(solid.primitive, Box):
        return
    x, y, z = (length / 2.0 for length in solid.primitive.size)
    bevel = min(1.0, 0.1 * z)
    face = z - min(_RELIEF_MM, 0.1 * z)
    yield Detail("housing", solid.name, solid.look, bevelled((-x, -y, -z), (x, y, face), bevel))
    yield Detail("label", solid.name, "black", block((-0.75 * x, -0.8 * y, face), (0.75 * x, 0.8 * y, z)))


def water_block(_: Part, solid: Solid) -> Iterator[Detail]:
    """A card's clear block: cold plate against the board, coolant in channels, clear cover."""
    if not isinstance(solid.primitive, Box):
        return
    x, y, z = (length / 2.0 for length in solid.primitive.size)
    plate = z - min(4.0, 0.5 * z)
    yield Detail("cold_plate", solid.name, "metal", bevelled((-x, -y, plate), (x, y, z), min(0.6, 0.2 * z)))
    cover = bevelled((-x, -y, -z), (x, y, plate - 0.05), min(1.0, 0.2 * z))
    yield Detail("cover", solid.name, "clear", cover)
    low = plate - min(4.0, 0.5 * z)
    spans = [
        ((-0.84 * x, -0.8), (0.84 * x, -0.6)),
        ((-0.84 * x, 0.6), (0.84 * x, 0.8)),
        ((-0.84 * x, -0.6), (-0.70 * x, 0.6)),
        ((0.70 * x, -0.6), (0.84 * x, 0.6)),
        ((-0.25 * x, -0.6), (0.25 * x, 0.6)),
    ]
    ways = [block((a, b * y, low), (c, d * y, plate - 0.1)) for (a, b), (c, d) in spans]
    yield Detail("coolant", solid.name, "coolant", joined(ways))
