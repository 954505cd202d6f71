"""Certified distance between convex hulls of pieces, many pairs at once.

``separation(a, b, n) = -(h_a(n) + h_b(-n))`` is the room between the two support planes
normal to n: a positive one proves the pair apart, and the largest over all n is the distance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from layout3d.kernels.pieces import Bools, Ints, Pieces
from shapes.pose import Array

#: Where upper and lower bound meet [mm].
CLOSED_MM = 1e-10
#: Pairs nearer than this are measured drawn apart, where directions are well defined [mm].
_NEAR_MM = 0.05
_MOST_STEPS = 80
_MOST_CLIMBS = 40


@dataclass(frozen=True, slots=True, eq=False)
class Separation:
    """N pairs: the best direction found, from a to b, its certificate, and a point of each hull.

    direction : (N, 3) unit
    lower : (N,) room between the support planes normal to it [mm]; negative: none found
    point_a, point_b : (N, 3) nearest points found [mm]
    """

    direction: Array
    lower: Array
    point_a: Array
    point_b: Array


def separation(a: Pieces, b: Pieces, directions: Array) -> Array:
    """Room between support planes normal to directions (N, M, 3), from a to b; (N, M) [mm]."""
    return -(a.height(directions) + b.height(-directions))


def separated(a: Pieces, b: Pieces, direction: Array, enough: Array) -> Separation:
    """The best separation found from one starting direction (N, 3) each.

    Pairs apart are measured to 1e-9 mm or until the certificate reaches ``enough`` (N,).
    Pairs that touch or overlap climb to the nearest local optimum: b is drawn off along the
    best direction so far and the distance measured there, which never makes it worse.
    """
    direction = _unit(direction)
    lower = separation(a, b, direction[:, None, :])[:, 0]
    point_a, point_b = np.empty_like(direction), np.empty_like(direction)
    active = np.arange(len(lower))
    for _ in range(_MOST_CLIMBS):
        if not len(active):
            break
        pull = np.maximum(_NEAR_MM - lower[active], 0.0)
        pull[lower[active] > _NEAR_MM] = 0.0
        drawn = pull[:, None] * direction[active]
        part_a, part_b = a.take(active), b.take(active)
        found, on_a, on_b = nearest(part_a, part_b.shifted(drawn), direction[active], enough[active] + pull)
        room = separation(part_a, part_b, found[:, None, :])[:, 0]
        gain = room - lower[active]
        better = gain > 0.0
        rows = active[better]
        direction[rows], lower[rows] = found[better], room[better]
        point_a[active], point_b[active] = on_a, on_b - drawn
        again = (pull > 0.0) & (gain > 1e-9) & (lower[active] < enough[active])
        active = active[again]
    return Separation(direction, lower, point_a, point_b)


def nearest(a: Pieces, b: Pieces, direction: Array, enough: Array) -> tuple[Array, Array, Array]:
    """Nearest points of hulls by Gilbert, Johnson and Keerthi's descent on their difference.

    Returns the direction from a to b (N, 3) and a point of each hull (N, 3); the points
    coincide where the hulls meet. Stops where the support plane proves the distance to
    ``CLOSED_MM``, or ``enough``, or no further progress is possible in double precision.
    """
    count = len(a)
    best, on_a, on_b = direction.copy(), direction, direction
    rows = np.arange(count)
    towards = direction.copy()
    vertices, on_first = np.zeros((count, 3, 3)), np.zeros((count, 3, 3))
    held = np.zeros((count, 3), dtype=bool)
    length, proved = np.full(count, np.inf), np.full(count, -np.inf)
    for step in range(_MOST_STEPS):
        first = a.support_points(towards)
        newest = first - b.support_points(-towards)
        room = -np.einsum("nc,nc->n", newest, towards)
        better = room > proved
        best[rows[better]] = towards[better]
        proved = np.maximum(proved, room)
        done = (length - proved <= CLOSED_MM) | (proved >= enough)
        if step == 0:
            on_a, on_b = first.copy(), first - newest
        else:
            done |= _repeats(vertices, held, newest)
        if done.any():
            keep = ~done
            rows, a, b = rows[keep], a.take(keep), b.take(keep)
            vertices, on_first, held = vertices[keep], on_first[keep], held[keep]
            newest, first, enough = newest[keep], first[keep], enough[keep]
            length, proved, towards = length[keep], proved[keep], towards[keep]
            if not len(rows):
                break
        weights, offset = _least_of_simplex(newest, vertices, held)
        vertices, on_first, held, weights = _kept(weights, newest, first, vertices, on_first)
        norm = np.sqrt(np.einsum("nc,nc->n", offset, offset))
        shorter = norm < length
        ahead = rows[shorter]
        at = np.einsum("nk,nkc->nc", weights[shorter], on_first[shorter])
        on_a[ahead], on_b[ahead] = at, at - offset[shorter]
        enough = np.where(shorter & (norm > 1e-12), enough, -np.inf)
        length = np.minimum(length, norm)
        towards = np.where(norm[:, None] > 1e-12, -offset / np.maximum(norm, 1e-12)[:, None], towards)
    return best, on_a, on_b


def _repeats(vertices: Array, held: Bools, newest: Array) -> Bools:
    """Whether the newest support point is already in the simplex."""
    same = (np.abs(vertices - newest[:, None, :]).max(axis=2) <= 1e-13) & held
    return np.asarray(same.any(axis=1))


_PAIRS = ((0, 1), (0, 2), (1, 2))


def _least_of_simplex(newest: Array, vertices: Array, held: Bools) -> tuple[Array, Array]:
    """Weights (N, 4) of newest and vertices, and the point of their hull nearest to the origin.

    Every face that has the newest vertex is tried; a face whose nearest point lies outside it
    is left out, so what is returned is a point of the hull even after rounding.
    """
    edges = np.where(held[:, :, None], vertices - newest[:, None, :], 0.0)
    gram = edges @ edges.transpose(0, 2, 1)
    slope = -np.einsum("nkc,nc->nk", edges, newest)
    tried = np.zeros((len(newest), 8, 3))
    with np.errstate(divide="ignore", invalid="ignore"):
        for k in range(3):
            tried[:, 1 + k, k] = np.clip(slope[:, k] / gram[:, k, k], 0.0, 1.0)
        for row, (i, j) in enumerate(_PAIRS, start=4):
            size = gram[:, i, i] * gram[:, j, j] - gram[:, i, j] ** 2
            tried[:, row, i] = (slope[:, i] * gram[:, j, j] - slope[:, j] * gram[:, i, j]) / size
            tried[:, row, j] = (slope[:, j] * gram[:, i, i] - slope[:, i] * gram[:, i, j]) / size
        first, second, third = edges[:, 0], edges[:, 1], edges[:, 2]
        normal = np.cross(second, third)
        volume = np.einsum("nc,nc->n", first, normal)
        tried[:, 7, 0] = -np.einsum("nc,nc->n", newest, normal) / volume
        tried[:, 7, 1] = -np.einsum("nc,nc->n", newest, np.cross(third, first)) / volume
        tried[:, 7, 2] = -np.einsum("nc,nc->n", newest, np.cross(first, second)) / volume
        total = tried.sum(axis=2)
        valid = (tried >= 0.0).all(axis=2) & (total <= 1.0)
    tried[~valid] = 0.0
    points = newest[:, None, :] + tried @ edges
    norms = np.einsum("nkc,nkc->nk", points, points)
    norms[~valid] = np.inf
    chosen = norms.argmin(axis=1)
    every = np.arange(len(newest))
    weights = np.concatenate([np.zeros((len(newest), 1)), tried[every, chosen]], axis=1)
    weights[:, 0] = 1.0 - weights[:, 1:].sum(axis=1)
    return weights, points[every, chosen]


def _kept(
    weights: Array, newest: Array, first: Array, vertices: Array, on_first: Array
) -> tuple[Array, Array, Bools, Array]:
    """The up to three vertices that carry the nearest point, heaviest first."""
    order: Ints = np.argsort(-weights, axis=1)[:, :3]
    every = np.arange(len(order))[:, None]
    kept = np.concatenate([newest[:, None], vertices], axis=1)[every, order]
    kept_first = np.concatenate([first[:, None], on_first], axis=1)[every, order]
    shares = weights[every, order]
    return kept, kept_first, shares > 0.0, shares


def _unit(directions: Array) -> Array:
    length = np.sqrt(np.einsum("...c,...c->...", directions, directions))[..., None]
    return np.asarray(np.where(length > 1e-12, directions / np.maximum(length, 1e-12), [1.0, 0.0, 0.0]))
