"""In which order the bends of a tube can be made so that it never meets the former, the bench or itself.

While a bend is made the tube lies against the former from where the bend starts; what is behind
that stays, what is before it swings. Seen from the swinging side the former turns about its own
axis, which changes nothing of a round one, while that side slides along its first straight by
what the bend still has to take in. The bench is level with the bend, so that heights over it do
not change. Only the two sides among themselves need to be followed through the swing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import measure_pairs
from layout3d.kernels.sweep import hulls, passes
from layout3d.scene.model import Bench
from layout3d.tubes.centreline import Piece, Row, from_table
from layout3d.tubes.vectors import cross
from shapes.bounds import primitive_span
from shapes.pose import IDENTITY, Array, Pose
from shapes.primitives import Arc, Cylinder, Straight, TubeRun

#: Two sides of a tube nearer than this while one swings count as meeting [mm].
_NEAR_MM = 0.5
#: Steps of one swing after which it counts as meeting.
_MOST_STEPS = 400
_CONTACT_MM = 1e-6
#: Bends a tube may have for all orders to be looked at.
MOST_BENDS = 10


@dataclass(frozen=True, slots=True)
class Making:
    """One bend in its turn: which, and which face of the piece lies toward the bench.

    turned_over : the bend goes left hand, seen from above, instead of right hand; without a bench
        no bend needs it
    """

    bend: int
    turned_over: bool


@dataclass(frozen=True, slots=True)
class Blocked:
    """A bend no order makes: what it meets with all other bends that can be made before it undone or done."""

    bend: int
    meets: str


@dataclass(frozen=True, slots=True)
class BendOrder:
    """An order of all bends, or what blocks each that is left."""

    order: tuple[Making, ...]
    blocked: tuple[Blocked, ...]


def bend_order(rows: Sequence[Row], last_mm: float, outside_mm: float, bench: Bench) -> BendOrder:
    """The first of all orders, counted from the tube's first end, in which every bend can be made.

    Which bends can be made depends only on those made before, in whatever order: the search goes
    over sets of bends.
    """
    piece = _Piece(tuple(rows), last_mm, outside_mm, bench)
    dead: set[frozenset[int]] = set()

    def finished(done: frozenset[int], order: tuple[Making, ...]) -> tuple[Making, ...] | None:
        if len(done) == len(rows):
            return order
        if done in dead:
            return None
        for bend in range(len(rows)):
            if bend not in done and isinstance(how := piece.made(bend, done), bool):
                found = finished(done | {bend}, (*order, Making(bend, how)))
                if found is not None:
                    return found
        dead.add(done)
        return None

    if len(rows) > MOST_BENDS:
        return BendOrder((), (Blocked(0, f"more than {MOST_BENDS} bends"),))
    order = finished(frozenset(), ())
    if order is not None:
        return BendOrder(order, ())
    others = frozenset(range(len(rows)))
    blocked = [
        Blocked(k, how) for k in range(len(rows)) if isinstance(how := piece.made(k, others - {k}), str)
    ]
    return BendOrder((), tuple(blocked))


@dataclass(frozen=True)
class _Piece:
    rows: tuple[Row, ...]
    last_mm: float
    outside_mm: float
    bench: Bench

    @cached_property
    def _cache(self) -> dict[tuple[int, frozenset[int]], bool | str]:
        return {}

    def made(self, bend: int, done: frozenset[int]) -> bool | str:
        """Whether the piece must be turned over for it, or what it meets either way up."""
        key = (bend, done)
        if key not in self._cache:
            self._cache[key] = self._tried(bend, done)
        return self._cache[key]

    def _tried(self, bend: int, done: frozenset[int]) -> bool | str:
        behind, before, arc = self._sides(bend, done)
        if self._meets_former(behind, before, arc):
            return "the former"
        if self._meets_itself(behind, before, arc):
            return "the tube itself"
        ways = [over for over in (False, True) if not self._meets_bench((*behind, *before), arc, over)]
        return ways[0] if ways else "the bench"

    def _sides(self, bend: int, done: frozenset[int]) -> tuple[tuple[Piece, ...], tuple[Piece, ...], Arc]:
        """What lies behind the bend, what lies before it once it is made, and the bend."""
        rows: list[Row] = []
        straight, turn, at = 0.0, 0.0, 0
        for k, row in enumerate(self.rows):
            straight += row.straight_mm
            turn += row.turn_deg
            if k != bend and k not in done:
                straight += math.radians(row.bend_deg) * row.radius_mm
                continue
            if k == bend:
                at = len(rows)
            rows.append(replace(row, straight_mm=straight, turn_deg=turn))
            straight = turn = 0.0
        pieces = from_table(rows, straight + self.last_mm, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
        arcs = [k for k, piece in enumerate(pieces) if isinstance(piece, Arc)]
        k = arcs[at]
        arc = pieces[k]
        assert isinstance(arc, Arc)
        return pieces[:k], pieces[k + 1 :], arc

    def _body(self, pieces: tuple[Piece, ...]) -> Body | None:
        return body(TubeRun(pieces, self.outside_mm, 0.0), IDENTITY) if pieces else None

    def _meets_former(self, behind: tuple[Piece, ...], before: tuple[Piece, ...], arc: Arc) -> bool:
        radius = arc.radius - 0.5 * self.outside_mm
        if radius <= 0.0 or self.bench.former_height <= 0.0:
            return False
        axis = cross(arc.outward, arc.along)
        former = body(Cylinder(2.0 * radius, 2.0 * self.bench.former_height), Pose.facing(arc.centre, axis))
        still = self._body(_past_straight(behind[::-1])[::-1])
        if still is not None and measure_pairs([(still, former)], np.zeros(1))[0].gap_mm < -_CONTACT_MM:
            return True
        moving = self._body(_past_straight(before))
        if moving is None:
            return False
        leaving = _leaving(arc)
        travel = np.array(leaving) * arc.radius * arc.angle
        own, other = hulls(moving.pieces), hulls(former.pieces)
        pairs = [(i, j) for i in range(len(own)) for j in range(len(other))]
        first, second = (np.array(column, dtype=np.intp) for column in zip(*pairs, strict=True))
        return not bool(passes(own.take(first), other.take(second), np.tile(travel, (len(pairs), 1))).all())

    def _meets_bench(self, pieces: tuple[Piece, ...], arc: Arc, over: bool) -> bool:
        below = self.bench.bench_below
        if below is None:
            return False
        up = np.array(cross(arc.outward, arc.along)) * (-1.0 if over else 1.0)
        run = TubeRun((*pieces, arc), self.outside_mm, 0.0)
        low, _ = primitive_span(run, IDENTITY, up)
        return low - float(np.array(arc.centre) @ up) < -below - _CONTACT_MM

    def _meets_itself(self, behind: tuple[Piece, ...], before: tuple[Piece, ...], arc: Arc) -> bool:
        """Followed from the made bend back to none, by steps no point of the side can cross a gap in."""
        far_behind, far_before = _past_straight(behind[::-1])[::-1], _past_straight(before)
        pairs = [
            (self._body(still), moving)
            for still, moving in ((far_behind, before), (behind[len(far_behind) :], far_before))
            if still and moving
        ]
        if not pairs:
            return False
        reach = max(_reach(moving, arc, self.outside_mm) for _, moving in pairs)
        angle = arc.angle
        for _ in range(_MOST_STEPS):
            placed = [(still, self._swung(moving, arc, angle)) for still, moving in pairs]
            gaps = measure_pairs(placed, np.full(len(placed), np.inf), stop_when_decided=False)  # type: ignore[arg-type]
            gap = min(found.lower_mm for found in gaps)
            if gap < _NEAR_MM:
                return True
            if angle <= 0.0:
                return False
            angle = max(angle - gap / reach, 0.0)
        return True

    def _swung(self, moving: tuple[Piece, ...], arc: Arc, angle: float) -> Body:
        """The side before the bend as it stands when the bend has come to ``angle``."""
        slide = np.array(_leaving(arc)) * arc.radius * (arc.angle - angle)
        axis = np.array(cross(arc.outward, arc.along))
        turn = _rotation(axis, angle - arc.angle)
        centre = np.array(arc.centre)
        pose = Pose(turn, centre + turn @ (slide - centre))
        return body(TubeRun(moving, self.outside_mm, 0.0), pose)


def _past_straight(pieces: tuple[Piece, ...]) -> tuple[Piece, ...]:
    """Without the straight next to the bend, which leaves the former on its tangent."""
    return pieces[1:] if pieces and isinstance(pieces[0], Straight) else pieces


def _leaving(arc: Arc) -> tuple[float, ...]:
    cos, sin = math.cos(arc.angle), math.sin(arc.angle)
    return tuple(-sin * out + cos * way for out, way in zip(arc.outward, arc.along, strict=True))


def _reach(moving: tuple[Piece, ...], arc: Arc, outside: float) -> float:
    """The greatest speed of a point of the swinging side, mm per radian: its turn and its slide."""
    run = TubeRun(moving, outside, 0.0)
    centre = np.array(arc.centre)
    spans = [primitive_span(run, IDENTITY, axis) for axis in np.eye(3)]
    far = [max(abs(low - c), abs(high - c)) for (low, high), c in zip(spans, centre, strict=True)]
    return math.hypot(*far) + arc.radius * (1.0 + arc.angle)


def _rotation(axis: Array, angle: float) -> Array:
    """Rodrigues' rotation matrix (3, 3)."""
    x, y, z = axis
    cross_matrix = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turned: Array = (
        np.eye(3) + math.sin(angle) * cross_matrix + (1.0 - math.cos(angle)) * cross_matrix @ cross_matrix
    )
    return turned
