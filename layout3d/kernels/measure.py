"""The signed distance of pairs of bodies, proved; many pairs in one go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.kernels.bodies import Body
from layout3d.kernels.convex import NEAR_MM
from layout3d.kernels.front import Outcome, box_room
from layout3d.kernels.pieces import joined
from layout3d.kernels.search import search
from shapes.pose import Array, Vec3, as_vec3
from shapes.primitives import Mesh

#: |distance| up to this is contact [mm].
CONTACT_MM = 1e-6
#: Points of pairs nearly in contact slip along it by this much; their proven bound is the better figure.
_SLIP_MM = 1e-5
_BATCH = 2000


@dataclass(frozen=True, slots=True)
class Measured:
    """The distance of two bodies.

    gap_mm : distance, or minus the depth of the deepest overlapping pair of convex pieces;
        where the pair was only proved clear, or the work ran out, a proven lower bound
    lower_mm : proven: the bodies are at least this far apart (equals gap_mm for an overlap)
    point_a, point_b : the nearest points found; for an overlap points ``-gap_mm`` apart along
        ``direction`` that meet when it is undone; None where the pair was only proved clear
    direction : unit vector, the way to move the second body away from the first
    exact : whether gap_mm is the distance (or least translation) itself and not a bound
    """

    gap_mm: float
    lower_mm: float
    point_a: Vec3 | None
    point_b: Vec3 | None
    direction: Vec3
    exact: bool


def measure(a: Body, b: Body) -> Measured:
    """The signed distance of two bodies to full accuracy."""
    return measure_pairs([(a, b)], np.array([np.inf]), stop_when_decided=False)[0]


def measure_pairs(
    pairs: Sequence[tuple[Body, Body]], required: Array, stop_when_decided: bool = True
) -> list[Measured]:
    """The signed distance of every pair.

    required : (N,) wanted gaps [mm]. With ``stop_when_decided`` a pair proved to keep its gap
        (to 1e-6) is not measured further; all others are measured to full accuracy.
    """
    wanted = np.broadcast_to(np.asarray(required, dtype=float), (len(pairs),))
    enough = wanted - CONTACT_MM if stop_when_decided else np.full(len(pairs), np.inf)
    results: list[Measured | None] = [None] * len(pairs)
    plain = [n for n, pair in enumerate(pairs) if not any(isinstance(one.primitive, Mesh) for one in pair)]
    for start in range(0, len(plain), _BATCH):
        rows = plain[start : start + _BATCH]
        for n, told in zip(rows, _batch([pairs[n] for n in rows], enough[rows]), strict=True):
            results[n] = told
    return [
        _with_mesh(*pairs[n], float(enough[n])) if told is None else told for n, told in enumerate(results)
    ]


def _with_mesh(a: Body, b: Body, enough: float) -> Measured:
    # Meshes are rare: other scenes should not load what measures them.
    from layout3d.kernels.meshes import mesh_pair

    lower, direction = box_room(a.low[None], a.high[None], b.low[None], b.high[None])
    if float(lower[0]) >= enough:
        return Measured(float(lower[0]), float(lower[0]), None, None, as_vec3(direction[0]), False)
    found = mesh_pair(a, b, enough)
    points = (found.on_mesh, found.on_other)
    point_a, point_b = (None if point is None else as_vec3(point) for point in points)
    exact = not found.overlaps and found.gap - found.lower <= _SLIP_MM
    return Measured(found.lower + 0.0, found.lower + 0.0, point_a, point_b, as_vec3(found.direction), exact)


def _batch(pairs: Sequence[tuple[Body, Body]], enough: Array) -> list[Measured]:
    places: dict[int, int] = {}
    bodies: list[Body] = []
    for pair in pairs:
        for body in pair:
            if id(body) not in places:
                places[id(body)] = len(bodies)
                bodies.append(body)
    first = np.array([places[id(a)] for a, _ in pairs])
    second = np.array([places[id(b)] for _, b in pairs])
    low, high = np.array([b.low for b in bodies]), np.array([b.high for b in bodies])
    lower, direction = box_room(low[first], high[first], low[second], high[second])
    outcome = Outcome.start(lower, direction)
    left = np.flatnonzero(lower < enough)
    if len(left):
        met = set(first[left].tolist()) | set(second[left].tolist())
        counts = np.array([len(b.pieces) if n in met else 0 for n, b in enumerate(bodies)])
        pieces = joined([bodies[n].pieces for n in sorted(met)])
        search(pieces, counts, first, second, left, enough, outcome)
    convex = np.array([b.convex for b in bodies])
    return _told(outcome, enough, convex[first] & convex[second])


def _told(outcome: Outcome, enough: Array, convex: Array) -> list[Measured]:
    told = []
    bounds = zip((outcome.gap + 0.0).tolist(), (outcome.lower + 0.0).tolist(), strict=True)
    for n, (gap, lower) in enumerate(bounds):
        direction, wanted = as_vec3(outcome.direction[n]), enough[n]
        point_a, point_b = as_vec3(outcome.point_a[n]), as_vec3(outcome.point_b[n])
        if outcome.overlaps[n]:
            told.append(Measured(gap, lower, point_a, point_b, direction, bool(convex[n])))
        elif gap == np.inf:
            told.append(Measured(lower, lower, None, None, direction, False))
        else:
            met = gap - lower <= _SLIP_MM
            proved = met and gap >= NEAR_MM and not lower < wanted <= gap
            told.append(Measured(gap if proved else lower, lower, point_a, point_b, direction, met))
    return told
