"""Where along its slots a group of parts clears everything: whole intervals, proved, not sampled.

Moved by d, two solids come nearer to each other, or part, by at most d. So a gap measured in the
middle of a stretch of slide settles the whole stretch where it is off the rule by more than half its
length; what is not settled is halved until it is shorter than RESOLUTION_MM, and what is left then
counts as blocked. Before that the solids' boxes, and the plane their nearest points show between
them, settle most pairs in closed form.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from layout3d.kernels.bodies import Body
from layout3d.kernels.measure import CONTACT_MM, Measured, measure_pairs
from shapes.bounds import primitive_span
from shapes.pose import Array
from shapes.primitives import Box

RESOLUTION_MM = 0.01
_MOST_MEASURED = 20000
_AT_ONCE = 12
Span = tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """A body that slides and one that stands, with the gap they must keep [mm], and whose they are."""

    moving: Body
    standing: Body
    gap: float
    owners: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, eq=False)
class _Open:
    pair: Pair
    low: float
    high: float


def free_slides(pairs: Iterable[Pair], way: Array, spans: Sequence[Span]) -> list[Span]:
    """Stretches of ``spans`` in which every pair keeps its gap as its first moves along ``way``.

    way : unit vector (3,); spans : sorted slides [mm] relative to where the bodies stand now
    """
    unsettled: list[_Open] = []
    blocked: list[Span] = []
    for pair in pairs:
        for low, high in spans:
            near = _near(pair, way, low, high)
            if near is None:
                continue
            if _square(pair.moving) and _square(pair.standing):
                blocked.append(near)
            else:
                unsettled.append(_Open(pair, *near))
    # Those that share most room, of their boxes, block most: once nothing is free the others need no answer.
    unsettled.sort(key=lambda each: -_depth(each.pair, way))
    left = _MOST_MEASURED
    for start in range(0, len(unsettled), _AT_ONCE):
        if not _without(spans, _merged(blocked)):
            return []
        left = _settle(unsettled[start : start + _AT_ONCE], way, blocked, left)
    return _without(spans, _merged(blocked))


def _settle(unsettled: list[_Open], way: Array, blocked: list[Span], left: int) -> int:
    """Adds to ``blocked`` what these pairs block; how many more pairs may be measured after that."""
    while unsettled:
        done = _merged(blocked)
        asked = [each for each in unsettled if not _within(each, done)]
        if left < len(asked):
            blocked += [(each.low, each.high) for each in asked]
            return left
        left -= len(asked)
        unsettled = []
        for each, measured in zip(asked, _measured(asked, way), strict=True):
            half = (each.high - each.low) / 2.0
            if _keeps_clear(each, measured, half, way):
                continue
            missing = each.pair.gap - measured.gap_mm
            if missing > half + CONTACT_MM or half <= RESOLUTION_MM / 2.0:
                blocked.append((each.low, each.high))
                continue
            middle = each.low + half
            unsettled += [_Open(each.pair, each.low, middle), _Open(each.pair, middle, each.high)]
    return left


def _depth(pair: Pair, way: Array) -> float:
    """How far the boxes share room across the slide [mm]."""
    shared = np.minimum(pair.moving.high - pair.standing.low, pair.standing.high - pair.moving.low)
    return float(np.min(np.where(np.abs(way) < 1e-12, shared, np.inf)))


def _near(pair: Pair, way: Array, low: float, high: float) -> Span | None:
    """The slides at which the pair's boxes are nearer than the gap along every axis, or None."""
    gap = pair.gap - CONTACT_MM
    for axis, speed in enumerate(way.tolist()):
        # Boxes keep their gap along this axis unless -ahead < slide * speed < behind.
        ahead = pair.moving.high[axis] + gap - pair.standing.low[axis]
        behind = pair.standing.high[axis] + gap - pair.moving.low[axis]
        if abs(speed) < 1e-12:
            if ahead <= 0.0 or behind <= 0.0:
                return None
            continue
        ends = sorted((-ahead / speed, behind / speed))
        low, high = max(low, ends[0]), min(high, ends[1])
        if low >= high:
            # Boxes that are near nowhere, or a span of one slide.
            return (low, high) if low == high and ends[0] < low < ends[1] else None
    return low, high


def _square(body: Body) -> bool:
    """Whether the body is its box."""
    turned = np.abs(body.solid2scene.rotation)
    return isinstance(body.primitive, Box) and bool(np.all((turned < 1e-12) | (turned > 1.0 - 1e-12)))


def _measured(asked: Sequence[_Open], way: Array) -> list[Measured]:
    bodies = [
        (each.pair.moving.moved(way * ((each.low + each.high) / 2.0)), each.pair.standing) for each in asked
    ]
    enough = np.array([each.pair.gap + (each.high - each.low) / 2.0 for each in asked])
    return measure_pairs(bodies, enough)


def _keeps_clear(each: _Open, measured: Measured, half: float, way: Array) -> bool:
    """Whether the pair keeps its gap all along the stretch."""
    gap = each.pair.gap - CONTACT_MM
    if measured.lower_mm - half >= gap:
        return True
    if measured.gap_mm < gap:
        return False
    # The plane between two nearest points: both hulls stay on their sides of it.
    normal = np.asarray(measured.direction)
    here = way * ((each.low + each.high) / 2.0)
    first = primitive_span(each.pair.moving.primitive, each.pair.moving.solid2scene.shifted(here), normal)
    second = primitive_span(each.pair.standing.primitive, each.pair.standing.solid2scene, normal)
    return second[0] - first[1] - abs(float(normal @ way)) * half >= gap


def _within(each: _Open, blocked: Sequence[Span]) -> bool:
    return any(low <= each.low and each.high <= high for low, high in blocked)


def _merged(spans: Iterable[Span]) -> list[Span]:
    merged: list[Span] = []
    for low, high in sorted(spans):
        if merged and low <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return merged


def _without(spans: Sequence[Span], blocked: Sequence[Span]) -> list[Span]:
    free: list[Span] = []
    for low, high in spans:
        start, is_free = low, True
        for from_, to in blocked:
            if to < low or from_ > high:
                continue
            if from_ > start:
                free.append((start, from_))
            start = max(start, to)
            is_free = is_free and not from_ <= low == high <= to
        if start < high or (low == high and is_free):
            free.append((start, high))
    return free
