"""Samples along the middle of many runs at once, and how far each can move within its family.

The middle is what lies between the first and the last straight: those two run along fixed
lines and are settled beforehand. A bend only translates when its family's straights change. A
point at a fixed share of a straight moves with that share of its two ends; a point of a straight
that stays between its ends need only follow the straight sideways.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from layout3d.tubes.route.directions import Bools, Indices
from layout3d.tubes.route.families import Families
from shapes.pose import Array

ON_BEND = (np.arange(5) + 0.5) / 5
ON_STRAIGHT = (np.arange(14) + 0.5) / 14
#: Moving at less than this is standing still [mm/mm].
_STILL = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """N points on each of B runs.

    points : (B, N, 3); usable : (B, N) false on straights that are no straights at this place
    from_start, from_end : (B, N) path from the end of the first and to the start of the last
        straight, infinite beyond the neighbouring bend and straight [mm]
    rest : (B, N) how far a point moves at most over the node, its first coordinate held [mm]
    speed : (B, N) how much more it moves per mm of the first coordinate
    side_rest, side_speed : the same sideways of a straight, for ``room`` : (B, N) of the first
        coordinate in which the point's place stays on the straight (0 where that is no use)
    """

    points: Array
    usable: Bools
    from_start: Array
    from_end: Array
    rest: Array
    speed: Array
    side_rest: Array
    side_speed: Array
    room: Array

    def at_rest(self) -> Samples:
        """The same in nodes of no width."""
        still = np.zeros_like(self.rest)
        return replace(self, rest=still, side_rest=still)

    def advance(self, depth: Array, back: Array) -> Array:
        """How far the first coordinate may grow (B,), every run on the way being blocked.

        depth : (B, N) how far each point lies within forbidden room, at most [mm]
        back : (B,) how far below the samples' coordinate the way begins; 0 is returned where
            not even that much is blocked
        """
        spare = np.where(self.usable, depth - self.rest, -1.0)
        ahead = np.where(spare > 0.0, spare / np.maximum(self.speed, _STILL), 0.0)
        # `room` looks forward only.
        follows = self.usable & (back <= 0.0)[:, None]
        spare = np.where(follows, depth - self.side_rest, -1.0)
        sideways = np.where(spare > 0.0, spare / np.maximum(self.side_speed, _STILL), 0.0)
        furthest: Array = np.maximum(ahead, np.minimum(sideways, self.room)).max(axis=1, initial=0.0)
        return np.where(furthest >= back, furthest, 0.0)


def samples(families: Families, rows: Indices, f: Array, half: Array) -> Samples:
    """Samples of the runs ``rows`` (B,) at f (B, 3) in nodes of half widths (B, 3), the first unused."""
    bends = families.bends
    parts = [_on_bends(families, rows, f, half)]
    if bends > 1:
        parts.append(_on_straights(families, rows, f, half))
    return Samples(*(np.concatenate(values, axis=1) for values in zip(*parts, strict=True)))


def bend_frames(families: Families, rows: Indices) -> tuple[Array, Array]:
    """Directions before each bend and across it, towards its centre: (B, bends, 3) both."""
    before, after = families.directions[rows, :-1], families.directions[rows, 1:]
    angle = families.angle[rows][..., None]
    return before, (after - np.cos(angle) * before) / np.sin(angle)


def _on_bends(families: Families, rows: Indices, f: Array, half: Array) -> tuple[Array, ...]:
    bends, radius = families.bends, families.radius
    moves = families.end_moves[rows, :-1]
    begin = families.ends[rows, :-1] + np.einsum("bjxd,bd->bjx", moves, f)
    before, across = bend_frames(families, rows)
    turn = families.angle[rows][..., None] * ON_BEND
    points = (
        begin[:, :, None]
        + radius * np.sin(turn)[..., None] * before[:, :, None]
        + radius * (1.0 - np.cos(turn))[..., None] * across[:, :, None]
    )
    rest, speed = _travel(moves, half)
    shape = turn.shape
    from_start, from_end = np.full(shape, np.inf), np.full(shape, np.inf)
    from_start[:, 0] = radius * turn[:, 0]
    from_end[:, -1] = radius * (families.angle[rows, -1][:, None] - turn[:, -1])
    nothing = np.zeros(shape)
    spread = np.ones(shape)
    values = (
        points,
        np.ones(shape, dtype=bool),
        from_start,
        from_end,
        rest[..., None] * spread,
        speed[..., None] * spread,
        nothing,
        nothing,
        nothing,
    )
    return tuple(v.reshape(len(rows), bends * len(ON_BEND), *v.shape[3:]) for v in values)


def _on_straights(families: Families, rows: Indices, f: Array, half: Array) -> tuple[Array, ...]:
    inner = slice(1, -1)
    share = ON_STRAIGHT
    along = families.directions[rows, inner]
    start_moves, end_moves = families.start_moves[rows, inner], families.end_moves[rows, inner]
    start = families.starts[rows, inner] + np.einsum("bjxd,bd->bjx", start_moves, f)
    end = families.ends[rows, inner] + np.einsum("bjxd,bd->bjx", end_moves, f)
    length = np.einsum("bjx,bjx->bj", end - start, along)
    points = start[:, :, None] + share[:, None] * (end - start)[:, :, None]
    mixed = (1.0 - share)[:, None, None] * start_moves[:, :, None] + share[:, None, None] * end_moves[
        :, :, None
    ]
    rest, speed = _travel(mixed, half)
    start_along = np.einsum("bjx,bjxd->bjd", along, start_moves)
    end_along = np.einsum("bjx,bjxd->bjd", along, end_moves)
    side_rest, side_speed = _travel(start_moves - along[..., None] * start_along[:, :, None], half)
    others = half[:, None, 1:]
    room = np.minimum(
        _until(share * length[..., None], np.abs(start_along[..., 1:] * others).sum(-1), start_along[..., 0]),
        _until(
            (1.0 - share) * length[..., None], np.abs(end_along[..., 1:] * others).sum(-1), -end_along[..., 0]
        ),
    )
    arc = families.radius * families.angle[rows]
    from_start, from_end = np.full(room.shape, np.inf), np.full(room.shape, np.inf)
    from_start[:, 0] = arc[:, 0, None] + share * length[:, 0, None]
    from_end[:, -1] = arc[:, -1, None] + (1.0 - share) * length[:, -1, None]
    spread = np.ones(room.shape)
    values = (
        points,
        (length[..., None] >= 0.0) & (spread > 0.0),
        from_start,
        from_end,
        rest,
        speed,
        side_rest[..., None] * spread,
        side_speed[..., None] * spread,
        room,
    )
    count = room.shape[1] * room.shape[2]
    return tuple(v.reshape(len(rows), count, *v.shape[3:]) for v in values)


def _until(distance: Array, rest: Array, speed: Array) -> Array:
    """Of the first coordinate, until an end ``distance`` away at ``rest`` and ``speed`` arrives."""
    spare = distance - rest[..., None]
    return np.where(spare >= 0.0, spare / np.maximum(speed[..., None], _STILL), 0.0)


def _travel(moves: Array, half: Array) -> tuple[Array, Array]:
    """Most travel over a node, its first coordinate held, and speed along that, from moves (..., 3, 3)."""
    lead = (slice(None),) + (None,) * (moves.ndim - 3)
    first, second = moves[..., 1] * half[(*lead, slice(1, 2))], moves[..., 2] * half[(*lead, slice(2, 3))]
    crossed = np.abs((first * second).sum(-1))
    rest = np.sqrt((first * first).sum(-1) + (second * second).sum(-1) + 2.0 * crossed)
    return rest, np.sqrt((moves[..., 0] ** 2).sum(-1))
