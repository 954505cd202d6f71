"""Bodies that picture detail is drawn from: faceted rounds, bevelled boxes, blades, fins, knurls.

Everything is in the frame of the solid it stands for, its host [mm]. Closed bodies have their
triangles counter-clockwise seen from outside.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from shapes.part import Look
from shapes.pose import IDENTITY, Array, Pose
from shapes.primitives import Primitive

Triangles: TypeAlias = npt.NDArray[np.int64]
Point: TypeAlias = Sequence[float]


@dataclass(frozen=True, slots=True, eq=False)
class Facets:
    """A faceted body.

    vertices : (n, 3) float64 [mm]
    triangles : (m, 3) vertex numbers
    sheet : an open surface without thickness, seen from both sides
    """

    vertices: Array
    triangles: Triangles
    sheet: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Detail:
    """A body drawn in pictures in place of its host; the host alone is checked and exported.

    host : name of a solid of the part; the body lies inside it
    body : a primitive placed by ``body2host``, or facets in the host's frame
    drilled : the part's bores into the host go through this body too
    """

    name: str
    host: str
    look: Look
    body: Primitive | Facets
    body2host: Pose = IDENTITY
    drilled: bool = False


def joined(bodies: Iterable[Facets]) -> Facets:
    """Several bodies as one; a sheet where any is."""
    listed = list(bodies)
    starts = np.cumsum([0, *(len(body.vertices) for body in listed[:-1])])
    return Facets(
        np.concatenate([body.vertices for body in listed]),
        np.concatenate([body.triangles + start for body, start in zip(listed, starts, strict=True)]),
        any(body.sheet for body in listed),
    )


def bevelled(low: Point, high: Point, bevel: float) -> Facets:
    """A box from corner to corner whose edges and corners are cut off by ``bevel`` [mm], > 0."""
    half = (np.asarray(high, dtype=float) - low) / 2.0
    signs = np.array(list(product((-1.0, 1.0), repeat=3)))
    # Three vertices a corner: on the face across x, y and z.
    vertices = np.concatenate([signs * (half - bevel * (np.arange(3) != axis)) for axis in range(3)])
    faces: list[list[int]] = []
    for axis, side in product(range(3), (-1.0, 1.0)):
        faces.append([axis * 8 + n for n in range(8) if signs[n, axis] == side])
    for axis in range(3):
        one, other = (axis + 1) % 3, (axis + 2) % 3
        for a, b in product((-1.0, 1.0), repeat=2):
            ends = [n for n in range(8) if signs[n, one] == a and signs[n, other] == b]
            faces.append([face * 8 + n for face in (one, other) for n in ends])
    faces += [[n, 8 + n, 16 + n] for n in range(8)]
    triangles = [triangle for face in faces for triangle in _convex_face(vertices, face)]
    return Facets(vertices + (np.asarray(low) + half), np.array(triangles))


def _convex_face(vertices: Array, face: list[int]) -> list[tuple[int, int, int]]:
    """A convex face of a body about the origin, its corners in any order, as triangles."""
    points = vertices[face]
    middle = points.mean(axis=0)
    normal = np.cross(points[1] - points[0], points[2] - points[0])
    normal = normal if normal @ middle > 0.0 else -normal
    along = points[0] - middle
    across = np.cross(normal, along) / math.sqrt(float(normal @ normal))
    angles = np.arctan2((points - middle) @ across, (points - middle) @ along)
    ring = [face[n] for n in np.argsort(angles)]
    return [(ring[0], ring[n], ring[n + 1]) for n in range(1, len(ring) - 1)]


def block(low: Point, high: Point) -> Facets:
    """A plain box from corner to corner."""
    signs = np.array(list(product((0.0, 1.0), repeat=3)))
    vertices = np.asarray(low) + signs * (np.asarray(high, dtype=float) - low)
    quads = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
    return Facets(vertices, np.array([t for a, b, c, d in quads for t in ((a, b, c), (a, c, d))]))


def grid_round(rings: Array) -> Facets:
    """A solid body from rings (rings, sides, 3) that go round the z axis, lowest first, flat ends."""
    count, sides, _ = rings.shape
    ends = np.array([rings[0].mean(axis=0), rings[-1].mean(axis=0)])
    here = np.arange(sides)
    after = (here + 1) % sides
    start = (np.arange(count - 1) * sides)[:, None]
    skin = _quads(start + here, start + after, start + sides + after, start + sides + here)
    bottom, top = count * sides, count * sides + 1
    last = (count - 1) * sides
    lids = np.concatenate(
        (
            np.column_stack((np.full(sides, bottom), after, here)),
            np.column_stack((np.full(sides, top), last + here, last + after)),
        )
    )
    return Facets(np.concatenate((rings.reshape(-1, 3), ends)), np.concatenate((skin, lids)))


def turned(profile: Sequence[tuple[float, float]], sides: int) -> Facets:
    """A solid of revolution: (radius, z) from the lowest up, radii > 0."""
    circle = _circle(sides)
    rings = [np.column_stack((radius * circle, np.full(sides, z))) for radius, z in profile]
    return grid_round(np.array(rings))


def ring(inner: float, outer: float, low: float, high: float, sides: int) -> Facets:
    """A flat ring about z, its facets outside the circle ``inner`` and inside ``outer`` [mm]."""
    circle = _circle(sides)
    inner = inner / math.cos(math.pi / sides)
    corners = ((inner, low), (outer, low), (outer, high), (inner, high))
    vertices = np.concatenate([np.column_stack((r * circle, np.full(sides, z))) for r, z in corners])
    here = np.arange(sides)
    after = (here + 1) % sides
    skins = []
    for side in range(4):
        near, far = side * sides, (side + 1) % 4 * sides
        skins.append(_quads(near + here, near + after, far + after, far + here))
    return Facets(vertices, np.concatenate(skins))


def knurled(radius: float, length: float) -> Facets:
    """A bar along z with a diamond grip, smooth and chamfered at both ends."""
    teeth = max(16, 2 * round(radius * 1.9))
    chamfer = min(0.8, length / 6.0, radius / 6.0)
    deep = min(0.45, radius / 12.0)
    rim = min(1.2, length / 8.0)
    rows = max(2, round((length - 2.0 * (chamfer + rim)) / (math.pi * radius / teeth * 2.2)))
    half = length / 2.0
    flanks = np.linspace(-half + chamfer + rim, half - chamfer - rim, rows + 1)
    circle = _circle(teeth)
    rings = [(radius - chamfer, -half), (radius, -half + chamfer)]
    radii = [np.full(teeth, r) for r, _ in rings]
    heights = [z for _, z in rings]
    for row, z in enumerate(flanks):
        radii.append(np.where((np.arange(teeth) + row) % 2 == 0, radius, radius - deep))
        heights.append(float(z))
    radii += [np.full(teeth, radius), np.full(teeth, radius - chamfer)]
    heights += [half - chamfer, half]
    return grid_round(
        np.array(
            [
                np.column_stack((r[:, None] * circle, np.full(teeth, z)))
                for r, z in zip(radii, heights, strict=True)
            ]
        )
    )


def ribbed(radius: float, length: float, ribs: int) -> Facets:
    """A bar along z with cooling ribs along it, plain at both ends."""
    deep, rim, half = radius * 0.06, min(4.0, length / 6.0), length / 2.0
    circle = _circle(4 * ribs)
    grooves = np.where(np.arange(4 * ribs) % 4 < 2, radius, radius - deep)
    plain = np.full(4 * ribs, radius)
    rows = (
        (plain - rim / 4.0, -half),
        (plain, -half + rim / 4.0),
        (plain, -half + rim),
        (grooves, -half + rim + deep),
        (grooves, half - rim - deep),
        (plain, half - rim),
        (plain, half - rim / 4.0),
        (plain - rim / 4.0, half),
    )
    return grid_round(
        np.array([np.column_stack((r[:, None] * circle, np.full(4 * ribs, z))) for r, z in rows])
    )


def blades(hub: float, tip: float, low: float, high: float, count: int = 9) -> Facets:
    """Swept and twisted fan blades about z between two heights; air from low to high [mm]."""
    spans, chords = 6, 8
    thick = min(1.2, (high - low) / 6.0)
    s, c = np.meshgrid(np.linspace(0.0, 1.0, spans), np.linspace(0.0, 1.0, chords), indexing="ij")
    radius = hub + (tip - hub) * s
    angle = 0.42 * s**1.4 + (c - 0.5) * (2.0 * math.pi / count) * (0.98 - 0.10 * s)
    climb = (high - low - thick) * (1.0 - 0.35 * s)
    camber = 0.10 * climb * np.sin(math.pi * c)
    z = (low + high) / 2.0 + (c - 0.5) * climb * 0.88 + camber * 0.5
    edge = thick / 2.0 * np.sin(math.pi * np.clip(c, 0.06, 0.94)) ** 0.5
    skins = [
        np.stack((radius * np.cos(angle), radius * np.sin(angle), z + side * edge), axis=-1)
        for side in (-1, 1)
    ]
    one = _slab(skins[0], skins[1])
    bodies = []
    for number in range(count):
        turn = Pose.at((0.0, 0.0, 0.0), (0.0, 0.0, 360.0 * number / count))
        bodies.append(Facets(turn.apply(one.vertices), one.triangles))
    return joined(bodies)


def _slab(below: Array, above: Array) -> Facets:
    """The closed body between two surfaces (n, m, 3), the normal of both toward ``above``."""
    n, m, _ = below.shape
    number = np.arange(n * m).reshape(n, m)
    quads = _quads(number[:-1, :-1], number[1:, :-1], number[1:, 1:], number[:-1, 1:])
    rim = np.concatenate((number[:-1, 0], number[-1, :-1], number[:0:-1, -1], number[0, :0:-1]))
    after = np.roll(rim, -1)
    walls = _quads(rim, after, after + n * m, rim + n * m)
    vertices = np.concatenate((below.reshape(-1, 3), above.reshape(-1, 3)))
    return Facets(vertices, np.concatenate((quads[:, ::-1], quads + n * m, walls)))


def fin_rows(low: Point, high: Point, rows: Sequence[tuple[float, float]], pitch: float) -> Facets:
    """Zigzag fins along x, as deep as the box is along z, one in each span of y."""
    steps = max(2, 2 * round((high[0] - low[0]) / pitch))
    x = np.linspace(low[0], high[0], steps + 1)
    sheets = []
    for y_low, y_high in rows:
        y = np.where(np.arange(steps + 1) % 2 == 0, y_low, y_high)
        edges = [np.column_stack((x, y, np.full(steps + 1, z))) for z in (low[2], high[2])]
        here = np.arange(steps)
        after, over = here + 1, here + steps + 1
        sheets.append(Facets(np.concatenate(edges), _quads(here, after, over + 1, over), sheet=True))
    return joined(sheets)


def _circle(sides: int) -> Array:
    angles = np.arange(sides) * (2.0 * math.pi / sides)
    return np.column_stack((np.cos(angles), np.sin(angles)))


def _quads(a: Triangles, b: Triangles, c: Triangles, d: Triangles) -> Triangles:
    """Two triangles for each quad a b c d, counter-clockwise."""
    a, b, c, d = np.broadcast_arrays(a, b, c, d)
    return np.concatenate((np.stack((a, b, c), axis=-1), np.stack((a, c, d), axis=-1))).reshape(-1, 3)
