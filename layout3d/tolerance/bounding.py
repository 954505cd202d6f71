"""The certified least room between cells over a box of lengths: directions tried, then boxes halved."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from layout3d.kernels.axes import best_of, edge_crosses, face_normals, radial
from layout3d.kernels.convex import separated, unit
from layout3d.kernels.depth import least_parting
from layout3d.kernels.pieces import Bools, Ints, Pieces
from layout3d.tolerance.reach import Cells, Worst, worst_corner, worst_room
from shapes.pose import Array

#: The bound need come no nearer to the gap of a build in the box [mm].
_CLOSED_MM = 1e-3
_ROUNDS = 4
_HALVINGS = 7
_MOST_ROWS = 4000
_CONTACT_MM = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """R pairs of cells, each over a box of its own.

    pair : (R,) which pair of bodies they are of
    a, b : (R,) which cells of the table
    low, high : (R, N) offsets of the lengths [mm]
    direction : (R, 3) from a to b, along which ``room`` (R,) is proved; ``slope`` (R, N) of its figure
    met : (R,) the room of a build in the box: no bound is larger
    """

    pair: Ints
    a: Ints
    b: Ints
    low: Array
    high: Array
    direction: Array
    room: Array
    slope: Array
    met: Array

    def __len__(self) -> int:
        return len(self.pair)

    def take(self, rows: Ints | Bools) -> Rows:
        """These rows."""
        return Rows(*(getattr(self, field.name)[rows] for field in fields(Rows)))

    @staticmethod
    def start(pair: Ints, a: Ints, b: Ints, low: Array, high: Array) -> Rows:
        """Nothing known yet, over the whole box (N,)."""
        count = len(pair)
        ends = [np.broadcast_to(end, (count, len(low))).copy() for end in (low, high)]
        none = np.full(count, np.inf)
        nowhere, flat = np.zeros((count, 3)), np.zeros((count, len(low)))
        return Rows(pair, a, b, ends[0], ends[1], nowhere, -none, flat, none)

    @staticmethod
    def joined(parts: list[Rows]) -> Rows:
        """All rows in one."""
        return Rows(*(np.concatenate([getattr(p, field.name) for p in parts]) for field in fields(Rows)))

    def improve(self, rows: Ints, direction: Array, worst: Worst) -> None:
        """Take over the directions that prove more."""
        better = worst.room > self.room[rows]
        rows = rows[better]
        self.direction[rows], self.room[rows] = direction[better], worst.room[better]
        self.slope[rows] = worst.slope[better]


def least_rooms(table: Cells, rows: Rows, enough: Array) -> Rows:
    """Bound every row until it proves ``enough`` (P,) for its pair, or within 0.001 mm of a build's own room.

    Returns rows that together cover all those given. The least room of a pair's rows holds for every
    build in the box.
    """
    _bound(table, rows, enough)
    done = [rows]
    for _ in range(_HALVINGS):
        limit = np.full(len(enough), np.inf)
        everything = Rows.joined(done)
        np.minimum.at(limit, everything.pair, everything.met)
        limit = np.minimum(enough, limit - _CLOSED_MM)
        open_ = (everything.room < limit[everything.pair]) & (everything.met - everything.room > _CLOSED_MM)
        if not open_.any() or open_.sum() > _MOST_ROWS:
            break
        halves = _halved(everything.take(open_))
        _bound(table, halves, enough)
        done = [everything.take(~open_), halves]
    return Rows.joined(done)


def _halved(rows: Rows) -> Rows:
    """Each box cut in two across the length that matters most in it."""
    here = np.arange(len(rows))
    widest = (np.abs(rows.slope) * (rows.high - rows.low) + 1e-12 * (rows.high - rows.low)).argmax(axis=1)
    middle = 0.5 * (rows.low + rows.high)[here, widest]
    parts = []
    for end in ("high", "low"):
        half = Rows(*(getattr(rows, field.name).copy() for field in fields(Rows)))
        getattr(half, end)[here, widest] = middle
        half.room[:], half.met[:] = -np.inf, np.inf
        parts.append(half)
    return Rows.joined(parts)


def _bound(table: Cells, rows: Rows, enough: Array) -> None:
    """Try directions: of the middle of the box, then of the corners where they leave least room."""
    every = np.arange(len(rows))
    known = np.flatnonzero(rows.direction.any(axis=1))
    if len(known):
        rows.improve(known, rows.direction[known], _worst(table, rows, known, rows.direction[known]))
    middle = 0.5 * (rows.low + rows.high)
    left = every[rows.room < enough[rows.pair]]
    if not len(left):
        return
    a, b = table.take(rows.a[left]).at(middle[left]), table.take(rows.b[left]).at(middle[left])
    direction = _likely(a, b)
    rows.improve(left, direction, _worst(table, rows, left, direction))
    for step in range(_ROUNDS + 1):
        near = rows.room < np.minimum(enough[rows.pair], rows.met - _CLOSED_MM)
        left = every[near]
        if not len(left):
            return
        place = middle if step == 0 else worst_corner(rows.slope, rows.low, rows.high)
        a, b = (table.take(at[left]).at(place[left]) for at in (rows.a, rows.b))
        found, room = _best(a, b, rows.direction[left])
        rows.met[left] = np.minimum(rows.met[left], room)
        for tried in (found, unit(found + rows.direction[left])):
            rows.improve(left, tried, _worst(table, rows, left, tried))


def _likely(a: Pieces, b: Pieces) -> Array:
    """The best of the directions that part most pairs; (R, 3)."""
    axes = [face_normals(a), face_normals(b), radial(a, b), np.broadcast_to(np.eye(3), (len(a), 3, 3))]
    direction, room = best_of(a, b, np.concatenate(axes, axis=1))
    rows = np.flatnonzero((room < 0.05) & (a.radius == 0.0) & (b.radius == 0.0))
    if len(rows):
        crosses = edge_crosses(a.take(rows), b.take(rows))
        crossed, crossed_room = best_of(a.take(rows), b.take(rows), crosses)
        better = crossed_room > room[rows]
        direction[rows[better]] = crossed[better]
    return direction


def _best(a: Pieces, b: Pieces, start: Array) -> tuple[Array, Array]:
    """The direction of most room between cells of one build each (R, 3), and that room (R,)."""
    found = separated(a, b, start, np.full(len(a), np.inf))
    direction, room = found.direction.copy(), found.lower.copy()
    deep = np.flatnonzero(room < -_CONTACT_MM)
    if len(deep):
        parting, depth = least_parting(a.take(deep), b.take(deep))
        better = depth > room[deep]
        direction[deep[better]], room[deep[better]] = parting[better], depth[better]
    return direction, room


def _worst(table: Cells, rows: Rows, which: Ints, direction: Array) -> Worst:
    a, b = table.take(rows.a[which]), table.take(rows.b[which])
    return worst_room(a, b, direction, rows.low[which], rows.high[which])
