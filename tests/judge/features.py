"""Points of primitives whose supporting plane is known, and primitives of random size.

A feature is a point of the solid and a unit normal such that the whole solid lies behind the
plane through the point: two solids put feature against feature are exactly the stated gap apart.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from shapes.pose import Array, unit
from shapes.primitives import Arc, Box, Cylinder, Plate, Primitive, Prism, Straight, TubeRun

from .points import depth, edge_normals
from .whole_numbers import MOST_OPENINGS, WIDTHS, hundredths, primitive_of


class Feature(NamedTuple):
    """``flat``: the point lies within a flat face; ``axial``: on the solid's own axis as well."""

    point: Array
    normal: Array
    flat: bool
    axial: bool = False


def draw_numbers(rng: np.random.Generator, kind: str, most: float = 480.0) -> list[int]:
    """Whole numbers of a random primitive, no measure of it above about ``most`` [mm]."""
    drawn = {"box": _box, "cylinder": _cylinder, "prism": _prism, "plate": _plate, "tube": _tube}[kind](
        rng, most
    )
    return drawn + [0] * (WIDTHS[kind] - len(drawn))


def _length(rng: np.random.Generator, least: float, most: float) -> float:
    """Log-uniform: sheets and blocks alike."""
    return math.exp(rng.uniform(math.log(least), math.log(max(most, 1.01 * least))))


def _box(rng: np.random.Generator, most: float) -> list[int]:
    return hundredths([_length(rng, min(1.0, most / 20.0), most) for _ in range(3)])


def _cylinder(rng: np.random.Generator, most: float) -> list[int]:
    return hundredths(
        [_length(rng, min(2.0, most / 10.0), min(140.0, most)), _length(rng, min(1.0, most / 20.0), most)]
    )


def _prism(rng: np.random.Generator, most: float) -> list[int]:
    while True:
        count = int(rng.integers(3, 9))
        angles = np.sort(rng.uniform(0.0, 2.0 * math.pi, count))
        across = np.array([_length(rng, min(4.0, most / 8.0), min(300.0, most)) / 2.0 for _ in range(2)])
        corners = across * np.column_stack((np.cos(angles), np.sin(angles)))
        height = _length(rng, min(1.0, most / 20.0), min(300.0, most))
        numbers = [*hundredths([height]), count, *hundredths(corners.ravel())]
        try:
            primitive_of("prism", numbers + [0] * (WIDTHS["prism"] - len(numbers)))
        except ValueError:  # not convex once rounded
            continue
        sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
        if sides.min() > 0.05 * most**0.3:
            return numbers


def _plate(rng: np.random.Generator, most: float) -> list[int]:
    length, width = (_length(rng, min(30.0, most / 3.0), most) for _ in range(2))
    thickness = rng.choice([0.8, 1.0, 1.2, 1.5, 2.0, 3.0]) * min(1.0, most / 20.0)
    count = int(rng.integers(0, MOST_OPENINGS + 1))
    cell = length / max(count, 1)
    openings: list[int] = []
    for k in range(count):
        most_across = 0.85 * min(cell, width)
        across = rng.uniform(0.2, 1.0, 2) * most_across
        x = -length / 2.0 + (k + 0.5) * cell + rng.uniform(-0.5, 0.5) * (0.95 * cell - across[0])
        round_hole = bool(rng.random() < 0.5)
        across[1] = across[0] if round_hole else across[1]
        y = rng.uniform(-0.5, 0.5) * (0.95 * width - across[1])
        if rng.random() < 0.15:  # runs out over the edge
            y = math.copysign(width / 2.0 - 0.2 * across[1], y)
        openings += [*hundredths([x, y, *across]), 0 if round_hole else 100]
    return [*hundredths([length, width, thickness]), count, *openings]


def _tube(rng: np.random.Generator, most: float) -> list[int]:
    scale = min(1.0, most / 120.0)
    outside = float(rng.choice([10.0, 12.0, 13.0, 14.0, 16.0, 19.05])) * scale
    deviation = float(rng.choice([0.0, 0.0, 0.0, 0.05, 0.3])) * scale
    bends = int(rng.choice([0, 1, 1, 2]))
    rows: list[int] = []
    for row in range(bends):
        straight = 0.0 if rng.random() < 0.3 else _length(rng, 3.0, 150.0) * scale
        turn = (
            float(rng.choice([0.0, 90.0, 180.0, rng.uniform(-180.0, 180.0)]))
            if row
            else rng.uniform(-180, 180)
        )
        bend = float(rng.choice([45.0, 90.0, 90.0, 180.0, rng.uniform(5.0, 180.0)]))
        rows += hundredths([straight, turn, bend, rng.uniform(20.0, 60.0) * scale])
    last = 0.0 if bends and rng.random() < 0.3 else _length(rng, 3.0, 200.0) * scale
    head = hundredths([outside, 0.7 * outside, deviation])
    return [*head, bends, *hundredths([last]), *rows]


