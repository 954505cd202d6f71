"""The two ends of a run, settled before the search: how far the straights out of the mouths reach.

The first and the last straight run along fixed lines, so the room along these is measured once.
A flat mouth is measured exactly; from one tube radius on, the ball about a centreline point lies
inside the tube and the point's distances decide.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.kernels.bodies import Body, body
from layout3d.kernels.measure import CONTACT_MM, measure_pairs
from layout3d.kernels.obstacles import Indices, Obstacles
from layout3d.tubes.route.motion import bend_frames
from layout3d.tubes.route.proof import FINEST_MM, Run
from layout3d.tubes.route.scenery import Hindrance
from shapes.pose import IDENTITY, Array, Pose, as_vec3
from shapes.primitives import Arc, Straight, TubeRun

_FIRST_STEP_MM = 6.0
_SHORTEST_MM = 0.01


@dataclass(frozen=True, slots=True)
class End:
    """What lies before one mouth.

    reach : longest straight out of the mouth that is clear, the search's limit if nothing bars it [mm]
    barred_by : what ends it (an index of the hindrances), None for nothing
    near_ahead : whether what the straight may be near to matters to what follows it
    """

    reach: float
    barred_by: int | None
    near_ahead: bool


class Surroundings:
    """The hindrances as exact bodies and as points' obstacles."""

    def __init__(self, hindrances: Sequence[Hindrance], radius: float) -> None:
        self.hindrances = tuple(hindrances)
        self.obstacles = Obstacles([(h.primitive, h.solid2scene) for h in self.hindrances])
        self.required = np.array([h.required_mm for h in self.hindrances])
        self.radius = radius
        self._bodies: dict[int, Body] = {}

    def required_near(self, *ends: int) -> Array:
        """The gaps (M,) for a straight that may be near what is at these ends."""
        free = [any(h.near[end] for end in ends) for h in self.hindrances]
        return np.where(free, 0.0, self.required)

    def shortfall(self, pieces: Sequence[Straight | Arc], required: Array) -> tuple[float, int | None]:
        """The most a tube along ``pieces`` lacks to its gaps (M,) [mm], and to what; 0 and None if clear."""
        if not self.hindrances:
            return 0.0, None
        tube = body(TubeRun(tuple(pieces), 2.0 * self.radius, 0.0), IDENTITY)
        low, high = np.asarray(tube.low), np.asarray(tube.high)
        beyond = np.maximum(self.obstacles.lower - high, low - self.obstacles.upper)
        close = np.flatnonzero(np.linalg.norm(np.maximum(beyond, 0.0), axis=1) <= required + CONTACT_MM)
        if not len(close):
            return 0.0, None
        measured = measure_pairs([(tube, self._body(int(i))) for i in close], required[close])
        lacks = required[close] - np.array([result.gap_mm for result in measured])
        worst = int(lacks.argmax())
        return (float(lacks[worst]), int(close[worst])) if lacks[worst] > CONTACT_MM else (0.0, None)

    def tightest(self, points: Array) -> Indices:
        """Which hindrance leaves the least room at each point (N, 3)."""
        every = np.arange(len(self.hindrances))
        paired = np.repeat(points, len(every), axis=0)
        room = self.obstacles.pairs(paired, np.tile(every, len(points))).reshape(len(points), -1)
        tightest: Indices = (room - self.required).argmin(axis=1)
        return tightest

    def _body(self, index: int) -> Body:
        if index not in self._bodies:
            hindrance = self.hindrances[index]
            self._bodies[index] = body(hindrance.primitive, hindrance.solid2scene)
        return self._bodies[index]


