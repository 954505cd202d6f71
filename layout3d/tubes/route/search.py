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
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from layout3d.kernels.obstacles import Obstacles
from layout3d.tubes.route.boxes import representative, tighten
from layout3d.tubes.route.directions import Bools, Indices
from layout3d.tubes.route.families import Families
from layout3d.tubes.route.field import ClearanceField
from layout3d.tubes.route.hulls import box_corners, held, straights_apart, whole_faces
from layout3d.tubes.route.motion import Samples, samples
from layout3d.tubes.route.proof import FINEST_MM, Run, middle_blocked, self_gap
from shapes.pose import Array

#: A run that clears everything by the rule and this much more is never overlooked [mm].
SLACK_MM = 0.05
#: The cheapest run is found to this [mm].
COST_MM = 0.01
_BATCH = 96
_EXACT_SAMPLES = 6
#: A slice thinner than this is worth a better look, or a split [mm].
_GOOD_SLICE_MM = 1.0
_POINT_MM = 1e-7
_ROWS = 1_000_000
_MOST_BLOCKS = 400

#: What the exact measure of a run's middle lacks most to the rule, None if nothing [mm].
ExactDepth = Callable[[Run], float | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """What a run must keep clear of.

    radius : half the tube's outside [mm]
    obstacles, required : what is there, and the gap each asks for (M,) [mm]
    lenient : path beyond the first and before the last straight where only ``exact_depth``
        judges what the field finds too near [mm]
    self_apart, self_distance : stretches of the centreline further apart along it than the one
        keep the other from each other [mm]
    """

    field: ClearanceField
    obstacles: Obstacles
    required: Array
    radius: float
    lenient: tuple[float, float]
    exact_depth: ExactDepth
    self_apart: float
    self_distance: float


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
        half = 0.5 * (high - low)
        back = f[:, 0] - low[:, 0]
        sampled = samples(families, rows, f, half)
        gain, clear, depth = self._gains(sampled, back)
        worst = depth.argmax(axis=1)
        self._by_corners(families, rows, low, high, f, sampled, worst, gain)
        deepest = sampled.points[np.arange(len(rows)), worst]
        cost = families.cost[rows] + np.einsum("bd,bd->b", families.rate[rows], f)
        if len(self.found.blocks) < _MOST_BLOCKS:
            self.found.blocks.append(deepest[gain > 0.0])
        # Splitting helps where the node's width costs most of the slice.
        wasteful = gain < np.minimum(_GOOD_SLICE_MM, 0.5 * sampled.at_rest().advance(depth, back))
        for n, row in enumerate(rows):
            node = _Node(level, int(row), low[n], high[n])
            ahead = float(gain[n])
            if clear[n] and possible[n] and cost[n] < self.found.cost:
                ahead = self._try(Run(families, int(row), f[n]), float(cost[n]), node)
            self._go_on(families, node, float(f[n, 0]), ahead, bool(wasteful[n]) or ahead < FINEST_MM)

    def _gains(self, sampled: Samples, back: Array) -> tuple[Array, Bools, Array]:
        """How far nodes' first coordinates may advance; runs with no sign of a block; samples' depths."""
        count, wide = sampled.rest.shape
        field_, need = self._room.field, self._room.radius
        value, off = field_.bounds(sampled.points.reshape(-1, 3))
        value, off = value.reshape(count, wide), off.reshape(count, wide)
        judged = sampled.usable & (sampled.from_start >= self._room.lenient[0])
        judged &= sampled.from_end >= self._room.lenient[1]
        depth = np.where(judged, need + SLACK_MM - value - off, -math.inf)
        gain = sampled.advance(depth, back)
        weak = np.flatnonzero(gain < _GOOD_SLICE_MM)
        if len(weak):
            likely = np.where(judged[weak], need + SLACK_MM - value[weak] - sampled.rest[weak], -math.inf)
            likely = np.where(value[weak] - off[weak] > need + SLACK_MM, -math.inf, likely)
            best = np.argsort(-likely, axis=1, kind="stable")[:, :_EXACT_SAMPLES]
            run = np.repeat(weak, best.shape[1])
            best = best.ravel()
            asked = likely[
                np.repeat(np.arange(len(weak)), _EXACT_SAMPLES if wide >= _EXACT_SAMPLES else wide), best
            ]
            keep = asked > -math.inf
            run, best = run[keep], best[keep]
            depth[run, best] = need + SLACK_MM - field_.at(sampled.points[run, best])
            gain = sampled.advance(depth, back)
        clear = np.asarray(depth.max(axis=1, initial=-math.inf) <= SLACK_MM)
        return gain, clear, depth

    def _by_corners(
        self,
        families: Families,
        rows: Indices,
        low: Array,
        high: Array,
        f: Array,
        sampled: Samples,
        worst: Indices,
        gain: Array,
    ) -> None:
        """Raise gains where the worst sample's obstacle blocks a box's corners, and so the box."""
        room = self._room
        weak = np.flatnonzero(gain < _GOOD_SLICE_MM)
        if not len(weak) or not len(room.obstacles):
            return
        points = sampled.points[weak, worst[weak]]
        obstacle = room.field.tightest(points)
        usable = (obstacle >= 0) & room.obstacles.convex[obstacle]
        if families.radius * float(families.angle.min()) < max(room.lenient):
            usable &= sampled.side_speed[weak, worst[weak]] == 0.0
        weak, obstacle = weak[usable], obstacle[usable]
        if not len(weak):
            return
        corners, first = box_corners(low[weak], high[weak])
        within = room.required[obstacle] + room.radius + SLACK_MM
        blocked = held(families, rows[weak], worst[weak], corners, room.obstacles, obstacle, within)
        for n in np.flatnonzero(blocked[:, 0]):
            faces = first[n, blocked[n, 1:]]
            if len(faces):
                index = weak[n]
                whole = faces[0] >= high[index, 0]
                gain[index] = max(gain[index], math.inf if whole else faces[0] - f[index, 0])

    def _try(self, run: Run, cost: float, node: _Node) -> float:
        """Take the run if it is clear; else how far its node may advance."""
        room, half, back = self._room, 0.5 * (node.high - node.low), float(run.f[0] - node.low[0])
        blocked, proved = middle_blocked(run, room.field, room.radius, room.lenient)
        if blocked is not None:
            self.found.blocks.append(blocked.point[None])
            depth = room.radius + SLACK_MM - blocked.room
            return _advance(run.moves(blocked.piece, blocked.share), half, depth, back)
        if not proved:
            shortfall = room.exact_depth(run)
            if shortfall is not None:
                return self._advance_all(run, half, shortfall + SLACK_MM, back)
        distance, first, second = self_gap(run, room.self_apart, room.self_distance)
        if distance < math.inf:
            self.found.crossed = True
            ahead = self._crossed(run, node, first, second)
            return (
                ahead
                if ahead > 0.0
                else self._advance_all(
                    run, half, room.self_distance + SLACK_MM - distance, back, relative=True
                )
            )
        self.found.run, self.found.cost = run, cost
        return 0.0

    def _crossed(self, run: Run, node: _Node, first: int, second: int) -> float:
        """How far two straights that come too near to each other do so at every corner."""
        if first % 2 or second % 2:
            return 0.0
        corners, firsts = box_corners(node.low[None], node.high[None])
        distance, path = straights_apart(run.families, run.row, first // 2, second // 2, corners[0])
        room = self._room
        bad = whole_faces((distance < room.self_distance) & (path > room.self_apart))
        faces = firsts[0][bad[1:]]
        if not bad[0] or not len(faces):
            return 0.0
        return math.inf if faces[0] >= node.high[0] else float(faces[0] - run.f[0])

    def _advance_all(self, run: Run, half: Array, depth: float, back: float, relative: bool = False) -> float:
        """Advance by the fastest point of the run; at least by the finest step, so that it ends."""
        pieces = range(2 * run.families.bends + 1)
        ends = [run.moves(piece, share) for piece in pieces for share in (0.0, 1.0)]
        scale = 2.0 if relative else 1.0
        certain = min(_advance(scale * moves, half, depth, back) for moves in ends)
        return certain if certain > 0.0 or half[1:].max() > _POINT_MM else back + FINEST_MM

    def _go_on(self, families: Families, node: _Node, at: float, ahead: float, split: bool) -> None:
        """Cut off what is proved, split what is left if that helps and it is wide."""
        low, high = node.low, node.high
        if ahead > 0.0:
            low = low.copy()
            low[0] = at + ahead
            if low[0] > high[0]:
                return
        wide = (high - low)[1:]
        if not split or wide.max() <= _POINT_MM:
            if ahead > 0.0:
                self._push_box(families, node, low, high)
            return
        scale = np.sqrt((families.end_moves[node.row] ** 2).sum(axis=1).max(axis=0))[1:]
        axis = 1 + int((wide * scale).argmax())
        middle = 0.5 * (low[axis] + high[axis])
        for a, b in ((low[axis], middle), (middle, high[axis])):
            lower, upper = low.copy(), high.copy()
            lower[axis], upper[axis] = a, b
            self._push_box(families, node, lower, upper)

    def _push_box(self, families: Families, node: _Node, low: Array, high: Array) -> None:
        bound = float(families.cost[node.row] + families.rate[node.row] @ low)
        self._push(bound, node.level, node.row, low, high)


@dataclass(frozen=True, slots=True)
class _Node:
    level: int
    row: int
    low: Array
    high: Array


def _advance(moves: Array, half: Array, depth: float, back: float) -> float:
    """How far the first coordinate may grow while a point that moves so stays blocked."""
    first, second = moves[:, 1] * half[1], moves[:, 2] * half[2]
    rest = max(float(np.linalg.norm(first + second)), float(np.linalg.norm(first - second)))
    speed = float(np.linalg.norm(moves[:, 0]))
    if depth <= rest:
        return 0.0
    ahead = (depth - rest) / max(speed, 1e-12)
    return ahead if ahead >= back else 0.0
