"""Soft curves longer than the shortest, and ways round where there is no shortest.

A curve is made longer by a push: its ends run straight on that far before they bend, or its
middle is moved aside. Its length grows with the push from that of the curve it began as, so
that a wanted length can be met; where the ends are too near one another for one arc, straight
and arc, moving a middle aside finds a way round. Every piece is a straight or an arc of the
one radius, and bends go the short way.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from layout3d.tubes.centreline import Piece, end_of, length_mm, part_of, straight_between
from layout3d.tubes.turns import SHORT_WAY, Ray, all_turns, shortest_turns
from layout3d.tubes.vectors import along, any_square_to, dot, middle, minus, norm, times, turned, unit
from shapes.pose import DIRECTIONS, Array, Vec3

#: A curve of a wanted length has it to this [mm].
LENGTH_MM = 1e-7
_PUSHES = 24
#: Sides to move a middle to, from the likeliest on [degrees about the direction of travel].
_SIDES_DEG = (0.0, 45.0, -45.0, 90.0, -90.0, 135.0, -135.0, 180.0)


class Detour(Protocol):
    """Curves between two rays that grow with a push of so many mm: `Onward` and `Aside`."""

    def pushed(self, push: float) -> tuple[Piece, ...] | None:
        """The exact curve; None where there is none."""

    def lengths(self, pushes: Array) -> Array:
        """Lengths for pushes (n,) [mm], infinite where none was found."""


@dataclass(frozen=True, slots=True)
class Onward:
    """The ends run straight on before they bend: ``front`` and ``back`` times the push."""

    start: Ray
    end: Ray
    radius: float
    front: float
    back: float

    def pushed(self, push: float) -> tuple[Piece, ...] | None:
        """The exact curve; None where there is none."""
        start = along(self.start[0], self.start[1], self.front * push)
        end = along(self.end[0], self.end[1], -self.back * push)
        curve = shortest_turns((start, self.start[1]), (end, self.end[1]), self.radius, SHORT_WAY)
        if curve is None:
            return None
        return (*straight_between(self.start[0], start), *curve, *straight_between(end, self.end[0]))

    def lengths(self, pushes: Array) -> Array:
        """Lengths for pushes (n,) [mm], infinite where none was found."""
        on, back = (pushes[:, None] * factor for factor in (self.front, -self.back))
        leave, arrive = (np.tile(ray[1], (len(pushes), 1)) for ray in (self.start, self.end))
        solved = all_turns(
            self.start[0] + on * leave, leave, self.end[0] + back * arrive, arrive, self.radius
        )
        return np.asarray(solved.lengths.min(1) + (self.front + self.back) * pushes)


@dataclass(frozen=True, slots=True)
class Aside:
    """A ``waist`` midway moved to a ``side``, square to its direction of travel."""

    start: Ray
    end: Ray
    radius: float
    waist: Ray
    side: Vec3

    def pushed(self, push: float) -> tuple[Piece, ...] | None:
        """The exact curve; None where there is none."""
        waist = (along(self.waist[0], self.side, push), self.waist[1])
        first = shortest_turns(self.start, waist, self.radius, SHORT_WAY)
        last = shortest_turns(waist, self.end, self.radius, SHORT_WAY)
        return None if first is None or last is None else (*first, *last)

    def lengths(self, pushes: Array) -> Array:
        """Lengths for pushes (n,) [mm], infinite where none was found."""
        waists = self.waist[0] + pushes[:, None] * np.asarray(self.side)
        begin, leave, axis, finish, arrive = (
            np.tile(vector, (len(pushes), 1)) for vector in (*self.start, self.waist[1], *self.end)
        )
        solved = all_turns(
            np.concatenate((begin, waists)),
            np.concatenate((leave, axis)),
            np.concatenate((waists, finish)),
            np.concatenate((axis, arrive)),
            self.radius,
        )
        first, last = np.split(solved.lengths.min(1), 2)
        return np.asarray(first + last)


def of_length(
    start: Ray, end: Ray, radius: float, shortest: Sequence[Piece], length: float
) -> tuple[Piece, ...] | None:
    """A curve of this length [mm], no less than that of the shortest; None where none was found."""
    pushes = length * (np.arange(_PUSHES + 1) / _PUSHES) ** 2
    for detour in _longer(start, end, radius, shortest):
        excess = [float(value) for value in detour.lengths(pushes) - length]
        for k in range(_PUSHES):
            if math.isfinite(excess[k] + excess[k + 1]) and excess[k] * excess[k + 1] <= 0.0:
                low, high = (float(pushes[k]), excess[k]), (float(pushes[k + 1]), excess[k + 1])
                curve = _met(detour, low, high, length)
                if curve is not None:
                    return curve
    return None


def ways_aside(
    start: Ray, end: Ray, radius: float, shortest: Sequence[Piece], length: float
) -> Iterator[tuple[Piece, ...]]:
    """Curves of about this length [mm] that bulge to one side after another."""
    waist = end_of(part_of(shortest, 0.0, length_mm(shortest) / 2.0)[-1])
    pushes = length * (np.arange(1, _PUSHES + 1) / _PUSHES) ** 2
    for aside in _asides(start, end, radius, waist):
        lengths = aside.lengths(pushes)
        near = np.where(np.isfinite(lengths), np.abs(lengths - length), np.inf)
        curve = aside.pushed(float(pushes[near.argmin()])) if np.isfinite(near.min()) else None
        if curve is not None:
            yield curve


def _longer(start: Ray, end: Ray, radius: float, shortest: Sequence[Piece]) -> Iterator[Detour]:
    for front, back in ((0.5, 0.5), (1.0, 0.0), (0.0, 1.0)):
        yield Onward(start, end, radius, front, back)
    waist = end_of(part_of(shortest, 0.0, length_mm(shortest) / 2.0)[-1])
    yield from _asides(start, end, radius, waist)


def _asides(start: Ray, end: Ray, radius: float, waist: Ray) -> Iterator[Aside]:
    """To each side: first away from what the ends come out of, else down, as slack hangs."""
    axis = waist[1]
    wishes = (minus(start[1], end[1]), DIRECTIONS["floor"])
    square = (minus(wish, times(axis, dot(axis, wish))) for wish in wishes)
    first = next((unit(wish) for wish in square if norm(wish) > 1e-3), any_square_to(axis))
    for side_deg in _SIDES_DEG:
        yield Aside(start, end, radius, waist, turned(first, axis, side_deg))


def _met(
    detour: Detour, low: tuple[float, float], high: tuple[float, float], length: float
) -> tuple[Piece, ...] | None:
    """The curve between two pushes, one too short and one too long, that meets the length.

    False position (the Illinois rule); None where the length jumps over the wanted one.
    """
    for _ in range(60):
        spread = high[1] - low[1]
        push = low[0] - low[1] * (high[0] - low[0]) / spread if spread != 0.0 else low[0]
        curve = detour.pushed(push)
        if curve is None:
            return None
        excess = length_mm(curve) - length
        if abs(excess) <= LENGTH_MM:
            return curve
        if excess * high[1] < 0.0:
            low, high = high, (push, excess)
        else:
            low, high = (low[0], low[1] / 2.0), (push, excess)
    return None


def way_round(start: Ray, end: Ray, radius: float) -> tuple[Piece, ...] | None:
    """The shortest curve found by way of a point moved aside midway between the ends, or None."""
    across = minus(end[0], start[0])
    waists = [(middle(start[0], end[0]), axis) for axis in _waist_axes(start, end)]
    asides = [aside for waist in waists for aside in _asides(start, end, radius, waist)]
    pushes = np.linspace(0.0, norm(across) + 8.0 * radius, _PUSHES + 1)
    lengths = np.array([aside.lengths(pushes) for aside in asides])
    for place in np.argsort(lengths, axis=None, kind="stable"):
        best, k = divmod(int(place), len(pushes))
        if not math.isfinite(lengths[best, k]):
            break
        # The lengths are found without building the curves; the first that can be built is taken.
        for push in (_least(asides[best], pushes, k), float(pushes[k])):
            curve = asides[best].pushed(push)
            if curve is not None:
                return curve
    return None


def _waist_axes(start: Ray, end: Ray) -> list[Vec3]:
    """Ways to pass the middle: along the line between the ends, and across what the ends come out of."""
    across, away = minus(end[0], start[0]), minus(start[1], end[1])
    axes = [unit(across)] if norm(across) > 1e-6 else []
    if norm(away) > 1e-3:
        out = unit(away)
        level = minus(across, times(out, dot(across, out)))
        axes.append(unit(level) if norm(level) > 1e-6 else any_square_to(out))
    if not axes:
        axes = [any_square_to(start[1])]
    return axes[:1] if len(axes) == 2 and dot(*axes) > 1.0 - 1e-9 else axes


def _least(detour: Detour, pushes: Array, k: int) -> float:
    """The push of least length, from the k-th on a grid on, the grid made finer twice [mm]."""
    for _ in range(2):
        pushes = np.linspace(pushes[max(k - 1, 0)], pushes[min(k + 1, _PUSHES)], _PUSHES + 1)
        k = int(detour.lengths(pushes).argmin())
    return float(pushes[k])
