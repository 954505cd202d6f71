"""Branch and bound over the pieces of many pairs of bodies at once, and over stretches of them."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from layout3d.kernels.axes import best_of, edge_crosses, face_normals, radial
from layout3d.kernels.convex import nearest, separated, surely_meet
from layout3d.kernels.depth import least_parting
from layout3d.kernels.families import brought_in, core, extent, stretch
from layout3d.kernels.pieces import ARC, SOLID, Bools, Ints, Pieces
from shapes.pose import Array

_CONTACT_MM = 1e-6
#: How far apart the bounds of a measured gap may stay [mm].
_CLOSED_MM = 1e-7
#: Stretches shorter than this are not split again [mm].
_LEAST_STRETCH_MM = 1e-7
#: Stretches to state the depth of an overlap for: of an arc [radians], of a bay (share).
_COARSE_ARC, _COARSE_BAY = 0.27, 0.13
#: Cells looked at for one pair before its lower bound is given as it stands.
_MOST_CELLS = 30_000


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


class _Search:
    """The pieces of all bodies, the wanted gaps, and what has been found."""

    def __init__(self, table: Pieces, enough: Array, outcome: Outcome) -> None:
        self.table, self.enough, self.outcome = table, enough, outcome
        self.exhausted: set[int] = set()
        self.deep: list[Front] = []

    def limit(self, pair: Ints) -> Array:
        """A cell with this lower bound need not be looked at again (n,) [mm]."""
        return np.minimum(self.enough[pair], self.outcome.gap[pair] - _CLOSED_MM)

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
        self.retire(front.take(~open_))
        return front.take(open_)

    def try_axes(self, front: Front) -> Front:
        """Face normals, then for polytopes edge crosses: most pairs go no further."""
        a, b = self.table.take(front.a), self.table.take(front.b)
        axes = np.concatenate([face_normals(a), face_normals(b), radial(a, b)], axis=1)
        front = self.sift(_improved(front, *best_of(a, b, axes)))
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
        found = separated(a, b, front.direction, np.full(len(front), np.inf))
        on_a, on_b = brought_in(a, found.point_a), brought_in(b, found.point_b)
        self.outcome.offer(front.pair, found.direction, on_a, on_b)

    def step(self, front: Front) -> Front:
        """Bound every row from both sides; what is left open, split up."""
        a, b = self.cells(front)
        found = separated(a, b, front.direction, self.limit(front.pair))
        front = _improved(front, found.direction, found.lower)
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
        front = _improved_at(front, rows, direction, room)
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
        sure = meet[surely_meet(core_a.take(meet), core_b.take(meet), _CONTACT_MM)]
        if len(sure):
            self.deep.append(front.take(sure))
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
        self.exhausted.update(pair[worn].tolist())
        self.retire(front.take(~open_ & ~deep | worn))
        coarse = _coarse(a) | _coarse(b)
        again = (open_ & ~worn) | (~whole & deep & coarse & (front.lower < -_CONTACT_MM))
        return _halved(front.take(again), a.take(again), b.take(again))

    def finish(self) -> None:
        """State the depth of overlapping stretches, and the lower bound where work ran out."""
        outcome = self.outcome
        if self.deep:
            front = _joined(self.deep)
            a, b = self.cells(front)
            fine = ~(_coarse(a) | _coarse(b))
            known = np.zeros(len(outcome.gap), dtype=bool)
            known[front.pair[fine]] = True
            rows = np.flatnonzero(fine | ~known[front.pair])
            front, a, b = front.take(rows), a.take(rows), b.take(rows)
            direction, room = least_parting(a, b)
            self.state_depth(replace(front, direction=direction, lower=room), a, b)
        worn = np.array(sorted(self.exhausted), dtype=np.intp)
        worn = worn[~outcome.overlaps[worn]]
        outcome.gap[worn] = np.minimum(outcome.gap[worn], outcome.lower[worn])


def search(
    table: Pieces, counts: Ints, first: Ints, second: Ints, left: Ints, enough: Array, outcome: Outcome
) -> None:
    """Measure the pairs ``left`` (rows of first and second, which name bodies) into ``outcome``.

    table, counts : the pieces of all bodies one after another, and how many each has
    enough : (N,) lower bound that settles a pair [mm]
    """
    work = _Search(table, enough, outcome)
    outcome.lower[left] = np.inf
    front = work.sift(_pieces_of(table, counts, first, second, left))
    probe = _nearest_rows(front)
    if len(probe) < len(front) and not np.isfinite(enough[front.pair]).all():
        work.try_upper(front.take(probe))
        front = work.sift(front)
    front = work.try_axes(front)
    while len(front):
        front = work.step(front)
    work.finish()


def _pieces_of(table: Pieces, counts: Ints, first: Ints, second: Ints, left: Ints) -> Front:
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


def _nearest_rows(front: Front) -> Ints:
    """The row of least bound of every pair."""
    order = np.lexsort((front.lower, front.pair))
    pairs = front.pair[order]
    return order[np.concatenate([[True], pairs[1:] != pairs[:-1]])] if len(order) else order


def _improved(front: Front, direction: Array, lower: Array) -> Front:
    better = lower > front.lower
    return replace(
        front,
        direction=np.where(better[:, None], direction, front.direction),
        lower=np.where(better, lower, front.lower),
    )


def _improved_at(front: Front, rows: Ints, direction: Array, lower: Array) -> Front:
    better = lower > front.lower[rows]
    directions, lowers = front.direction.copy(), front.lower.copy()
    directions[rows[better]], lowers[rows[better]] = direction[better], lower[better]
    return replace(front, direction=directions, lower=lowers)


def _coarse(cells: Pieces) -> Bools:
    """Cells too long for their hull to tell a depth."""
    most = np.where(cells.kind == ARC, _COARSE_ARC, _COARSE_BAY)
    return np.asarray((cells.kind != SOLID) & (cells.high - cells.low > most))


def _halved(front: Front, a: Pieces, b: Pieces) -> Front:
    """Each row cut into four: along the longer stretch, or both where they are alike."""
    extent_a, extent_b = extent(a), extent(b)
    into_a = np.where(extent_a > 4.0 * extent_b, 4, np.where(extent_b > 4.0 * extent_a, 1, 2))
    children = []
    for i, of_a, j, of_b in _SHARES:
        rows = np.flatnonzero(into_a == of_a)
        part = front.take(rows)
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
    return _joined(children)


_SHARES = [(i, n, j, 4 // n) for n in (1, 2, 4) for i in range(n) for j in range(4 // n)]


def _joined(fronts: list[Front]) -> Front:
    return Front(
        *(np.concatenate([getattr(front, field.name) for front in fronts]) for field in fields(Front))
    )
