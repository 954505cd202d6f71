"""The outline of a plate with openings, as segments and arcs, and the distance to it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from shapes.pose import Array
from shapes.primitives import Opening, Plate, Point2, RectOpening, RoundOpening

#: Edges this near to each other are one edge [mm].
SAME_MM = 1e-9


@dataclass(frozen=True, slots=True)
class CircleArc:
    """Part of a circle: centre, radius, first angle and sweep [radians]."""

    centre: Point2
    radius: float
    first: float
    sweep: float


@dataclass(frozen=True, slots=True)
class Segment:
    """A straight stretch from ``start`` to ``end``."""

    start: Point2
    end: Point2


def outline_distance(points: Array, plate: Plate) -> Array:
    """Distance (N,) from points (N, 2) to the plate's outline [mm], infinite where all is cut away."""
    distance = np.full(len(points), np.inf)
    for piece in outline(plate):
        if isinstance(piece, Segment):
            start, edge = np.asarray(piece.start), np.subtract(piece.end, piece.start)
            share = np.clip((points - start) @ edge / (edge @ edge), 0.0, 1.0)
            rest = points - start - share[:, None] * edge
        else:
            from_centre = points - np.asarray(piece.centre)
            half = 0.5 * piece.sweep
            middle = piece.first + half
            off = np.arctan2(from_centre[:, 1], from_centre[:, 0]) - middle
            at = middle + np.clip((off + math.pi) % (2.0 * math.pi) - math.pi, -half, half)
            rest = from_centre - piece.radius * np.column_stack((np.cos(at), np.sin(at)))
        distance = np.minimum(distance, np.hypot(rest[:, 0], rest[:, 1]))
    return distance


@lru_cache(maxsize=256)
def outline(plate: Plate) -> tuple[Segment | CircleArc, ...]:
    """The edges that remain of the sheet and of its openings, which keep clear of each other."""
    half = (0.5 * plate.size[0], 0.5 * plate.size[1])
    pieces: list[Segment | CircleArc] = []
    for axis in (0, 1):
        for side in (-half[1 - axis], half[1 - axis]):
            kept = _less((-half[axis], half[axis]), [_cut(o, axis, side) for o in plate.openings])
            pieces += [_along(axis, side, low, high) for low, high in kept]
    for opening in plate.openings:
        if isinstance(opening, RectOpening):
            pieces += _rectangle_edges(opening, half)
        else:
            pieces += _circle_arcs(opening, half)
    return tuple(pieces)


def _along(axis: int, side: float, low: float, high: float) -> Segment:
    ends = ((low, side), (high, side)) if axis == 0 else ((side, low), (side, high))
    return Segment(*ends)


def _cut(opening: Opening, axis: int, side: float) -> Point2:
    """What the opening takes of the sheet's edge along ``axis`` at ``side``; empty where low >= high."""
    off = abs(side - opening.at[1 - axis])
    if isinstance(opening, RectOpening):
        reach = 0.5 * opening.size[axis] if off <= 0.5 * opening.size[1 - axis] + SAME_MM else 0.0
    else:
        reach = math.sqrt(max(0.25 * opening.diameter**2 - off**2, 0.0))
    return (opening.at[axis] - reach, opening.at[axis] + reach)


def _less(whole: Point2, cuts: list[Point2]) -> list[Point2]:
    kept, low = [], whole[0]
    for cut_low, cut_high in sorted(cut for cut in cuts if cut[1] - cut[0] > SAME_MM):
        if cut_low > low:
            kept.append((low, min(cut_low, whole[1])))
        low = max(low, cut_high)
    kept.append((low, whole[1]))
    return [(a, b) for a, b in kept if b - a > SAME_MM]


def _rectangle_edges(opening: RectOpening, half: Point2) -> list[Segment]:
    edges = []
    for axis in (0, 1):
        reach, across = 0.5 * opening.size[axis], 0.5 * opening.size[1 - axis]
        low, high = max(opening.at[axis] - reach, -half[axis]), min(opening.at[axis] + reach, half[axis])
        for side in (opening.at[1 - axis] - across, opening.at[1 - axis] + across):
            if abs(side) < half[1 - axis] - SAME_MM and high - low > SAME_MM:
                edges.append(_along(axis, side, low, high))
    return edges


def _circle_arcs(opening: RoundOpening, half: Point2) -> list[CircleArc]:
    radius = 0.5 * opening.diameter
    cuts = {0.0, 2.0 * math.pi}
    for axis in (0, 1):
        for side in (-half[axis], half[axis]):
            share = (side - opening.at[axis]) / radius
            if abs(share) < 1.0:
                turn = math.acos(share) if axis == 0 else math.asin(share)
                other = -turn if axis == 0 else math.pi - turn
                cuts |= {turn % (2.0 * math.pi), other % (2.0 * math.pi)}
    angles = sorted(cuts)
    arcs = []
    for first, last in pairwise(angles):
        middle = 0.5 * (first + last)
        x, y = opening.at[0] + radius * math.cos(middle), opening.at[1] + radius * math.sin(middle)
        if abs(x) < half[0] and abs(y) < half[1]:
            arcs.append(CircleArc(opening.at, radius, first, last - first))
    return arcs
