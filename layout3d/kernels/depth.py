"""How deep convex hulls overlap: the least translation that parts them."""

from __future__ import annotations

import numpy as np

from layout3d.kernels.axes import best_of, edge_crosses, face_normals, radial
from layout3d.kernels.convex import separated, separation, unit
from layout3d.kernels.pieces import Ints, Pieces
from shapes.pose import Array

_SPREAD = 160
_STARTS = 6
_ZOOMS = 10
_CLIMBS = 150  # each ends where it gains no more; nearly parallel bars creep


def least_parting(a: Pieces, b: Pieces) -> tuple[Array, Array]:
    """Direction (N, 3) to move b, and room (N,) between the support planes along it [mm].

    Minus the room is the depth: moved by it, the two touch. Between polytopes the face
    normals and edge crosses hold the optimum. With round ones the best few of these and of an
    even spread of directions climb to their local optima; every figure is a translation that
    does part the two, so the depth is never understated.
    """
    direction, room = best_of(a, b, np.concatenate([face_normals(a), face_normals(b)], axis=1))
    crossed, crossed_room = best_of(a, b, edge_crosses(a, b))
    better = crossed_room > room
    direction[better], room[better] = crossed[better], crossed_room[better]
    round_ = np.flatnonzero((a.radius > 0.0) | (b.radius > 0.0))
    if len(round_):
        _climb(a.take(round_), b.take(round_), direction, room, round_)
    return direction, room


def _climb(a: Pieces, b: Pieces, direction: Array, room: Array, rows: Ints) -> None:
    """Improve direction and room at these rows from several starts each."""
    count = len(rows)
    spread = np.broadcast_to(_sphere(_SPREAD), (count, _SPREAD, 3))
    near = np.concatenate([face_normals(a), face_normals(b), radial(a, b), edge_crosses(a, b)], axis=1)
    tried = np.concatenate([direction[rows][:, None], spread, near, -near], axis=1)
    rooms = separation(a, b, tried)
    rooms[(tried == 0.0).all(axis=2)] = -np.inf
    starts = _zoomed(a, b, _apart(tried, rooms))
    best = separation(a, b, starts).argsort(axis=1)[:, :-3:-1]
    each = np.repeat(np.arange(count), 2)
    starts = starts[each, best.ravel()]
    found = separated(a.take(each), b.take(each), starts, np.full(2 * count, np.inf), climbs=_CLIMBS)
    lower = found.lower.reshape(count, 2)
    chosen = lower.argmax(axis=1)
    every = np.arange(count)
    better = lower[every, chosen] > room[rows]
    room[rows[better]] = lower[every, chosen][better]
    direction[rows[better]] = found.direction.reshape(count, 2, 3)[every, chosen][better]


def _zoomed(a: Pieces, b: Pieces, starts: Array) -> Array:
    """Each direction (N, S, 3) moved to the best of a ring round it, ring after narrowing ring."""
    ring = _sphere(24)
    count, several = starts.shape[:2]
    each, of_start = np.ogrid[:count, :several]
    for step in range(_ZOOMS):
        tried = starts[:, :, None, :] + (0.2 * 0.5**step) * ring
        tried = unit(np.concatenate([starts[:, :, None, :], tried], axis=2))
        rooms = separation(a, b, tried.reshape(count, -1, 3)).reshape(tried.shape[:3])
        starts = tried[each, of_start, rooms.argmax(axis=2)]
    return np.asarray(starts)


def _apart(tried: Array, rooms: Array) -> Array:
    """The best few directions, no two within 20 degrees; (N, _STARTS, 3)."""
    rooms = rooms.copy()
    every = np.arange(len(tried))
    chosen = []
    for _ in range(_STARTS):
        best = tried[every, rooms.argmax(axis=1)]
        chosen.append(best)
        rooms[np.einsum("nmc,nc->nm", tried, best) > 0.94] = -np.inf
    return np.stack(chosen, axis=1)


def _sphere(count: int) -> Array:
    """Evenly spread unit vectors (count, 3), a Fibonacci lattice."""
    steps = np.arange(count) + 0.5
    z = 1.0 - 2.0 * steps / count
    turn = steps * np.pi * (3.0 - np.sqrt(5.0))
    across = np.sqrt(1.0 - z * z)
    return np.stack([across * np.cos(turn), across * np.sin(turn), z], axis=1)
