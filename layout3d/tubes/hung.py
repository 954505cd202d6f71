"""A hose's own shape as arcs: the rod in balance, told as tangent arcs that stay close to it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from layout3d.tubes.centreline import NO_TURN, Piece, end_of, length_mm, part_of, start_of, straight_between
from layout3d.tubes.rod import Rod, solved
from layout3d.tubes.turns import Ray
from layout3d.tubes.vectors import add, angle, dot, minus, norm, times, unit
from shapes.pose import Array, Vec3, as_vec3
from shapes.primitives import Arc

#: Links of the chain a shape is solved with; half as many first, to tell how far the figures may be off.
LINKS = 96
#: A shape has its length to this [mm].
_LENGTH_MM = 1e-7
#: Arcs may lie this far off the chain before more of them are used [mm].
_CLOSE_MM = 0.03
_STRIDES = (16, 8, 4, 2, 1)


@dataclass(frozen=True, slots=True)
class Hung:
    """The shape of a hose between two clamps.

    pieces : tangent arcs, of the wanted length
    deviation : how far the rod may lie from them [mm]
    least_radius : [mm], infinite for a straight one
    force : on the last end, over the bending stiffness [1/mm^2]
    moments : of the two clamps on the hose, over the bending stiffness [1/mm]
    links : (n, 3) its directions, to start a neighbour from
    """

    pieces: tuple[Piece, ...]
    deviation: float
    least_radius: float
    force: Vec3
    moments: tuple[Vec3, Vec3]
    links: Array


def directions(pieces: Sequence[Piece], count: int) -> Array:
    """Unit directions (count, 3) halfway along equal stretches of a centreline."""
    whole = length_mm(pieces)
    stretches = (
        part_of(pieces, whole * (k + 0.49) / count, whole * (k + 0.51) / count) for k in range(count)
    )
    return np.array([start_of(stretch[0])[1] for stretch in stretches])


def rough_radius(
    start: Ray, end: Ray, length: float, links: Array, weight: Array
) -> tuple[float, Array] | None:
    """Least radius [mm] of a shape, to a few thousandths of itself, and its links; None for no balance."""
    rod = solved(start, end, length, links, weight)
    return None if rod is None else (1.0 / max(_most_bent(rod), 1e-12), rod.links)


def hung(start: Ray, end: Ray, length: float, links: Array, weight: Array, count: int = LINKS) -> Hung | None:
    """The shape of this length [mm] near a guess (n, 3) of its directions; None where none is in balance.

    weight : (3,) on each mm, over the bending stiffness [1/mm^3]
    count : links it is solved with, even
    """
    coarse = solved(start, end, length, _resampled(links, count // 2), weight)
    if coarse is None:
        return None
    chain = length
    rod = solved(start, end, chain, _resampled(coarse.links, count), weight)
    for _ in range(8):
        if rod is None:
            return None
        arcs, off = _arcs(rod)
        missing = length - length_mm(arcs)
        if abs(missing) <= _LENGTH_MM:
            # Links twice as long cut four times as much off the curve's length.
            alike = solved(start, end, length + 4.0 * (chain - length), coarse.links, weight)
            return _told(rod, alike or coarse, arcs, off)
        chain += missing
        rod = solved(start, end, chain, rod.links, weight)
    return None


def _told(rod: Rod, coarse: Rod, arcs: tuple[Piece, ...], off: float) -> Hung:
    # Errors fall with the square of the link. What is left of the places is three times less than the
    # step from coarse to fine; of the curvature half a step is added where it rose, so that no radius
    # is told larger than it is.
    step = float(np.linalg.norm(rod.joints[::2] - coarse.joints, axis=1).max())
    fine, rough = _most_bent(rod), _most_bent(coarse)
    bent = fine + 0.5 * max(fine - rough, 0.0)
    first, last = rod.moments
    least = 1.0 / bent if bent > 1e-9 else math.inf
    return Hung(arcs, off + step, least, as_vec3(rod.force), (as_vec3(first), as_vec3(last)), rod.links)


def _most_bent(rod: Rod) -> float:
    """The greatest curvature: at each joint the angle of its links over the length it stands for [1/mm]."""
    stretch = np.full(len(rod.joints), rod.length / len(rod.links))
    stretch[[0, -1]] *= 0.5
    chords = np.linalg.norm(rod.curvatures, axis=1) * stretch
    return float((2.0 * np.arcsin(np.minimum(0.5 * chords, 1.0)) / stretch).max())


def _resampled(links: Array, count: int) -> Array:
    """Directions (count, 3) at equal steps of a chain of directions."""
    here = (np.arange(count) + 0.5) * len(links) / count - 0.5
    low = np.clip(np.floor(here).astype(int), 0, max(len(links) - 2, 0))
    share = (here - low)[:, None]
    mixed = (1.0 - share) * links[low] + share * links[np.minimum(low + 1, len(links) - 1)]
    return np.asarray(mixed / np.linalg.norm(mixed, axis=1)[:, None])


def _arcs(rod: Rod) -> tuple[tuple[Piece, ...], float]:
    """Two tangent arcs from every so many joints to the next, and how far those between lie off [mm]."""
    tangents = rod.tangents
    for stride in _STRIDES:
        places = range(0, len(rod.joints), stride)
        rays = [(as_vec3(rod.joints[k]), as_vec3(tangents[k])) for k in places]
        spans = [biarc(one, two) for one, two in pairwise(rays)]
        off = max(_off(span, rod.joints[k + 1 : k + stride]) for span, k in zip(spans, places, strict=False))
        if off <= _CLOSE_MM:
            break
    return tuple(piece for span in spans for piece in span), off


def _off(span: Sequence[Piece], points: Array) -> float:
    """Greatest distance of points (n, 3) to a span of pieces [mm]."""
    most = 0.0
    for point in points:
        most = max(most, min(_distance(piece, as_vec3(point)) for piece in span))
    return most


def _distance(piece: Piece, point: Vec3) -> float:
    """From a point to a short arc's circle, or to a straight's line [mm]."""
    if not isinstance(piece, Arc):
        begin, direction = start_of(piece)
        off = minus(point, begin)
        return norm(minus(off, times(direction, dot(off, direction))))
    off = minus(point, piece.centre)
    x, y = dot(off, piece.outward), dot(off, piece.along)
    flat = math.hypot(x, y)
    above = math.sqrt(max(dot(off, off) - flat * flat, 0.0))
    return math.hypot(flat - piece.radius, above)


def biarc(start: Ray, end: Ray) -> tuple[Piece, ...]:
    """Two arcs, or straights, that run tangentially from one ray to the next, alike at both ends.

    The join lies where both ends' equal tangent lengths d meet: |v|^2 - 2 d v.(t1 + t2)
    + 2 d^2 (t1.t2 - 1) = 0 with v from start to end (Bolton, Biarc curves, 1975).
    """
    (p, t1), (q, t2) = start, end
    across, both = minus(q, p), add(t1, t2)
    a, b, c = 2.0 * (dot(t1, t2) - 1.0), -2.0 * dot(across, both), dot(across, across)
    root = math.sqrt(max(b * b - 4.0 * a * c, 0.0))
    tangent = 2.0 * c / (-b + root)
    join = times(add(add(p, times(t1, tangent)), minus(q, times(t2, tangent))), 0.5)
    return (*_arc_to(p, t1, join), *_reversed_arc(q, t2, join))


def _arc_to(start: Vec3, direction: Vec3, end: Vec3) -> tuple[Piece, ...]:
    """The arc that leaves ``start`` along ``direction`` and ends at ``end``."""
    chord = minus(end, start)
    turn = 2.0 * angle(direction, unit(chord))
    square = minus(chord, times(direction, dot(chord, direction)))
    if turn < NO_TURN or norm(square) < 1e-12:
        return straight_between(start, end)
    inward, radius = unit(square), norm(chord) / (2.0 * math.sin(turn / 2.0))
    centre = add(start, times(inward, radius))
    return (Arc(centre, times(inward, -1.0), direction, radius, turn),)


def _reversed_arc(end: Vec3, direction: Vec3, start: Vec3) -> tuple[Piece, ...]:
    """The arc that arrives at ``end`` along ``direction`` from ``start``."""
    back = _arc_to(end, times(direction, -1.0), start)
    if not back or not isinstance(back[0], Arc):
        return straight_between(start, end)
    arc = back[0]
    point, travel = end_of(arc)
    spoke = times(minus(point, arc.centre), 1.0 / arc.radius)
    return (Arc(arc.centre, spoke, times(travel, -1.0), arc.radius, arc.angle),)
