"""Proofs over whole boxes of a family, from their corners alone.

The points within a distance of a convex solid form a convex set. Runs of a family that are
mixed in some proportion have their bends, and points of their straights, mixed in the same: a
bend's point, or some point of one straight, that lies in such a set at every corner of a box
does so all over the box. Likewise two straights that come too near at every corner do so all
over.
"""

from __future__ import annotations

import itertools

import numpy as np

from layout3d.kernels.obstacles import Obstacles
from layout3d.tubes.route.directions import Bools, Indices
from layout3d.tubes.route.families import Families
from layout3d.tubes.route.motion import ON_BEND, ON_STRAIGHT
from shapes.pose import Array

#: Shares of a box's first side that are tried, the whole first.
_FAR_MM = 1e9
_SIDES = np.array([1.0, 0.25, 0.0625])


def box_corners(low: Array, high: Array) -> tuple[Array, Array]:
    """Corners (B, T, 4, 3) of boxes (B, 3) at their low face and at shares of their first side.

    Face 0 is the low one, the others are at the first coordinates (B, T - 1) returned.
    """
    first = low[:, :1] + (high - low)[:, :1] * _SIDES
    faces = np.concatenate((low[:, :1], first), axis=1)
    others = np.array(list(itertools.product((0.0, 1.0), repeat=2)))
    corners = np.empty((*faces.shape, 4, 3))
    corners[..., 0] = faces[..., None]
    corners[..., 1:] = low[:, None, None, 1:] + (high - low)[:, None, None, 1:] * others
    return corners, first


def held(
    families: Families,
    rows: Indices,
    sample: Indices,
    corners: Array,
    obstacles: Obstacles,
    obstacle: Indices,
    within: Array,
) -> Bools:
    """Whether a convex obstacle blocks the sampled bend or straight at all corners (B, T, 4, 3) of a face.

    Returns (B, T).

    sample : (B,) as numbered by ``motion.samples``
    obstacle, within : (B,) the obstacle and how near to it is too near [mm]
    """
    on_bends = families.bends * len(ON_BEND)
    result = np.zeros(corners.shape[:3], dtype=bool)
    for bent in (True, False):
        some = np.flatnonzero((sample < on_bends) == bent)
        if not len(some):
            continue
        points = (_bend_points if bent else _straight_points)(
            families, rows[some], sample[some], corners[some]
        )
        shape = points.shape[:-1]
        which = np.broadcast_to(obstacle[some].reshape(-1, 1, 1, 1), shape)
        distance = obstacles.pairs(points.reshape(-1, 3), which.ravel()).reshape(shape)
        result[some] = (distance < within[some].reshape(-1, 1, 1, 1)).any(axis=-1)
    return whole_faces(result)


def whole_faces(corners: Bools) -> Bools:
    """Which faces (..., T) hold at all of their corners (..., T, 4)."""
    whole: Bools = np.logical_and.reduce(corners, axis=-1)
    return whole


def _bend_points(families: Families, rows: Indices, sample: Indices, corners: Array) -> Array:
    """The sampled point (B, T, 4, 1, 3) of a bend at each corner."""
    bend, place = np.divmod(sample, len(ON_BEND))
    before, after = families.directions[rows, bend], families.directions[rows, bend + 1]
    angle = families.angle[rows, bend][:, None]
    across = (after - np.cos(angle) * before) / np.sin(angle)
    turn = angle * ON_BEND[place][:, None]
    begin = families.ends[rows, bend]
    point = begin + families.radius * (np.sin(turn) * before + (1.0 - np.cos(turn)) * across)
    moved = np.einsum("bxd,btcd->btcx", families.end_moves[rows, bend], corners)
    points: Array = (point[:, None, None] + moved)[..., None, :]
    return points


def _straight_points(families: Families, rows: Indices, sample: Indices, corners: Array) -> Array:
    """Points (B, T, 4, N, 3) of a straight at each corner, none where it is no straight there."""
    straight = 1 + (sample - families.bends * len(ON_BEND)) // len(ON_STRAIGHT)
    start = families.starts[rows, straight][:, None, None] + np.einsum(
        "bxd,btcd->btcx", families.start_moves[rows, straight], corners
    )
    end = families.ends[rows, straight][:, None, None] + np.einsum(
        "bxd,btcd->btcx", families.end_moves[rows, straight], corners
    )
    way = end - start
    backward = np.einsum("btcx,bx->btc", way, families.directions[rows, straight]) < 0.0
    points: Array = start[..., None, :] + ON_STRAIGHT[:, None] * way[..., None, :]
    points[backward] = _FAR_MM
    return points


def straights_apart(
    families: Families, row: int, first: int, second: int, corners: Array
) -> tuple[Array, Array]:
    """Least distance of two straights at each corner (T, 4, 3), and the path between those points."""
    starts = families.starts[row] + np.einsum("jxd,tcd->tcjx", families.start_moves[row], corners)
    lengths = families.least[row] + families.u0[row] + np.einsum("jd,tcd->tcj", families.Z[row], corners)
    a, b = families.directions[row, first], families.directions[row, second]
    shift = starts[..., second, :] - starts[..., first, :]
    cosine = float(a @ b)
    most = lengths[..., first], lengths[..., second]
    sine = max(1.0 - cosine * cosine, 1e-12)
    on_first = np.clip((shift @ a - cosine * (shift @ b)) / sine, 0.0, most[0])
    on_second = np.clip(cosine * on_first - shift @ b, 0.0, most[1])
    on_first = np.clip(cosine * on_second + shift @ a, 0.0, most[0])
    off = shift + on_second[..., None] * b - on_first[..., None] * a
    between = np.arange(first + 1, second)
    bends = families.radius * families.angle[row, first:second].sum()
    path = most[0] - on_first + on_second + lengths[..., between].sum(axis=-1) + bends
    distance = np.sqrt((off * off).sum(axis=-1))
    distance[np.minimum(*most) < 0.0] = np.inf
    return distance, path
