"""What a search knows of each pair of bodies, and the pairs of cells it still has to look at."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from layout3d.kernels.pieces import Bools, Ints, Pieces
from shapes.pose import Array


@dataclass(slots=True, eq=False)
class Outcome:
    """What is known of N pairs; filled in while searching.

    lower : (N,) proven least distance over the pieces that are done with [mm]
    gap : (N,) least distance between points found [mm]; minus the depth once they overlap
    overlaps : (N,) whether the two surely overlap
    direction, point_a, point_b : (N, 3)
    """

    lower: Array
    gap: Array
    overlaps: Bools
    direction: Array
    point_a: Array
    point_b: Array
    cells: Ints

    @staticmethod
    def start(lower: Array, direction: Array) -> Outcome:
        """Nothing but a first lower bound known."""
        count = len(lower)
        return Outcome(
            lower,
            np.full(count, np.inf),
            np.zeros(count, dtype=bool),
            direction,
            np.zeros((count, 3)),
            np.zeros((count, 3)),
            np.zeros(count, dtype=np.intp),
        )

    def offer(self, pair: Ints, direction: Array, point_a: Array, point_b: Array) -> None:
        """Points of both bodies (n, 3) that may be the nearest of their pair (n,)."""
        apart = point_b - point_a
        distance = np.sqrt(np.einsum("nc,nc->n", apart, apart))
        order = np.argsort(-distance, kind="stable")
        rows = order[(distance < self.gap[pair])[order] & ~self.overlaps[pair[order]]]
        pair = pair[rows]
        self.gap[pair], self.direction[pair] = distance[rows], direction[rows]
        self.point_a[pair], self.point_b[pair] = point_a[rows], point_b[rows]

    def deepen(self, pair: Ints, direction: Array, room: Array, point_a: Array, point_b: Array) -> None:
        """Overlaps of pairs (n,) with room (n,) below zero; the deepest of a pair stays."""
        fresh = ~self.overlaps[pair]
        self.gap[pair[fresh]] = np.inf
        self.overlaps[pair] = True
        order = np.argsort(-room, kind="stable")
        rows = order[(room < self.gap[pair])[order]]
        pair = pair[rows]
        self.gap[pair] = self.lower[pair] = room[rows]
        self.direction[pair], self.point_a[pair], self.point_b[pair] = (
            direction[rows],
            point_a[rows],
            point_b[rows],
        )


@dataclass(frozen=True, slots=True, eq=False)
class Front:
    """Pairs of cells still to be looked at: which pair, which pieces, what stretch of each."""

    pair: Ints
    a: Ints
    b: Ints
    a_low: Array
    a_high: Array
    b_low: Array
    b_high: Array
    direction: Array
    lower: Array

    def __len__(self) -> int:
        return len(self.pair)

    def take(self, rows: Ints | Bools) -> Front:
        """These rows."""
        return Front(*(getattr(self, field.name)[rows] for field in fields(Front)))

    @staticmethod
    def joined(fronts: list[Front]) -> Front:
        """All rows in one."""
        return Front(*(np.concatenate([getattr(f, field.name) for f in fronts]) for field in fields(Front)))

    @staticmethod
    def of_bodies(table: Pieces, counts: Ints, first: Ints, second: Ints, left: Ints) -> Front:
        """Every piece of one body against every piece of the other, bounded by their boxes."""
        starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
        many_b = counts[second[left]]
        many = counts[first[left]] * many_b
        row = np.repeat(np.arange(len(left)), many)
        within = np.arange(len(row)) - np.repeat(np.cumsum(many) - many, many)
        a = starts[first[left]][row] + within // many_b[row]
        b = starts[second[left]][row] + within % many_b[row]
        axes = np.broadcast_to(np.concatenate([np.eye(3), -np.eye(3)]), (len(table), 6, 3))
        reach = table.height(axes)
        low, high = -reach[:, 3:], reach[:, :3]
        lower, direction = box_room(low[a], high[a], low[b], high[b])
        ranges = table.low[a], table.high[a], table.low[b], table.high[b]
        return Front(left[row], a, b, *ranges, direction, lower)

    def shortest_rows(self, most: int) -> Bools:
        """At most this many rows of every pair, those of the shortest stretches."""
        chosen = np.ones(len(self), dtype=bool)
        if len(self) > most:
            span = (self.a_high - self.a_low) + (self.b_high - self.b_low)
            order = np.lexsort((span, self.pair))
            pairs = self.pair[order]
            starts = np.flatnonzero(np.append(True, pairs[1:] != pairs[:-1]))
            place = np.arange(len(order)) - np.repeat(starts, np.diff(np.append(starts, len(order))))
            chosen[order[place >= most]] = False
        return chosen

    def nearest_rows(self) -> Ints:
        """The row of least bound of every pair."""
        order = np.lexsort((self.lower, self.pair))
        pairs = self.pair[order]
        return order[np.concatenate([[True], pairs[1:] != pairs[:-1]])] if len(order) else order

    def improved(self, direction: Array, lower: Array) -> Front:
        """With the directions that prove more."""
        return self.improved_at(np.arange(len(self)), direction, lower)

    def improved_at(self, rows: Ints, direction: Array, lower: Array) -> Front:
        """The same, for directions found for some rows only."""
        better = lower > self.lower[rows]
        directions, lowers = self.direction.copy(), self.lower.copy()
        directions[rows[better]], lowers[rows[better]] = direction[better], lower[better]
        return replace(self, direction=directions, lower=lowers)

    def split(self, extent_a: Array, extent_b: Array) -> Front:
        """Each row cut into four: along the longer stretch, or along both where they are alike."""
        into_a = np.where(extent_a > 4.0 * extent_b, 4, np.where(extent_b > 4.0 * extent_a, 1, 2))
        children = []
        for i, of_a, j, of_b in _SHARES:
            part = self.take(np.flatnonzero(into_a == of_a))
            span_a, span_b = part.a_high - part.a_low, part.b_high - part.b_low
            children.append(
                replace(
                    part,
                    a_low=part.a_low + span_a * (i / of_a),
                    a_high=part.a_low + span_a * ((i + 1) / of_a),
                    b_low=part.b_low + span_b * (j / of_b),
                    b_high=part.b_low + span_b * ((j + 1) / of_b),
                )
            )
        return Front.joined(children)


#: (i, of n, j, of m): the i-th of n shares of one stretch with the j-th of m of the other.
_SHARES = [(i, n, j, 4 // n) for n in (1, 2, 4) for i in range(n) for j in range(4 // n)]


def box_room(low_a: Array, high_a: Array, low_b: Array, high_b: Array) -> tuple[Array, Array]:
    """Room between axis-aligned boxes (N, 3): proven distance (N,) [mm], negative where they overlap.

    Also the direction (N, 3) from the first to the second in which they are that far apart.
    """
    ahead, behind = low_b - high_a, low_a - high_b
    room = np.maximum(ahead, behind)
    sign = np.where(ahead >= behind, 1.0, -1.0)
    free = np.maximum(room, 0.0)
    distance = np.sqrt((free * free).sum(axis=1))
    least = room.max(axis=1)
    apart = least > 0.0
    axis = (np.arange(3) == room.argmax(axis=1)[:, None]).astype(float)
    scaled = free / np.where(apart, distance, 1.0)[:, None]
    return np.where(apart, distance, least), sign * np.where(apart[:, None], scaled, axis)