def support(primitive: Primitive, normal: Array) -> float:
    """The furthest the solid reaches along a unit normal, in its own frame [mm].

    A plate counts without its openings.
    """
    match primitive:
        case Box(size=size):
            return float(np.abs(normal) @ size) / 2.0
        case Cylinder():
            flat = math.hypot(normal[0], normal[1])
            return float(primitive.diameter * flat + primitive.length * abs(normal[2])) / 2.0
        case Prism():
            flat = (np.array(primitive.corners) @ normal[:2]).max()
            return float(flat + abs(normal[2]) * primitive.height / 2.0)
        case Plate():
            return float(np.abs(normal) @ (*primitive.size, primitive.thickness)) / 2.0
        case TubeRun():
            radius = primitive.outside / 2.0 + primitive.deviation
            return max(_reach(piece, radius, normal) for piece in primitive.pieces)


def _reach(piece: Straight | Arc, radius: float, normal: Array) -> float:
    """The furthest of a piece's two end discs, and of the disc whose arm points along the normal."""
    if isinstance(piece, Straight):
        along = (np.array(piece.end) - piece.start) / piece.length
        discs = [(np.array(piece.start), along), (np.array(piece.end), along)]
    else:
        out, along = np.array(piece.outward), np.array(piece.along)
        best = math.atan2(along @ normal, out @ normal) % (2.0 * math.pi)
        angles = [0.0, piece.angle] + ([best] if best < piece.angle else [])
        discs = [
            (
                np.array(piece.centre) + piece.radius * (math.cos(a) * out + math.sin(a) * along),
                math.cos(a) * along - math.sin(a) * out,
            )
            for a in angles
        ]
    return max(
        float(place @ normal) + radius * math.sqrt(max(0.0, 1.0 - float(travel @ normal) ** 2))
        for place, travel in discs
    )


def centreline(run: TubeRun, per_piece: int = 257) -> tuple[Array, Array]:
    """Places and directions of travel (n, 3) along a tube, both ends of each piece included."""
    places, travels = [], []
    for piece in run.pieces:
        share = np.linspace(0.0, 1.0, per_piece)[:, None]
        if isinstance(piece, Straight):
            start, end = np.array(piece.start), np.array(piece.end)
            places.append(start + share * (end - start))
            travels.append(np.tile((end - start) / piece.length, (per_piece, 1)))
        else:
            cos, sin = np.cos(piece.angle * share), np.sin(piece.angle * share)
            out, along = np.array(piece.outward), np.array(piece.along)
            places.append(np.array(piece.centre) + piece.radius * (cos * out + sin * along))
            travels.append(cos * along - sin * out)
    return np.concatenate(places), np.concatenate(travels)


def ball(primitive: Primitive) -> tuple[Array, float]:
    """A ball round the primitive."""
    if isinstance(primitive, TubeRun):
        places, _ = centreline(primitive)
        middle = (places.min(axis=0) + places.max(axis=0)) / 2.0
        reach = np.linalg.norm(places - middle, axis=1).max()
        return middle, 1.001 * (reach + primitive.outside / 2.0 + primitive.deviation)
    return np.zeros(3), 1.001 * float(
        np.linalg.norm([max(support(primitive, v), support(primitive, -v)) for v in np.eye(3)])
    )


def draw_feature(
    rng: np.random.Generator, primitive: Primitive, wanted: Callable[[Feature], bool]
) -> Feature | None:
    """A random feature that is ``wanted``, or None where 60 draws gave none."""
    for _ in range(60):
        match primitive:
            case Box(size=size):
                found = _of_block(rng, np.array(size) / 2.0)
            case Plate():
                found = _of_block(rng, np.array((*primitive.size, primitive.thickness)) / 2.0)
                if _is_open(primitive, found):
                    continue
            case Cylinder():
                found = _of_bar(rng, primitive.diameter / 2.0, primitive.length / 2.0)
            case Prism():
                found = _of_prism(rng, primitive)
            case TubeRun():
                found = _of_tube(rng, primitive)
                if abs(support(primitive, found.normal) - found.point @ found.normal) > 1e-9:
                    continue
        if wanted(found):
            return found
    return None


def _is_open(plate: Plate, found: Feature) -> bool:
    """Whether an opening is under the feature or within 0.6 mm of it."""
    bare = Plate(plate.size, plate.thickness)
    inward = found.point - 1e-6 * found.normal
    spots = inward + 0.6 * np.array([[dx, dy, 0.0] for dx in (-1.0, 0.0, 1.0) for dy in (-1.0, 0.0, 1.0)])
    spots = spots[depth(bare, spots) > -1.0]
    flat = Plate(plate.size, plate.thickness, plate.openings)
    within = np.minimum(depth(bare, spots), 0.0)
    return bool((depth(flat, spots) < within - 1e-9).any())