def look_ahead(around: Surroundings, mouth: Pose, end: int, least: float, limit: float) -> End:
    """How far a straight out of ``mouth`` reaches, at most ``limit`` [mm]."""
    radius, start, along = around.radius, mouth.origin, mouth.z_axis
    required = around.required_near(end)
    # A ball at `past` clears the face the tube stands on by more than a step's fineness.
    past = radius + 2.0 * FINEST_MM

    def barred_by(length: float) -> int | None:
        return around.shortfall([Straight(as_vec3(start), as_vec3(start + length * along))], required)[1]

    flat = max(min(past, least), _SHORTEST_MM)
    what = barred_by(flat)
    if what is not None:
        return End(0.0, what, False)
    what = barred_by(past) if flat < past else None
    if what is not None:
        return End(_longest(lambda length: barred_by(length) is None, flat, past), what, True)
    close = _along(around, start, start + limit * along, radius + float(required.max(initial=0.0)))
    if not len(close):
        return End(limit, None, False)
    gaps = np.stack((required[close], around.required[close]))
    near = np.array([around.hindrances[i].near[end] for i in close])

    def room(at: Array) -> Array:
        """Along the straight at (N,): rooms (N, C) to what is close, less the gaps of a first straight."""
        points = np.repeat(start + at[:, None] * along, len(close), axis=0)
        distance = around.obstacles.pairs(points, np.tile(close, len(at)))
        rooms: Array = distance.reshape(len(at), -1) - gaps[0]
        return rooms

    reach, barred = _first_short(lambda at: room(at).min(axis=1), past, limit, radius)
    what = int(close[room(np.array([reach]))[0].argmin()]) if barred else None
    onward = np.arange(min(least, reach), reach + 2.0, 2.0)
    to_near = room(onward)[:, near] + gaps[0, near] - gaps[1, near]
    near_ahead = bool((to_near < 2.0 * radius + 1.0).any())
    return End(reach, what, near_ahead or least < past)


def _longest(free: Callable[[float], bool], low: float, high: float) -> float:
    """The longest length that is free, to FINEST_MM, between one that is and one that is not."""
    while high - low > FINEST_MM:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if free(middle) else (low, middle)
    return low


def _along(around: Surroundings, start: Array, end: Array, reach: float) -> Indices:
    """Which solids' boxes come within ``reach`` of a straight's box, twice the radius added."""
    low, high = np.minimum(start, end) - 2.0 * reach, np.maximum(start, end) + 2.0 * reach
    obstacles = around.obstacles
    return np.flatnonzero(((obstacles.lower <= high) & (obstacles.upper >= low)).all(axis=1))


def _first_short(
    room: Callable[[Array], Array], low: float, high: float, radius: float
) -> tuple[float, bool]:
    """The first place from ``low`` to ``high`` with less room than ``radius``; whether there is one."""
    if high <= low:
        return high, False
    count = max(1, int(np.ceil((high - low) / _FIRST_STEP_MM)))
    half = np.full(count, 0.5 * (high - low) / count)
    at = low + half * (2.0 * np.arange(count) + 1.0)
    first = high
    while len(at):
        value = room(at)
        short = value < radius + np.minimum(FINEST_MM, half)
        certain = short & ((half <= FINEST_MM) | (value < radius - half))
        if certain.any():
            first = min(first, float((at - half)[certain].min()))
        open_ = (value - half < radius) & ~certain & (at - half < first)
        fifth = half[open_] / 5.0
        at = (at[open_][:, None] + 2.0 * fifth[:, None] * np.arange(-2, 3)).ravel()
        half = np.repeat(fifth, 5)
    return first, first < high


def middle_pieces(run: Run) -> list[Straight | Arc]:
    """The run's bends and the straights between them."""
    families, row = run.families, run.row
    starts = families.starts[row] + families.start_moves[row] @ run.f
    ends = families.ends[row] + families.end_moves[row] @ run.f
    before, across = bend_frames(families, np.array([row]))
    pieces: list[Straight | Arc] = []
    for bend in range(families.bends):
        if bend and float(np.linalg.norm(ends[bend] - starts[bend])) > 1e-9:
            pieces.append(Straight(as_vec3(starts[bend]), as_vec3(ends[bend])))
        radius, inward = families.radius, across[0, bend]
        centre = ends[bend] + radius * inward
        angle = float(families.angle[row, bend])
        pieces.append(Arc(as_vec3(centre), as_vec3(-inward), as_vec3(before[0, bend]), radius, angle))
    return pieces
