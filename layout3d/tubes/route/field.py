"""How much room there is at a point: the distance to every obstacle less the gap it asks for.

Values are exact up to a horizon. Lattice values are worked out when first asked for and kept:
with the distance to the lattice point they bound the value anywhere near it.
"""

from __future__ import annotations

import numpy as np

from layout3d.kernels.obstacles import Indices, Obstacles
from shapes.pose import Array

_PITCH_MM = 4.0
_NODES_PER_CELL = 8
_WITHIN = np.array([_NODES_PER_CELL**2, _NODES_PER_CELL, 1])
_MOST_NODES = 3_000_000


class ClearanceField:
    """The least of (distance - required) over all obstacles, up to ``horizon`` [mm]."""

    def __init__(self, obstacles: Obstacles, required: Array, horizon: float) -> None:
        self.horizon = horizon
        self._obstacles = obstacles
        self._required = np.asarray(required, dtype=float)
        if not len(obstacles):
            return
        reach = (self._required + horizon)[:, None]
        lower, upper = obstacles.lower - reach, obstacles.upper + reach
        self._low, high = lower.min(axis=0), upper.max(axis=0)
        extent = high - self._low
        self._pitch = max(_PITCH_MM, float(np.prod(extent) / _MOST_NODES) ** (1.0 / 3.0))
        self._cell = self._pitch * _NODES_PER_CELL
        self._cells = np.ceil(extent / self._cell).astype(np.intp)
        self._nodes = self._cells * _NODES_PER_CELL
        # Depth below one past the horizon, so that untouched zero pages mean "not yet known".
        self._known = np.zeros(int(np.prod(self._nodes)))
        self._first, self._near = self._by_cell(lower, upper)

    def _by_cell(self, lower: Array, upper: Array) -> tuple[Indices, Indices]:
        """Which obstacles can count in each cell, cell after cell."""
        overlaps = []
        for axis in range(3):
            edge = self._low[axis] + self._cell * np.arange(self._cells[axis])
            overlaps.append(
                (lower[:, axis] <= edge[:, None] + self._cell) & (upper[:, axis] >= edge[:, None])
            )
        x, y, z = overlaps
        cell, near = np.nonzero(
            (x[:, None, None] & y[None, :, None] & z[None, None, :]).reshape(-1, len(self._required))
        )
        return np.searchsorted(cell, np.arange(int(np.prod(self._cells)) + 1)), near

    def at(self, points: Array) -> Array:
        """The room (N,) at points (N, 3), exact below the horizon [mm]."""
        return self._asked(points)[0]

    def tightest(self, points: Array) -> Indices:
        """Which obstacle leaves the least room at points (N, 3); -1 where none is within the horizon."""
        room, values, obstacle, owner = self._asked(points)
        which = np.full(len(points), -1)
        least = np.flatnonzero(values <= room[owner])
        # The last written wins: go backwards, so that it is the first of equals.
        which[owner[least[::-1]]] = obstacle[least[::-1]]
        return which

    def _asked(self, points: Array) -> tuple[Array, Array, Indices, Indices]:
        if not len(self._obstacles):
            nothing = np.empty(0, dtype=np.intp)
            return np.full(len(points), self.horizon), np.empty(0), nothing, nothing
        place = np.floor((points - self._low) / self._cell).astype(np.intp)
        inside = np.flatnonzero(((place >= 0) & (place < self._cells)).all(axis=1))
        cell = np.ravel_multi_index(tuple(place[inside].T), tuple(self._cells))
        room = np.full(len(points), self.horizon)
        room[inside], values, obstacle, owner = self._room(points[inside], cell)
        return room, values, obstacle, inside[owner]

    def _room(self, points: Array, cell: Indices) -> tuple[Array, Array, Indices, Indices]:
        """Room (N,) at points in known cells, and the single values it is the least of.

        These are (Q,), with the obstacle and the point each belongs to.
        """
        room = np.full(len(points), self.horizon)
        first = self._first[cell]
        count = self._first[cell + 1] - first
        owner = np.repeat(np.arange(len(points)), count)
        starts = np.cumsum(count) - count
        obstacle = self._near[np.arange(len(owner)) - np.repeat(starts - first, count)]
        values = self._obstacles.pairs(points[owner], obstacle) - self._required[obstacle]
        some = np.flatnonzero(count)
        if len(some):
            room[some] = np.minimum(np.minimum.reduceat(values, starts[some]), self.horizon)
        return room, values, obstacle, owner

    def bounds(self, points: Array) -> tuple[Array, Array]:
        """A lattice value (N,) near each point (N, 3) and how far from it the point is [mm]."""
        value, off = np.full(len(points), self.horizon), np.zeros(len(points))
        if not len(self._obstacles):
            return value, off
        scaled = (points - self._low) / self._pitch - 0.5
        node = np.rint(scaled).astype(np.intp)
        inside = np.flatnonzero(((node >= 0) & (node < self._nodes)).all(axis=1))
        node = node[inside]
        cell, within = np.divmod(node, _NODES_PER_CELL)
        cell_at = np.ravel_multi_index(tuple(cell.T), tuple(self._cells))
        # A cell's values lie together: few pages are touched.
        flat = cell_at * _NODES_PER_CELL**3 + within @ _WITHIN
        known = self._known[flat]
        missing = np.flatnonzero(known == 0.0)
        if len(missing):
            new, where = np.unique(flat[missing], return_index=True)
            fresh = missing[where]
            room = self._room(self._low + self._pitch * (node[fresh] + 0.5), cell_at[fresh])[0]
            self._known[new] = self.horizon + 1.0 - room
            known = self._known[flat]
        value[inside] = self.horizon + 1.0 - known
        off[inside] = self._pitch * np.sqrt(((scaled[inside] - node) ** 2).sum(axis=1))
        return value, off