def _of_block(rng: np.random.Generator, half: Array) -> Feature:
    """A face (1 axis), an edge (2) or a corner (3) of a block."""
    count = int(rng.choice([1, 1, 2, 3]))
    fixed = rng.permutation(3)[:count]
    sign = rng.choice([-1.0, 1.0], 3)
    axial = bool(rng.random() < 0.2)
    point = rng.uniform(-0.98, 0.98, 3) * half * (0.0 if axial else 1.0)
    normal = np.zeros(3)
    for axis in fixed:
        point[axis], normal[axis] = sign[axis] * half[axis], sign[axis] * rng.uniform(0.1, 1.0)
    return Feature(point, unit(normal), count == 1, axial and count == 1 and bool(fixed[0] == 2))


def _of_bar(rng: np.random.Generator, radius: float, half: float) -> Feature:
    """A cap, the side or a rim of a cylinder along z."""
    angle, sign = rng.uniform(0.0, 2.0 * math.pi), float(rng.choice([-1.0, 1.0]))
    out = np.array([math.cos(angle), math.sin(angle), 0.0])
    up = np.array([0.0, 0.0, sign])
    match rng.choice(["cap", "side", "rim"]):
        case "cap":
            axial = bool(rng.random() < 0.3)
            reach = 0.0 if axial else 0.98 * radius * math.sqrt(rng.random())
            return Feature(reach * out + half * up, up, True, axial)
        case "side":
            return Feature(radius * out + rng.uniform(-0.98, 0.98) * half * up, out, False)
    slant = rng.uniform(0.1, 1.4)
    return Feature(radius * out + half * up, math.cos(slant) * out + math.sin(slant) * up, False)


def _of_prism(rng: np.random.Generator, prism: Prism) -> Feature:
    corners = np.array(prism.corners)
    normals, count = edge_normals(corners), len(corners)
    k, sign = int(rng.integers(count)), float(rng.choice([-1.0, 1.0]))
    up, top = np.array([0.0, 0.0, sign]), sign * prism.height / 2.0
    side, before = np.append(normals[k], 0.0), np.append(normals[k - 1], 0.0)
    share = rng.uniform(0.02, 0.98)
    on_side = share * corners[k] + (1.0 - share) * corners[(k + 1) % count]
    level = rng.uniform(-0.98, 0.98) * prism.height / 2.0
    match rng.choice(["cap", "side", "upright", "rim", "corner"]):
        case "cap":
            weights = rng.dirichlet(np.ones(count)) * 0.98 + 0.02 / count
            return Feature(np.append(weights @ corners, top), up, True)
        case "side":
            return Feature(np.append(on_side, level), side, True)
        case "upright":
            return Feature(np.append(corners[k], level), unit(before + rng.uniform(0.1, 3.0) * side), False)
        case "rim":
            return Feature(np.append(on_side, top), unit(side + rng.uniform(0.1, 3.0) * up), False)
    leaning = before + rng.uniform(0.1, 3.0) * side + rng.uniform(0.1, 3.0) * up
    return Feature(np.append(corners[k], top), unit(leaning), False)


def _of_tube(rng: np.random.Generator, run: TubeRun) -> Feature:
    """An end, its rim, or a point of the skin of a tube; whether all of it lies behind is not checked."""
    radius = run.outside / 2.0 + run.deviation
    places, travels = centreline(run)
    angle = rng.uniform(0.0, 2.0 * math.pi)
    part = str(rng.choice(["start", "end", "rim", "skin", "lying"]))
    at = {"start": 0, "end": -1}.get(
        part, int(rng.choice([0, -1])) if part == "rim" else int(rng.integers(len(places)))
    )
    place, travel = places[at], travels[at]
    away = -travel if at == 0 else travel
    side = unit(np.cross(travel, [0.3, -0.8, 0.5]))
    out = math.cos(angle) * side + math.sin(angle) * np.cross(travel, side)
    if part in ("start", "end"):
        axial = bool(rng.random() < 0.3)
        reach = 0.0 if axial else 0.98 * radius * math.sqrt(rng.random())
        return Feature(place + reach * out, away, True, axial)
    if part == "rim":
        slant = rng.uniform(0.1, 1.4)
        return Feature(place + radius * out, math.cos(slant) * out + math.sin(slant) * away, False)
    bent = [piece for piece in run.pieces if not isinstance(piece, Straight)]
    if (
        bent and part == "lying"
    ):  # the side of a bend's plane, where a plane tube rests along its whole length
        out = float(rng.choice([-1.0, 1.0])) * np.cross(bent[0].outward, bent[0].along)
    elif bent:  # the back of a bend
        arc = bent[int(rng.integers(len(bent)))]
        angle = rng.uniform(0.0, arc.angle)
        out = math.cos(angle) * np.array(arc.outward) + math.sin(angle) * np.array(arc.along)
        place = np.array(arc.centre) + arc.radius * out
    return Feature(place + radius * unit(out), unit(out), False)
