"""In which order bodies are painted, so that nearer ones cover farther ones.

Every body's depth is sampled on one grid of points. Neighbours in depth at a point must be painted
in that order; a cycle, which only bodies that interlock can make, is cut where the fewest
points ask for it.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from layout3d.drawing.seen import Body, Face
from shapes.pose import Array

#: Sample points along the picture's longer side.
_POINTS = 480
Ints = npt.NDArray[np.int64]


def painting_order(bodies: Sequence[Body]) -> list[int]:
    """Numbers of the bodies, farthest first."""
    if not bodies:
        return []
    corners = np.concatenate([face.corners for body in bodies for face in body.faces])
    low, high = corners[:, :2].min(axis=0), corners[:, :2].max(axis=0)
    step = max(float((high - low).max()), 1e-3) / _POINTS
    pixels, depths, owners = [], [], []
    for number, body in enumerate(bodies):
        for face in body.faces:
            where, depth = _samples(face, low, step)
            pixels.append(where)
            depths.append(depth)
            owners.append(np.full(len(where), number))
    behind, before, weight = _pairs(np.concatenate(pixels), np.concatenate(depths), np.concatenate(owners))
    nearness = np.array([max(float(face.corners[:, 2].mean()) for face in body.faces) for body in bodies])
    return _sorted(len(bodies), behind, before, weight, nearness)


def _samples(face: Face, low: Array, step: float) -> tuple[Ints, Array]:
    """Numbers of the grid's points inside a face, and its depth there [mm]."""
    at = (face.corners[:, :2] - low) / step
    first = np.ceil(at.min(axis=0) - 0.5).astype(int)
    last = np.floor(at.max(axis=0) - 0.5).astype(int)
    if (last < first).any():
        return np.empty(0, dtype=np.int64), np.empty(0)
    x = np.arange(first[0], last[0] + 1) + 0.5
    y = (np.arange(first[1], last[1] + 1) + 0.5)[:, None]
    inside = _covered(at, x, y)
    for hole in face.holes:
        inside &= ~_covered((hole[:, :2] - low) / step, x, y)
    row, column = np.nonzero(inside)
    normal = np.cross(face.corners, np.roll(face.corners, -1, axis=0)).sum(axis=0)
    middle = face.corners.mean(axis=0)
    slope = -normal[:2] / normal[2]
    points = np.column_stack((x[column], y[row, 0])) * step + low
    depth = middle[2] + (points - middle[:2]) @ slope
    return (row + first[1]) * (4 * _POINTS) + column + first[0], depth


def _covered(corners: Array, x: Array, y: Array) -> npt.NDArray[np.bool_]:
    after = np.roll(corners, -1, axis=0)
    turn = float((corners[:, 0] * after[:, 1] - corners[:, 1] * after[:, 0]).sum())
    if turn < 0.0:
        corners, after = after, corners
    inside = np.ones((len(y), len(x)), dtype=bool)
    for (ax, ay), (bx, by) in zip(corners, after, strict=True):
        inside &= (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0.0
    return inside


def _pairs(pixels: Ints, depths: Array, owners: Ints) -> tuple[Ints, Ints, Ints]:
    """Pairs (behind, before) that lie next to each other in depth at some point, and at how many."""
    order = np.lexsort((depths, pixels))
    pixel, owner = pixels[order], owners[order]
    next_to = (pixel[1:] == pixel[:-1]) & (owner[1:] != owner[:-1])
    behind, before = owner[:-1][next_to], owner[1:][next_to]
    base = int(owners.max(initial=0)) + 1
    low, high = np.minimum(behind, before), np.maximum(behind, before)
    keys, which = np.unique(low * base + high, return_inverse=True)
    # Bodies that meet are told apart by what most points say.
    balance = np.bincount(which, np.where(behind < before, 1.0, -1.0), len(keys)).astype(np.int64)
    low, high = keys // base, keys % base
    kept = balance != 0
    first, second = np.where(balance > 0, low, high), np.where(balance > 0, high, low)
    return first[kept], second[kept], np.abs(balance)[kept]


def _sorted(count: int, behind: Ints, before: Ints, weight: Ints, nearness: Array) -> list[int]:
    needs: list[dict[int, int]] = [{} for _ in range(count)]
    leads: list[list[int]] = [[] for _ in range(count)]
    for one, other, points in zip(behind.tolist(), before.tolist(), weight.tolist(), strict=True):
        needs[other][one] = points
        leads[one].append(other)
    ready = [(float(nearness[number]), number) for number in range(count) if not needs[number]]
    heapq.heapify(ready)
    left = dict.fromkeys(range(count))
    order = []
    while left:
        if not ready:
            freed = _cut_cycle(next(iter(left)), needs, leads)
            if freed is not None:
                heapq.heappush(ready, (float(nearness[freed]), freed))
            continue
        _, number = heapq.heappop(ready)
        del left[number]
        order.append(number)
        for other in leads[number]:
            del needs[other][number]
            if not needs[other]:
                heapq.heappush(ready, (float(nearness[other]), other))
    return order


def _cut_cycle(start: int, needs: list[dict[int, int]], leads: list[list[int]]) -> int | None:
    """Take the least asked-for demand out of a cycle behind ``start``; who waits for nobody now."""
    trail = [start]
    while (farther := min(needs[trail[-1]])) not in trail:
        trail.append(farther)
    cycle = trail[trail.index(farther) :]
    links = list(zip(cycle, [*cycle[1:], cycle[0]], strict=True))
    nearer, farther = min(links, key=lambda link: (needs[link[0]][link[1]], link))
    del needs[nearer][farther]
    leads[farther].remove(nearer)
    return None if needs[nearer] else nearer
