"""A run tried: taken if it is clear, else how much of its node it proves blocked."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from layout3d.tubes.route.hulls import box_corners, straights_apart, whole_faces
from layout3d.tubes.route.proof import FINEST_MM, Blocked, Run, middle_blocked, self_gap
from layout3d.tubes.route.room import SLACK_MM, Room
from shapes.pose import Array

#: Nodes this narrow are points [mm].
POINT_MM = 1e-7


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """A node's run and the node's box (3,) each; its first coordinate is advanced from the run's.

    blocked : a point where a first look found the run blocked
    """

    run: Run
    low: Array
    high: Array
    blocked: Blocked | None

    @property
    def half(self) -> Array:
        """Half widths of the box (3,)."""
        return 0.5 * (self.high - self.low)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a trial gave.

    clear : the run is clear
    ahead : else how far its node may advance [mm]
    at : where it was found blocked, None where it crosses itself or an end decided
    crossed : it comes too near to itself
    """

    clear: bool
    ahead: float = 0.0
    at: Array | None = None
    crossed: bool = False


def tried(room: Room, trial: Trial) -> Verdict:
    """Prove the run clear, or the node blocked as far as that goes."""
    run, blocked, proved = trial.run, trial.blocked, False
    if blocked is None:
        blocked, proved = middle_blocked(run, room.field, room.radius, room.lenient)
    if blocked is not None:
        depth = room.radius + SLACK_MM - blocked.room
        return Verdict(False, _advance(trial, run.moves(blocked.piece, blocked.share), depth), blocked.point)
    if not proved:
        shortfall = room.exact_depth(run)
        if shortfall is not None:
            return Verdict(False, _advance_all(trial, shortfall + SLACK_MM))
    distance, first, second = self_gap(run, room.self_apart, room.self_distance)
    if distance < math.inf:
        ahead = _crossed(room, trial, first, second)
        if ahead <= 0.0:
            # Two points approach each other at most twice as fast as one moves.
            ahead = _advance_all(trial, 0.5 * (room.self_distance + SLACK_MM - distance))
        return Verdict(False, ahead, crossed=True)
    return Verdict(True)


def _crossed(room: Room, trial: Trial, first: int, second: int) -> float:
    """How far two straights that come too near to each other do so at every corner of the box."""
    if first % 2 or second % 2:
        return 0.0
    run = trial.run
    corners, firsts = box_corners(trial.low[None], trial.high[None])
    distance, path = straights_apart(run.families, run.row, first // 2, second // 2, corners[0])
    bad = whole_faces((distance < room.self_distance) & (path > room.self_apart))
    faces = firsts[0][bad[1:]]
    if not bad[0] or not len(faces):
        return 0.0
    return math.inf if faces[0] >= trial.high[0] else float(faces[0] - run.f[0])


def _advance_all(trial: Trial, depth: float) -> float:
    """Advance by the fastest point of the run; at least by the finest step, so that it ends."""
    pieces = range(2 * trial.run.families.bends + 1)
    ends = [trial.run.moves(piece, share) for piece in pieces for share in (0.0, 1.0)]
    certain = min(_advance(trial, moves, depth) for moves in ends)
    if certain > 0.0 or trial.half[1:].max() > POINT_MM:
        return certain
    return float(trial.run.f[0] - trial.low[0]) + FINEST_MM


def _advance(trial: Trial, moves: Array, depth: float) -> float:
    """How far the first coordinate may grow while a point that moves so stays blocked."""
    half = trial.half
    first, second = moves[:, 1] * half[1], moves[:, 2] * half[2]
    rest = max(float(np.linalg.norm(first + second)), float(np.linalg.norm(first - second)))
    if depth <= rest:
        return 0.0
    ahead = (depth - rest) / max(float(np.linalg.norm(moves[:, 0])), 1e-12)
    return ahead if ahead >= float(trial.run.f[0] - trial.low[0]) else 0.0
