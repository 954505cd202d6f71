"""The cheapest clear run of many families, by branch and bound with proofs.

A node is a box of one family's free straights. Best first by the cost of its cheapest corner,
a node is looked at in one place: a point there that lies deeper in forbidden room than the
node lets it move proves a slice of the node blocked, and the slice is cut off. Where nothing
is proved the run itself is tried, and the node split. Nothing is discarded but by proof; runs
that clear by less than ``SLACK_MM`` more than the rule may be lost or found.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass, field

import numpy as np

from layout3d.tubes.route.boxes import representative, tighten
from layout3d.tubes.route.directions import Indices
from layout3d.tubes.route.families import Families
from layout3d.tubes.route.motion import samples
from layout3d.tubes.route.proof import FINEST_MM, Run, first_look
from layout3d.tubes.route.room import COST_MM, Room
from layout3d.tubes.route.slices import GOOD_SLICE_MM, by_corners, by_samples
from layout3d.tubes.route.trial import POINT_MM, Trial, tried
from shapes.pose import Array

_BATCH = 96
_ROWS = 1_000_000
_MOST_BLOCKS = 400


@dataclass(slots=True)
class Found:
    """The state of a search: the best run and what is known of the others.

    bound : no run costs less than this [mm]
    given_up : the least bound of what was left unsearched
    blocks : points (N, 3) where runs were found blocked
    crossed : a run was found to come too near to itself
    """

    run: Run | None = None
    cost: float = math.inf
    bound: float = math.inf
    given_up: float = math.inf
    looked_at: int = 0
    blocks: list[Array] = field(default_factory=list)
    crossed: bool = False

    @property
    def settled(self) -> float:
        """Nodes that cannot better this much are done with."""
        return self.cost - 0.9 * COST_MM


Node = tuple[float, int, int, tuple[float, ...], tuple[float, ...]]


class Search:
    """Best-first over families added in any order.

    limit : once so many places were looked at, families of more than ``sure_bends`` are given up
    """

    def __init__(self, room: Room, sure_bends: int) -> None:
        self.found = Found()
        self.limit: int | None = None
        self._sure_bends = sure_bends
        self._room = room
        self._families: list[Families] = []
        self._heap: list[Node] = []
        self._serial = 0

    def add(self, families: Families, longest: float) -> None:
        """Families to search; no free straight is longer than ``longest`` [mm]."""
        self._families.append(families)
        level = len(self._families) - 1
        free = (np.abs(families.Z).max(axis=1) > 0.0) * longest
        for row in range(len(families)):
            self._push(float(families.cost[row]), level, row, np.zeros(3), free[row])

    @property
    def next_bound(self) -> float:
        """Cost below which nothing is left to be found."""
        return self._heap[0][0] if self._heap else math.inf

    def run(self, until: float) -> None:
        """Search until nothing cheaper than ``until`` is left, or the limit is reached."""
        found = self.found
        while self._heap and self.next_bound < min(until, found.settled):
            if self.limit is not None and found.looked_at >= self.limit:
                self._give_up()
                continue
            level, batch = self._take(min(until, found.settled))
            found.looked_at += len(batch)
            self._look(level, batch)
        found.bound = min(found.cost, self.next_bound, found.given_up)

    def _give_up(self) -> None:
        unsure = [node for node in self._heap if self._families[node[2] // _ROWS].bends > self._sure_bends]
        self.found.given_up = min((node[0] for node in unsure), default=math.inf)
        self._heap = [
            node for node in self._heap if self._families[node[2] // _ROWS].bends <= self._sure_bends
        ]
        heapq.heapify(self._heap)
        self.limit = None

    def _push(self, bound: float, level: int, row: int, low: Array, high: Array) -> None:
        if bound < self.found.settled:
            self._serial += 1
            place = level * _ROWS + row
            heapq.heappush(
                self._heap, (bound, self._serial, place, tuple(low.tolist()), tuple(high.tolist()))
            )

    def _take(self, until: float) -> tuple[int, list[Node]]:
        """The best nodes, all of the level of the very best."""
        level = self._heap[0][2] // _ROWS
        batch: list[Node] = []
        later: list[Node] = []
        while self._heap and len(batch) < _BATCH and len(later) < _BATCH and self._heap[0][0] < until:
            node = heapq.heappop(self._heap)
            (batch if node[2] // _ROWS == level else later).append(node)
        for node in later:
            heapq.heappush(self._heap, node)
        return level, batch

    def _look(self, level: int, batch: list[Node]) -> None:
        families = self._families[level]
        rows = np.array([node[2] % _ROWS for node in batch], dtype=np.intp)
        low, high = np.array([node[3] for node in batch]), np.array([node[4] for node in batch])
        alive = tighten(families, rows, low, high, self.found.settled)
        rows, low, high = rows[alive], low[alive], high[alive]
        if not len(rows):
            return
        f, possible = representative(families, rows, low, high)
        sampled = samples(families, rows, f, 0.5 * (high - low))
        back = f[:, 0] - low[:, 0]
        slices = by_samples(self._room, sampled, back)
        gain = by_corners(self._room, families, rows, low, high, f, sampled, slices)
        if len(self.found.blocks) < _MOST_BLOCKS:
            deepest = sampled.points[np.arange(len(rows)), slices.worst]
            self.found.blocks.append(deepest[gain > 0.0])
        # Splitting helps where the node's width costs most of the slice.
        still = sampled.at_rest().advance(slices.depth, back)
        split = gain < np.minimum(GOOD_SLICE_MM, 0.5 * still)
        self._try(families, rows, low, high, f, np.flatnonzero(slices.clear & possible), gain)
        split |= gain < FINEST_MM
        for n, row in enumerate(rows):
            self._go_on(level, int(row), low[n], high[n], float(f[n, 0]), float(gain[n]), bool(split[n]))

    def _try(
        self,
        families: Families,
        rows: Indices,
        low: Array,
        high: Array,
        f: Array,
        nodes: Indices,
        gain: Array,
    ) -> None:
        """Try the runs of these nodes, the cheapest first; what they prove raises their gains."""
        found, room = self.found, self._room
        cost = families.cost[rows] + np.einsum("bd,bd->b", families.rate[rows], f)
        order = [int(n) for n in nodes[np.argsort(cost[nodes], kind="stable")] if cost[n] < found.cost]
        runs = [Run(families, int(rows[n]), f[n]) for n in order]
        looks = first_look(runs, room.field, room.radius, room.lenient)
        for n, run, blocked in zip(order, runs, looks, strict=True):
            if cost[n] >= found.cost:
                break
            verdict = tried(room, Trial(run, low[n], high[n], blocked))
            if verdict.clear:
                found.run, found.cost = run, float(cost[n])
            gain[n] = verdict.ahead
            found.crossed |= verdict.crossed
            if verdict.at is not None:
                found.blocks.append(verdict.at[None])

    def _go_on(
        self, level: int, row: int, low: Array, high: Array, at: float, ahead: float, split: bool
    ) -> None:
        """Cut off what is proved, split what is left if that helps and it is wide."""
        if ahead > 0.0:
            low = low.copy()
            low[0] = at + ahead
            if low[0] > high[0]:
                return
        wide = (high - low)[1:]
        if not split or wide.max() <= POINT_MM:
            if ahead > 0.0:
                self._push_box(level, row, low, high)
            return
        scale = np.sqrt((self._families[level].end_moves[row] ** 2).sum(axis=1).max(axis=0))[1:]
        axis = 1 + int((wide * scale).argmax())
        middle = 0.5 * (low[axis] + high[axis])
        for a, b in ((low[axis], middle), (middle, high[axis])):
            lower, upper = low.copy(), high.copy()
            lower[axis], upper[axis] = a, b
            self._push_box(level, row, lower, upper)

    def _push_box(self, level: int, row: int, low: Array, high: Array) -> None:
        families = self._families[level]
        self._push(float(families.cost[row] + families.rate[row] @ low), level, row, low, high)
