"""Whether a single run is clear, proved along its whole middle."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.tubes.route.directions import Indices
from layout3d.tubes.route.families import Families
from layout3d.tubes.route.field import ClearanceField
from layout3d.tubes.route.motion import bend_frames
from shapes.pose import Array

#: Steps end at this; a run blocked by less than this may be taken for blocked [mm].
FINEST_MM = 0.02
_FIRST_STEP_MM = 6.0
_SAME_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Blocked:
    """A point of a run with less room than the tube's radius.

    piece : bends are 1, 3, 5, ... and straights 0, 2, 4, ... along the run
    share : of the piece's length
    room : at the point [mm]
    """

    piece: int
    share: float
    room: float
    point: Array


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """One run of a family: its pieces as functions of the share of their length."""

    families: Families
    row: int
    f: Array

    def lengths(self) -> Array:
        """Of straights and bends, alternating (2 bends + 1,) [mm]."""
        families, row = self.families, self.row
        lengths = np.empty(2 * families.bends + 1)
        lengths[0::2] = families.least[row] + families.u0[row] + families.Z[row] @ self.f
        lengths[1::2] = families.radius * families.angle[row]
        return lengths

    def points(self, piece: Indices, share: Array) -> Array:
        """Points (N, 3) at shares (N,) of pieces (N,)."""
        families, row = self.families, self.row
        starts = families.starts[row] + families.start_moves[row] @ self.f
        ends = families.ends[row] + families.end_moves[row] @ self.f
        straight = piece // 2
        points: Array = starts[straight] + share[:, None] * (ends - starts)[straight]
        on_bend = np.flatnonzero(piece % 2)
        if len(on_bend):
            before, across = bend_frames(families, np.array([row]))
            bend = straight[on_bend]
            turn = (share[on_bend] * families.angle[row, bend])[:, None]
            points[on_bend] = ends[bend] + families.radius * (
                np.sin(turn) * before[0, bend] + (1.0 - np.cos(turn)) * across[0, bend]
            )
        return points

    def moves(self, piece: int, share: float) -> Array:
        """How the point shifts with each f, (3, 3)."""
        families, row, straight = self.families, self.row, piece // 2
        if piece % 2:
            share = 1.0
        start, end = families.start_moves[row, straight], families.end_moves[row, straight]
        moves: Array = (1.0 - share) * start + share * end
        return moves


@dataclass(frozen=True, slots=True, eq=False)
class _Stretches:
    """Pieces of a run: which (N,), the middle and the half of each as shares of its length (N,)."""

    piece: Indices
    share: Array
    half: Array

    @staticmethod
    def of(lengths: Array, pieces: Indices, longest: float) -> _Stretches:
        """Whole pieces in even stretches of at most ``longest`` mm."""
        counts = np.maximum(1, np.ceil(lengths[pieces] / longest)).astype(np.intp)
        piece, half = np.repeat(pieces, counts), np.repeat(0.5 / counts, counts)
        place = np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts)
        return _Stretches(piece, (2.0 * place + 1.0) * half, half)

    def among(self, which: Indices) -> _Stretches:
        """Some of them."""
        return _Stretches(self.piece[which], self.share[which], self.half[which])

    def split(self, parts: int) -> _Stretches:
        """Each in so many even parts, part after part."""
        half = self.half / parts
        steps = np.arange(parts) - 0.5 * (parts - 1)
        share = (self.share[:, None] + 2.0 * half[:, None] * steps).ravel()
        return _Stretches(np.repeat(self.piece, parts), share, np.repeat(half, parts))


def first_look(
    runs: Sequence[Run], field: ClearanceField, radius: float, lenient: tuple[float, float]
) -> list[Blocked | None]:
    """For each run a point where its middle lacks room, as far as even steps show one: all runs in one go."""
    middles = [_Middle.of(run, lenient) for run in runs]
    if not middles:
        return []
    stretches = [_Stretches.of(m.lengths, np.arange(1, len(m.lengths) - 1), _FIRST_STEP_MM) for m in middles]
    points = [run.points(s.piece, s.share) for run, s in zip(runs, stretches, strict=True)]
    room = np.split(field.at(np.vstack(points)), np.cumsum([len(p) for p in points])[:-1])
    return [m.worst(s, p, r, radius) for m, s, p, r in zip(middles, stretches, points, room, strict=True)]


def middle_blocked(
    run: Run, field: ClearanceField, radius: float, lenient: tuple[float, float]
) -> tuple[Blocked | None, bool]:
    """A point where the run's middle lacks room, or None; and whether ``radius`` is proved all along.

    lenient : path from the first straight's end and to the last's start that is not judged [mm]
    Neither where it is not judged, or has ``radius`` to less than FINEST_MM.
    """
    middle = _Middle.of(run, lenient)
    left = _Stretches.of(middle.lengths, np.arange(1, len(middle.lengths) - 1), _FIRST_STEP_MM)
    proved = True
    while len(left.piece):
        points = run.points(left.piece, left.share)
        room = field.at(points)
        blocked = middle.worst(left, points, room, radius)
        if blocked is not None:
            return blocked, False
        reach = left.half * middle.lengths[left.piece]
        open_ = room - reach < radius
        # Near the ends, and where the rule is met to a hair, the exact measure decides.
        noted = open_ & (reach <= FINEST_MM)
        proved &= not bool(noted.any())
        left = left.among(np.flatnonzero(open_ & ~noted)).split(5)
    return None, proved


@dataclass(frozen=True, slots=True, eq=False)
class _Middle:
    """A run between its first and last straight: lengths of all pieces, path to each, what is not judged."""

    lengths: Array
    path: Array
    lenient: tuple[float, float]

    @staticmethod
    def of(run: Run, lenient: tuple[float, float]) -> _Middle:
        lengths = run.lengths()
        return _Middle(lengths, np.concatenate(([0.0], np.cumsum(lengths[1:-1]))), lenient)

    def worst(self, stretches: _Stretches, points: Array, room: Array, radius: float) -> Blocked | None:
        """The judged point with the least room, if that is below the radius."""
        reach = stretches.half * self.lengths[stretches.piece]
        along = self.path[stretches.piece - 1] + stretches.share * self.lengths[stretches.piece]
        judged = along - reach >= self.lenient[0] - _SAME_MM
        judged &= self.path[-1] - along - reach >= self.lenient[1] - _SAME_MM
        bad = np.flatnonzero(judged & (room < radius - _SAME_MM))
        if not len(bad):
            return None
        worst = int(bad[room[bad].argmin()])
        place = int(stretches.piece[worst]), float(stretches.share[worst])
        return Blocked(*place, float(room[worst]), points[worst])


def self_gap(run: Run, apart: float, enough: float) -> tuple[float, int, int]:
    """Least distance found of centreline points further apart than ``apart`` along it [mm].

    Infinite where all such are proved to be ``enough`` away, to FINEST_MM. Also the two pieces.
    """
    lengths = run.lengths()
    path = np.concatenate(([0.0], np.cumsum(lengths)))
    whole = _Stretches.of(lengths, np.arange(len(lengths)), 2.0 * _FIRST_STEP_MM)
    first, second = np.triu_indices(len(whole.piece), 1)
    a, b = whole.among(first), whole.among(second)
    while len(a.piece):
        between = np.abs(_along(b, path, lengths) - _along(a, path, lengths))
        reach = a.half * lengths[a.piece] + b.half * lengths[b.piece]
        off = run.points(a.piece, a.share) - run.points(b.piece, b.share)
        distance = np.sqrt((off * off).sum(axis=1))
        short = (between >= apart) & (distance < enough + np.minimum(FINEST_MM, reach))
        if short.any():
            worst = int(np.where(short, distance, math.inf).argmin())
            return float(distance[worst]), int(a.piece[worst]), int(b.piece[worst])
        left = np.flatnonzero((between + reach > apart) & (distance - reach < enough) & (reach > FINEST_MM))
        a, b = a.among(left).split(2), b.among(left).split(2)
        # Every half of the one against every half of the other.
        pairs = 2 * np.arange(len(left))[:, None]
        a = a.among((pairs + np.array([0, 0, 1, 1])).ravel())
        b = b.among((pairs + np.array([0, 1, 0, 1])).ravel())
    return math.inf, 0, 0


def _along(stretches: _Stretches, path: Array, lengths: Array) -> Array:
    along: Array = path[stretches.piece] + stretches.share * lengths[stretches.piece]
    return along
