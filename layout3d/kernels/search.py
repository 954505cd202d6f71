"""Branch and bound over the pieces of many pairs of bodies at once, and over stretches of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from layout3d.kernels.axes import best_of, edge_crosses, face_normals, radial
from layout3d.kernels.convex import nearest, separated, surely_meet
from layout3d.kernels.depth import least_parting
from layout3d.kernels.families import brought_in, coarse, core, extent, stretch
from layout3d.kernels.front import Front, Outcome
from layout3d.kernels.parting import parted
from layout3d.kernels.pieces import SOLID, Bools, Ints, Pieces, joined
from layout3d.kernels.revolved import round_bound
from shapes.pose import Array

_CONTACT_MM = 1e-6
#: How far apart the bounds of a measured gap may stay [mm].
_CLOSED_MM = 1e-7
#: Stretches shorter than this are not split again [mm].
_LEAST_STRETCH_MM = 1e-7
#: Cells of one pair looked at in one go, shortest first.
_AT_ONCE = 400
#: Cells looked at for one pair before its lower bound is given as it stands.
_MOST_CELLS = 30_000


class _Search:
    """The pieces of all bodies, the wanted gaps, and what has been found."""

    def __init__(self, table: Pieces, enough: Array, outcome: Outcome, closed: Array) -> None:
        self.table, self.enough, self.outcome, self.closed = table, enough, outcome, closed
        self.deep: list[Front] = []
        self.deep_pieces: Ints = np.empty(0, dtype=np.intp)

    def limit(self, pair: Ints) -> Array:
        """A cell with this lower bound need not be looked at again (n,) [mm]."""
        return np.minimum(self.enough[pair], self.outcome.gap[pair] - self.closed[pair])

    def cells(self, front: Front) -> tuple[Pieces, Pieces]:
        """The two cells of every row."""
        a, b = self.table.take(front.a), self.table.take(front.b)
        return stretch(a, front.a_low, front.a_high), stretch(b, front.b_low, front.b_high)

    def retire(self, front: Front) -> None:
        """Rows that are done with: their lower bounds stand for their pairs."""
        outcome = self.outcome
        rows = np.argsort(-front.lower, kind="stable")
        rows = rows[front.lower[rows] < outcome.lower[front.pair[rows]]]
        plain = rows[~np.isfinite(outcome.gap[front.pair[rows]])]
        outcome.direction[front.pair[plain]] = front.direction[plain]
        outcome.lower[front.pair[rows]] = front.lower[rows]

    def sift(self, front: Front) -> Front:
        """The rows still open; the others are retired."""
        open_ = front.lower < self.limit(front.pair)
        deep = self.outcome.overlaps[front.pair]
        self.retire(front.take(~open_ & ~deep))
        return front.take(open_)

    def try_axes(self, front: Front) -> Front:
        """Face normals, then for polytopes edge crosses: most pairs go no further."""
        a, b = self.table.take(front.a), self.table.take(front.b)
        axes = np.concatenate([face_normals(a), face_normals(b), radial(a, b)], axis=1)
        front = front.improved(*best_of(a, b, axes))
        front = self.sift(replace(front, lower=np.maximum(front.lower, round_bound(a, b))))
        flat = (self.table.radius[front.a] == 0.0) & (self.table.radius[front.b] == 0.0)
        rows = np.flatnonzero(flat & (front.lower < 0.05))
        if not len(rows):
            return front
        a, b = self.table.take(front.a[rows]), self.table.take(front.b[rows])
        direction, lower = front.direction.copy(), front.lower.copy()
        crossed, room = best_of(a, b, edge_crosses(a, b))
        better = room > lower[rows]
        direction[rows[better]], lower[rows[better]] = crossed[better], room[better]
        return self.sift(replace(front, direction=direction, lower=lower))

    def try_upper(self, front: Front) -> None:
        """One distance for each of these rows, so that further ones fall away by their boxes."""
        a, b = self.cells(front)
        found = separated(a, b, front.direction, np.full(len(front), np.inf), closed=1e-4)
        on_a, on_b = brought_in(a, found.point_a), brought_in(b, found.point_b)
        self.outcome.offer(front.pair, found.direction, on_a, on_b)

    def step(self, front: Front) -> Front:
        """Bound every row from both sides; what is left open, split up."""
        a, b = self.cells(front)
        limit, closed = self.limit(front.pair), 1e-3 * float(self.closed.min())
        short = ~(coarse(a) | coarse(b))
        found = separated(a, b, front.direction, limit, climbing=short, closed=closed)
        front = front.improved(found.direction, found.lower)
        front = replace(front, lower=np.maximum(front.lower, round_bound(a, b)))
        on_a, on_b = brought_in(a, found.point_a), brought_in(b, found.point_b)
        self.outcome.offer(front.pair, front.direction, on_a, on_b)
        whole = (a.kind == SOLID) & (b.kind == SOLID)
        meet = np.flatnonzero(whole & (front.lower < -_CONTACT_MM))
        if len(meet):
            front = self.overlap(front, meet, a.take(meet), b.take(meet))
        inside = np.flatnonzero(~whole & (front.lower < _CONTACT_MM))
        if len(inside):
            self.enter(front.take(inside), a.take(inside), b.take(inside))
        return self.split(front, a, b, whole)

    def overlap(self, front: Front, rows: Ints, a: Pieces, b: Pieces) -> Front:
        """Solids not parted so far: their least parting translation decides."""
        direction, room = least_parting(a, b)
        front = front.improved_at(rows, direction, room)
        deep = front.lower[rows] < -_CONTACT_MM
        self.state_depth(front.take(rows[deep]), a.take(deep), b.take(deep))
        return front

    def state_depth(self, front: Front, a: Pieces, b: Pieces) -> None:
        """Put overlaps on record with the points that part last."""
        drawn = (0.05 - front.lower)[:, None] * front.direction
        enough = np.full(len(front), np.inf)
        _, on_a, on_b = nearest(a, b.shifted(drawn), front.direction, enough)
        self.outcome.deepen(front.pair, front.direction, front.lower, on_a, on_b - drawn)

    def enter(self, front: Front, a: Pieces, b: Pieces) -> None:
        """Cells whose hulls meet: do convex sets inside them overlap for sure?"""
        core_a, core_b = core(a), core(b)
        _, on_a, on_b = nearest(core_a, core_b, front.direction, np.full(len(front), np.inf))
        self.outcome.offer(front.pair, front.direction, on_a, on_b)
        meet = np.flatnonzero(np.abs(on_a - on_b).max(axis=1) < 1e-9)
        sure = meet[surely_meet(core_a.take(meet), core_b.take(meet), 0.5 * _CONTACT_MM)]
        if len(sure):
            self.deep.append(front.take(sure))
            pieces = front.a[sure] * len(self.table) + front.b[sure]
            self.deep_pieces = np.union1d(self.deep_pieces, pieces)
            fresh = front.pair[sure][~self.outcome.overlaps[front.pair[sure]]]
            self.outcome.gap[fresh] = np.inf
            self.outcome.overlaps[fresh] = True

    def split(self, front: Front, a: Pieces, b: Pieces, whole: Bools) -> Front:
        """Retire what is decided, cut the rest into shorter stretches."""
        outcome, pair = self.outcome, front.pair
        deep = outcome.overlaps[pair]
        touching = (front.lower >= -_CONTACT_MM) & (outcome.gap[pair] <= _CONTACT_MM)
        short = np.maximum(extent(a), extent(b)) < _LEAST_STRETCH_MM
        open_ = ~whole & ~deep & ~touching & (front.lower < self.limit(pair))
        np.add.at(outcome.cells, pair[open_], 1)
        worn = open_ & (short | (outcome.cells[pair] > _MOST_CELLS))
        self.retire(front.take(~(open_ & ~worn) & ~deep))
        known = np.isin(front.a * len(self.table) + front.b, self.deep_pieces)
        deeper = ~whole & deep & ~known & (front.lower < -_CONTACT_MM) & (coarse(a) | coarse(b))
        again = (open_ & ~worn) | deeper
        return front.take(again).split(extent(a)[again], extent(b)[again])

    def finish(self, depths: bool) -> None:
        """State the depth of overlaps of arcs and bays."""
        outcome = self.outcome
        if self.deep and depths:
            found = Front.joined(self.deep)
            _, once = np.unique(np.stack([found.pair, found.a, found.b]), axis=1, return_index=True)
            found = found.take(once)
            a, b = self.table.take(found.a), self.table.take(found.b)
            kept, way = parted(found.pair, a, b, _gaps)
            outcome.deepen(found.pair[kept], way.direction, -way.length, way.point_a, way.point_b)


def search(
    table: Pieces,
    counts: Ints,
    first: Ints,
    second: Ints,
    left: Ints,
    enough: Array,
    outcome: Outcome,
    closed: Array | None = None,
) -> None:
    """Measure the pairs ``left`` (rows of first and second, which name bodies) into ``outcome``.

    table, counts : the pieces of all bodies one after another, and how many each has
    enough : (N,) lower bound that settles a pair [mm]
    closed : (N,) how far apart the bounds of a gap may stay [mm]; given, how deep arcs and bays
        overlap is left open, only that they do is found
    """
    work = _Search(table, enough, outcome, np.full(len(enough), _CLOSED_MM) if closed is None else closed)
    outcome.lower[left] = np.inf
    front = work.sift(Front.of_bodies(table, counts, first, second, left))
    probe = front.nearest_rows()
    if len(probe) < len(front) and not np.isfinite(enough[front.pair]).all():
        work.try_upper(front.take(probe))
        front = work.sift(front)
    front = work.try_axes(front)
    while len(front):
        now = front.shortest_rows(_AT_ONCE)
        later = front.take(~now)
        front = work.sift(
            Front.joined([later, work.step(front.take(now))]) if len(later) else work.step(front)
        )
    work.finish(depths=closed is None)


def _gaps(a: Pieces, b: Pieces, closed: Array) -> tuple[Array, Array, Array]:
    """Proven gaps (N,) of pieces row by row, minus infinity for overlaps, and nearest points (N, 3)."""
    rows = np.arange(len(a))
    outcome = Outcome.start(np.zeros(len(a)), np.zeros((len(a), 3)))
    ones, enough = np.ones(2 * len(a), dtype=np.intp), np.full(len(a), np.inf)
    search(joined([a, b]), ones, rows, rows + len(a), rows, enough, outcome, closed)
    return np.where(outcome.overlaps, -np.inf, outcome.lower), outcome.point_a, outcome.point_b
